package panels

import (
	"fmt"
	"math"
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/agreement"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// scale is a number on which people are compared: what was answered, not its
// error, since agreement is about telling the items apart in the same way.
type scale struct {
	key, title, name, unit string
	of                     func(answer) float64 // NaN for none
}

// coordinates are the scales of answers that stand for a colour.
var coordinates = []scale{
	{"value", "value (L*)", "Value", " L*", coloured(func(c colour.Lab) float64 { return c.L })},
	{"chroma", "chroma (C*)", "Chroma", " C*", coloured(func(c colour.Lab) float64 { return c.Chroma() })},
	{"hue", "hue (h, degrees)", "Hue", "°", coloured(func(c colour.Lab) float64 { return c.LCh().H })},
}

func coloured(of func(colour.Lab) float64) func(answer) float64 {
	return func(a answer) float64 {
		if !a.mark.HasColour {
			return math.NaN()
		}
		return of(a.lab)
	}
}

// scales are those of this exercise; none where answers are words.
func (p *panel) scales() []scale {
	switch {
	case p.hasColours:
		return coordinates
	case p.hasNumbers:
		return []scale{{"steps", "steps", "Steps", " steps", func(a answer) float64 { return a.number }}}
	}
	return nil
}

// resamples for the intervals of alpha; the seed is fixed, so that the same
// answers give the same report.
const resamples = 1000

func seeded() *rand.Rand { return rand.New(rand.NewPCG(20, 26)) }

// cells are a scale's answers by item, person and repeat.
func (p *panel) cells(of func(answer) float64) [][][]float64 {
	all := make([][][]float64, len(p.items))
	for i, item := range p.items {
		all[i] = make([][]float64, len(p.people))
		for j, answers := range item.answers {
			for _, a := range answers {
				if v := of(a); !math.IsNaN(v) {
					all[i][j] = append(all[i][j], v)
				}
			}
		}
	}
	return all
}

// firsts are each person's first answers.
func (p *panel) firsts(of func(answer) float64) agreement.Ratings {
	r := make(agreement.Ratings, len(p.items))
	for i, item := range p.items {
		for _, answers := range item.answers {
			v := math.NaN()
			if len(answers) > 0 {
				v = of(answers[0])
			}
			r[i] = append(r[i], v)
		}
	}
	return r
}

// choice is a judgement that picks one of several: a value group, a tab, a word.
type choice struct {
	key, title string
	metric     agreement.Metric
	ratings    agreement.Ratings // first answers, as numbers
}

// choices are those that this exercise asks for.
func (p *panel) choices() (list []choice) {
	if p.hasGroups {
		list = append(list, choice{"group", "value group", agreement.Ordinal, p.firsts(func(a answer) float64 {
			if a.group < 0 {
				return math.NaN()
			}
			return float64(a.group)
		})})
	}
	names := map[string]float64{}
	words := p.firsts(func(a answer) float64 {
		if a.word == "" {
			return math.NaN()
		}
		if _, known := names[a.word]; !known {
			names[a.word] = float64(len(names))
		}
		return names[a.word]
	})
	switch {
	case len(names) == 0:
	case p.hasColours:
		list = append(list, choice{"tab", "tab", agreement.Nominal, words})
	default:
		list = append(list, choice{"answer", "answer", agreement.Nominal, words})
	}
	return list
}

// agreementSection says whether people agree with each other.
func (p *panel) agreementSection() report.Section {
	scales := p.scales()
	t := &report.Table{Columns: []report.Column{{Key: "judgement", Title: "judgement", Left: true}}}
	if len(scales) > 0 {
		t.Columns = append(t.Columns, report.Column{Key: "icc_2_1", Title: "ICC(2,1)", Estimates: true}, report.Column{Key: "icc_3_1", Title: "ICC(3,1)", Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "alpha", Title: "Krippendorff α", Estimates: true})
	if len(scales) == 0 || p.hasColours { // words are named, numbers alone are not
		t.Columns = append(t.Columns, report.Column{Key: "fleiss_kappa", Title: "Fleiss κ", Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "meaning", Title: "in words", Left: true})
	var gaps []string
	for _, c := range scales {
		g := agreement.StudyGauge(p.cells(c.of), history.Level)
		alpha := agreement.KrippendorffAlpha(p.firsts(c.of), agreement.Interval, history.Level, resamples, seeded())
		row := []report.Cell{report.Word{Key: c.key, Shown: c.title}, report.Estimate(g.Agreement), report.Estimate(g.Consistency), report.Estimate(alpha)}
		if p.hasColours {
			row = append(row, report.Empty{})
		}
		t.Rows = append(t.Rows, append(row, report.Text(intraclassWords(g.Agreement))))
		if words := gapWords(c.name, c.unit, g); words != "" {
			gaps = append(gaps, words)
		}
	}
	for _, c := range p.choices() {
		alpha := agreement.KrippendorffAlpha(c.ratings, c.metric, history.Level, resamples, seeded())
		row := []report.Cell{report.Word{Key: c.key, Shown: c.title}}
		if len(scales) > 0 {
			row = append(row, report.Empty{}, report.Empty{})
		}
		t.Rows = append(t.Rows, append(row, report.Estimate(alpha), report.Estimate(agreement.FleissKappa(c.ratings, history.Level).Kappa), report.Text(alphaWords(alpha))))
	}
	notes := gaps
	if len(gaps) > 0 {
		notes = append(notes, "ICC of a single answer, from all repeats: ICC(2,1) asks for the same number, ICC(3,1) forgives each person a constant bias: their gap is the bias between people. In words by the interval: below 0.50 poor, 0.50–0.75 moderate, 0.75–0.90 good, above excellent (Koo & Li 2016, J Chiropr Med 15:155–163; from memory).")
	}
	first := "Whether people put these items in the same places: the more the items of a session differ, the higher it gets, so that it says little of two shades that are near each other."
	return report.Section{Key: "agreement", Title: "Do people agree with each other?", Table: t, Notes: append(append([]string{first}, notes...),
		"α and κ take each person's first answer to an item. α of 0.80 and more is reliable, 0.67–0.80 tentative (Krippendorff's guide, from memory). Value groups count as ranks, tabs and words as names: two neighbouring tabs disagree as much as two far ones, so that among many tabs a low figure is usual and says nothing against a team.",
	)}
}

// intraclassWords names the range in which an intraclass correlation lies.
func intraclassWords(e scoring.Estimate) string {
	if !e.HasInterval() {
		return ""
	}
	name := func(v float64) string {
		switch {
		case v < 0.5:
			return "poor"
		case v < 0.75:
			return "moderate"
		case v < 0.9:
			return "good"
		}
		return "excellent"
	}
	if lo, hi := name(e.Lo), name(e.Hi); lo != hi {
		return lo + " to " + hi
	}
	return name(e.Value)
}

func alphaWords(e scoring.Estimate) string {
	switch {
	case !e.HasInterval():
		return ""
	case e.Value >= 0.8:
		return "reliable"
	case e.Value >= 0.667:
		return "tentative"
	}
	return "not to be relied on"
}

// gapWords says what the gap between the two correlations comes from.
func gapWords(name, unit string, g agreement.Gauge) string {
	if !g.Agreement.Defined() || !g.Consistency.Defined() {
		return ""
	}
	gap := fmt.Sprintf("ICC(3,1) − ICC(2,1) = %.2f", max(0, g.Consistency.Value-g.Agreement.Value))
	bias := g.Operator.Variance
	switch {
	case !bias.HasInterval() || bias.Lo <= 0:
	case g.Consistency.Value-g.Agreement.Value < 0.02:
		return fmt.Sprintf("%s: people have slightly different biases. They differ by a standard deviation of %.1f%s, which costs hardly any agreement (%s).",
			name, math.Sqrt(bias.Value), unit, gap)
	default:
		return fmt.Sprintf("%s: people have different biases. They differ by a standard deviation of %.1f%s; without bias, agreement would be %.2f instead of %.2f (%s).",
			name, math.Sqrt(bias.Value), unit, g.Consistency.Value, g.Agreement.Value, gap)
	}
	return fmt.Sprintf("%s: no difference in bias between people beyond chance (%s).", name, gap)
}

// gaugeSection shares the spread of all answers out among items, people and
// repeats.
func (p *panel) gaugeSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "judgement", Title: "judgement", Left: true},
		{Key: "repeatability", Title: "repeatability", Estimates: true}, {Key: "reproducibility", Title: "reproducibility", Estimates: true},
		{Key: "rr", Title: "both (R&R)", Estimates: true}, {Key: "items", Title: "items", Estimates: true},
		{Key: "categories", Title: "distinct categories", Estimates: true},
	}}
	for _, c := range p.scales() {
		g := agreement.StudyGauge(p.cells(c.of), history.Level)
		share := func(c agreement.Component) report.Estimated { return report.Percent(c.StudyVariation) }
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: c.key, Shown: c.title},
			share(g.Repeatability), share(g.Reproducibility), share(g.RR), share(g.Item), report.Decimals(g.Categories, 1)})
	}
	return report.Section{Key: "gauge", Title: "Where the spread comes from", Table: t, Notes: []string{
		p.reconciled(),
		"Gauge R&R by analysis of variance with the shade as the part, in % of study variation (shares of standard deviations: they do not add up to 100 %).",
		"Repeatability: the same person, the same item, again. Reproducibility: differences between people. Distinct categories: into how many kinds answers could sort these items, of which the whole number counts. The guide for gauges in industry, R&R under 10 to 30 %, is met by hardly any observer and is no verdict here.",
	}}
}

// reconciled says how a high correlation and a large share of spread go together.
func (p *panel) reconciled() string {
	words := "Agreement above and spread here ask different things. A correlation is high where the items differ by far more than the answers to one of them, which any wide choice of shades brings about. This table asks how finely answers can tell such items apart."
	if !p.hasColours {
		return words
	}
	var between, again []float64
	for _, item := range p.items {
		for j, answers := range item.answers {
			mine := withColour(answers)
			for k := 1; k < len(mine); k++ {
				again = append(again, colour.DeltaE00(mine[k-1].lab, mine[k].lab))
			}
			for _, others := range item.answers[j+1:] {
				if other := withColour(others); len(mine) > 0 && len(other) > 0 {
					between = append(between, colour.DeltaE00(mine[0].lab, other[0].lab))
				}
			}
		}
	}
	if len(between) > 0 && len(again) > 0 {
		words += fmt.Sprintf(" For taking shades this counts: two people's answers to one shade differ by %.1f ΔE00 (median), one person's own by %.1f.", history.Median(between), history.Median(again))
	}
	return words
}
