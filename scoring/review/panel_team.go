package review

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/agreement"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// coordinates are what is compared between people: the colour answered, not its
// error, since agreement is about telling the items apart in the same way.
var coordinates = []struct {
	key, title string
	of         func(colour.Lab) float64
}{
	{"value", "value (L*)", func(c colour.Lab) float64 { return c.L }},
	{"chroma", "chroma (C*)", func(c colour.Lab) float64 { return c.Chroma() }},
	{"hue", "hue (h, degrees)", func(c colour.Lab) float64 { return c.LCh().H }},
}

// resamples for the intervals of alpha; the seed is fixed, so that the same
// answers give the same report.
const resamples = 1000

func seeded() *rand.Rand { return rand.New(rand.NewPCG(20, 26)) }

// cells are a coordinate's answers by item, person and repeat.
func (p *panel) cells(of func(colour.Lab) float64) [][][]float64 {
	all := make([][][]float64, len(p.items))
	for i, item := range p.items {
		all[i] = make([][]float64, len(p.people))
		for j, answers := range item.answers {
			for _, a := range answers {
				if a.mark.HasColour {
					all[i][j] = append(all[i][j], of(a.lab))
				}
			}
		}
	}
	return all
}

// means are the cells' means, NaN for none.
func means(cells [][][]float64) agreement.Ratings {
	r := make(agreement.Ratings, len(cells))
	for i, row := range cells {
		for _, cell := range row {
			if len(cell) == 0 {
				r[i] = append(r[i], math.NaN())
			} else {
				r[i] = append(r[i], average(cell))
			}
		}
	}
	return r
}

// firsts are each person's first answers as category numbers.
func (p *panel) firsts(of func(panelAnswer) (float64, bool)) agreement.Ratings {
	r := make(agreement.Ratings, len(p.items))
	for i, item := range p.items {
		for _, answers := range item.answers {
			v := math.NaN()
			if len(answers) > 0 {
				if x, ok := of(answers[0]); ok {
					v = x
				}
			}
			r[i] = append(r[i], v)
		}
	}
	return r
}

// agreementSection says whether people agree with each other.
func (p *panel) agreementSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "judgement", Title: "judgement", Left: true},
		{Key: "icc_2_1", Title: "ICC(2,1)", Estimates: true}, {Key: "icc_3_1", Title: "ICC(3,1)", Estimates: true},
		{Key: "alpha", Title: "Krippendorff α", Estimates: true}, {Key: "fleiss_kappa", Title: "Fleiss κ", Estimates: true},
	}}
	for _, c := range coordinates {
		ratings := means(p.cells(c.of))
		icc := agreement.IntraclassCorrelation(ratings, level)
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: c.key, Shown: c.title},
			estimate(icc.Agreement), estimate(icc.Consistency),
			estimate(agreement.KrippendorffAlpha(ratings, agreement.Interval, level, resamples, seeded())), report.Empty{}})
	}
	group := p.firsts(func(a panelAnswer) (float64, bool) { return float64(a.group), a.group >= 0 })
	if slices.ContainsFunc(group, func(row []float64) bool {
		return slices.ContainsFunc(row, func(v float64) bool { return !math.IsNaN(v) })
	}) {
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: "group", Shown: "value group"}, report.Empty{}, report.Empty{},
			estimate(agreement.KrippendorffAlpha(group, agreement.Ordinal, level, resamples, seeded())),
			estimate(agreement.FleissKappa(group, level).Kappa)})
	}
	names := map[string]float64{}
	tab := p.firsts(func(a panelAnswer) (float64, bool) {
		if a.word == "" {
			return 0, false
		}
		if _, known := names[a.word]; !known {
			names[a.word] = float64(len(names))
		}
		return names[a.word], true
	})
	t.Rows = append(t.Rows, []report.Cell{report.Word{Key: "tab", Shown: "tab"}, report.Empty{}, report.Empty{},
		estimate(agreement.KrippendorffAlpha(tab, agreement.Nominal, level, resamples, seeded())),
		estimate(agreement.FleissKappa(tab, level).Kappa)})
	return report.Section{Key: "agreement", Title: "Do people agree with each other?", Table: t, Notes: []string{
		"ICC(2,1) asks for the same number, ICC(3,1) forgives each person a constant lean: their gap is the bias between people. Below 0.50 poor, 0.50–0.75 moderate, 0.75–0.90 good, above excellent (a usual guide).",
		"α of 0.80 and more is reliable, 0.67–0.80 tentative (Krippendorff's guide, from memory). Value groups count as ranks, tabs as names: two neighbouring tabs disagree as much as two far ones.",
		"For value group and tab each person's first answer to an item is taken; for the others the mean of the repeats.",
	}}
}

// gaugeSection shares the spread of all answers out among items, people and
// repeats.
func (p *panel) gaugeSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "judgement", Title: "judgement", Left: true},
		{Key: "repeatability", Title: "repeatability", Estimates: true}, {Key: "reproducibility", Title: "reproducibility", Estimates: true},
		{Key: "rr", Title: "both (R&R)", Estimates: true}, {Key: "items", Title: "items", Estimates: true},
		{Key: "categories", Title: "classes told apart", Estimates: true},
	}}
	for _, c := range coordinates {
		g := agreement.StudyGauge(p.cells(c.of), level)
		share := func(c agreement.Component) report.Estimated { return percent(c.StudyVariation) }
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: c.key, Shown: c.title},
			share(g.Repeatability), share(g.Reproducibility), share(g.RR), share(g.Item), decimals(g.Categories, 1)})
	}
	return report.Section{Key: "gauge", Title: "Where the spread comes from", Table: t, Notes: []string{
		"Gauge R&R by analysis of variance with the shade as the part, in % of study variation (shares of standard deviations: they do not add up to 100 %).",
		"Repeatability: the same person, the same item, again. Reproducibility: differences between people. Under 10 % R&R is good, 10–30 % marginal, above unacceptable, and 5 classes or more are wanted: guides for measuring in industry, stricter than any eye.",
	}}
}

