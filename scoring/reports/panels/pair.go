package panels

import (
	"fmt"
	"math"

	"shadedrill/scoring"
	"shadedrill/scoring/agreement"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// pairSection compares two people directly, answer by answer.
func (p *panel) pairSection(i, j int) report.Section {
	first, second := p.people[i].Name, p.people[j].Name
	t := &report.Table{Columns: []report.Column{
		{Key: "judgement", Title: "judgement", Left: true}, {Key: "bias", Title: "mean difference", Estimates: true},
		{Key: "lower", Title: "lower limit", Estimates: true}, {Key: "upper", Title: "upper limit", Estimates: true},
		{Key: "meaning", Title: "in words", Left: true},
	}}
	var plots []report.Plot
	for _, a := range history.Axes {
		var differences [][]float64
		var x, y []float64
		ones, others := p.errorsOf(i, a.Of), p.errorsOf(j, a.Of)
		for item := range p.items {
			var list []float64
			for k := range min(len(ones[item]), len(others[item])) {
				u, v := ones[item][k], others[item][k]
				list = append(list, u-v)
				x, y = append(x, (u+v)/2), append(y, u-v)
			}
			differences = append(differences, list)
		}
		l := agreement.BlandAltman(differences, history.Level)
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: a.Key[len(a.Key)-1:], Shown: a.Title}, report.Signed(l.Bias), report.Signed(l.Lower), report.Signed(l.Upper),
			report.Text(pairWords(l, first, second, comparatives[a.Key]))})
		if l.Lower.Defined() {
			plots = append(plots, report.Plot{Key: "agreement_" + a.Key, Title: "Difference against mean, " + a.Title,
				XTitle: "mean of both errors, ΔE00", YTitle: first + " − " + second,
				Series: []report.Series{{Name: "answers", Style: report.Points, X: x, Y: y}},
				Bands:  []report.Band{{From: l.Lower.Value, To: l.Upper.Value, Name: "95 % limits of agreement", Shade: report.ShadeOther}},
				Rules:  []report.Rule{{At: l.Bias.Value, Name: "mean difference " + report.SignedWords(l.Bias.Value)}}})
		}
	}
	return report.Section{Key: "pair", Title: first + " and " + second + " compared", Table: t, Plots: plots, Notes: []string{
		fmt.Sprintf("%s minus %s, in ΔE00 units, single answers to the same item (Bland & Altman 1986, 2007): 95 %% of differences lie between the limits.", first, second),
		"Where both limits lie within acceptability, one may stand in for the other.",
	}}
}

// pairChoiceSection says how often two people choose alike; ok is false where the
// exercise has nothing to choose.
func (p *panel) pairChoiceSection(i, j int) (section report.Section, ok bool, err error) {
	first, second := p.people[i].Name, p.people[j].Name
	t := &report.Table{Columns: []report.Column{
		{Key: "judgement", Title: "judgement", Left: true}, {Key: "items", Title: "items"},
		{Key: "alike", Title: "the same choice", Estimates: true}, {Key: "kappa", Title: "Cohen κ", Estimates: true},
		{Key: "meaning", Title: "in words", Left: true},
	}}
	for _, c := range p.choices() {
		var ones, others []float64
		alike := 0
		for _, row := range c.ratings {
			if math.IsNaN(row[i]) || math.IsNaN(row[j]) {
				continue
			}
			ones, others = append(ones, row[i]), append(others, row[j])
			if row[i] == row[j] {
				alike++
			}
		}
		table, err := agreement.Cross(ones, others)
		if err != nil {
			return report.Section{}, false, err
		}
		apart := agreement.Unweighted
		if c.metric == agreement.Ordinal {
			apart = agreement.Linear
		}
		kappa := table.Kappa(apart, history.Level)
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: c.key, Shown: c.title}, report.Count(len(ones)),
			report.Percent(trend.Share(alike, len(ones), history.Level)), report.Estimate(kappa), report.Text(kappaWords(kappa))})
	}
	return report.Section{Key: "pair_choices", Title: "Do " + first + " and " + second + " choose alike?", Table: t, Notes: []string{
		"First answers to the items that both answered. κ is the agreement beyond what their own habits would give by chance, 1 when they always agree (Cohen 1960, 1968); for value groups a miss counts by its steps.",
	}}, len(t.Rows) > 0, nil
}

func kappaWords(kappa scoring.Estimate) string {
	switch {
	case !kappa.HasInterval():
		return "too few answers to tell"
	case kappa.Covers(0):
		return "no more alike than by chance"
	case kappa.Value < 0:
		return "less alike than by chance"
	}
	return "more alike than by chance"
}

func pairWords(l agreement.Limits, first, second string, words [2]string) string {
	limit := scoring.Acceptability.Value
	said := ""
	switch {
	case !l.Bias.HasInterval():
		return "too few answers to tell"
	case l.Bias.Covers(0):
		said = "no constant difference beyond chance"
	case l.Bias.Value > 0:
		said = fmt.Sprintf("%s answers %s than %s", first, words[0], second)
	default:
		said = fmt.Sprintf("%s answers %s than %s", first, words[1], second)
	}
	switch {
	case !l.Lower.Defined():
	case l.Lower.Value >= -limit && l.Upper.Value <= limit:
		said += "; single answers agree within acceptability"
	default:
		said += "; single answers may differ beyond acceptability"
	}
	return said
}

// comparatives say how one person's answers are when theirs are above or below
// another's.
var comparatives = map[string][2]string{"bias_L": {"lighter", "darker"}, "bias_C": {"more chromatic", "weaker in chroma"}, "bias_H": {"yellower", "redder"}}