// pairSection compares two people directly.
func (p *panel) pairSection() report.Section {
	first, second := p.people[0].Name, p.people[1].Name
	t := &report.Table{Columns: []report.Column{
		{Key: "judgement", Title: "judgement", Left: true}, {Key: "bias", Title: "mean difference", Estimates: true},
		{Key: "lower", Title: "lower limit", Estimates: true}, {Key: "upper", Title: "upper limit", Estimates: true},
	}}
	var plots []report.Plot
	for _, a := range axes {
		var one, other, x, y []float64
		firsts, seconds := p.errorsOf(0, a.of), p.errorsOf(1, a.of)
		for i := range p.items {
			u, v := math.NaN(), math.NaN()
			if len(firsts[i]) > 0 && len(seconds[i]) > 0 {
				u, v = average(firsts[i]), average(seconds[i])
				x, y = append(x, (u+v)/2), append(y, u-v)
			}
			one, other = append(one, u), append(other, v)
		}
		l := agreement.BlandAltman(one, other, level)
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: a.key[len(a.key)-1:], Shown: a.title}, signed(l.Bias), signed(l.Lower), signed(l.Upper)})
		if l.Lower.Defined() {
			plots = append(plots, report.Plot{Key: "agreement_" + a.key, Title: "Difference against mean, " + a.title,
				XTitle: "mean of both errors", YTitle: first + " minus " + second,
				Series: []report.Series{{Name: "items", Style: report.Points, X: x, Y: y}},
				Bands:  []report.Band{{From: l.Lower.Value, To: l.Upper.Value, Name: "limits of agreement"}}})
		}
	}
	return report.Section{Key: "pair", Title: "The two compared", Table: t, Plots: plots, Notes: []string{
		fmt.Sprintf("%s minus %s, in ΔE00 units (Bland & Altman 1986): 95 %% of differences lie between the limits.", first, second),
		"Where the limits lie within acceptability, one may stand in for the other.",
	}}
}

// itemSection shows what was answered to each item, those that split the team
// first.
func (p *panel) itemSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "item", Title: "item", Left: true}, {Key: "target", Title: "target", Left: true},
		{Key: "consensus", Title: "consensus", Left: true}, {Key: "consensus_dE00", Title: "ΔE00 of consensus"},
		{Key: "spread_dE00", Title: "spread ΔE00"}, {Key: "most_common", Title: "most common answer", Left: true},
		{Key: "share", Title: "given by", Estimates: true}, {Key: "split", Title: "splits the team"},
	}}
	type line struct {
		spread float64
		cells  []report.Cell
	}
	var lines []line
	for _, item := range p.items {
		var labs []colour.Lab
		counts := map[string]int{}
		n := 0
		for _, answers := range item.answers {
			for _, a := range answers {
				if a.mark.HasColour {
					labs = append(labs, a.lab)
				}
				if a.word != "" {
					counts[a.word]++
					n++
				}
			}
		}
		if len(labs) == 0 {
			continue
		}
		consensus := medianColour(labs)
		spread := 0.0
		for _, c := range labs {
			spread += colour.DeltaE00(consensus, c) / float64(len(labs))
		}
		common, most := "", 0
		for _, name := range slices.Sorted(maps.Keys(counts)) {
			if counts[name] > most {
				common, most = name, counts[name]
			}
		}
		lines = append(lines, line{spread, []report.Cell{report.Text(item.name), report.Text(item.target.LCh().String()),
			report.Text(consensus.LCh().String()), report.Number{Value: colour.DeltaE00(item.target, consensus), Decimals: 2},
			report.Number{Value: spread, Decimals: 2}, report.Text(common), percent(trend.Share(most, n, level)),
			report.Yes(spread > scoring.Acceptability.Value)}})
	}
	slices.SortStableFunc(lines, func(a, b line) int {
		switch {
		case a.spread > b.spread:
			return -1
		case a.spread < b.spread:
			return 1
		}
		return 0
	})
	for _, l := range lines {
		t.Rows = append(t.Rows, l.cells)
	}
	return report.Section{Key: "items", Title: "The items, those that split the team first", Table: t, Notes: []string{
		"Consensus: the median of all answers along L*, a* and b*. Spread: the mean ΔE00 of the answers to it; beyond acceptability an item splits the team.",
	}}
}

func medianColour(labs []colour.Lab) colour.Lab {
	pick := func(of func(colour.Lab) float64) float64 {
		list := make([]float64, len(labs))
		for i, c := range labs {
			list[i] = of(c)
		}
		return median(list)
	}
	return colour.Lab{L: pick(func(c colour.Lab) float64 { return c.L }), A: pick(func(c colour.Lab) float64 { return c.A }),
		B: pick(func(c colour.Lab) float64 { return c.B })}
}
