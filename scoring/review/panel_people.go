package review

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/agreement"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// peopleSection compares each person with the truth.
func (p *panel) peopleSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "person", Title: "person", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "within_perceptibility", Title: "within perceptibility", Estimates: true},
		{Key: "within_acceptability", Title: "within acceptability", Estimates: true},
	}}
	for _, a := range axes {
		t.Columns = append(t.Columns, report.Column{Key: a.key, Title: a.title, Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "lean", Title: "lean", Left: true})
	for i, l := range p.people {
		sizes := flat(p.errorsOf(i, size))
		n := 0
		for _, item := range p.items {
			n += len(item.answers[i])
		}
		row := []report.Cell{report.Text(l.Name), report.Count(n), estimate(trend.Median(sizes, level)),
			percent(shareBelow(sizes, scoring.Perceptibility.Value)), percent(shareBelow(sizes, scoring.Acceptability.Value))}
		for _, a := range axes {
			row = append(row, signed(itemMean(p.errorsOf(i, a.of))))
		}
		t.Rows = append(t.Rows, append(row, report.Text(p.leanOf(i))))
	}
	return report.Section{Key: "people", Title: "Each person and the truth", Table: t, Notes: []string{
		"ΔL', ΔC', ΔH' are answer minus target in ΔE00 units, the mean over the items: above 0 is too light, too chromatic, too yellow.",
		fmt.Sprintf("Perceptibility %.1f: %s. Acceptability %.1f: %s.", scoring.Perceptibility.Value, scoring.Perceptibility.Source,
			scoring.Acceptability.Value, scoring.Acceptability.Source),
	}}
}

// itemMean is the mean over items of each item's mean: the repeats of an item
// are not independent answers.
func itemMean(items [][]float64) scoring.Estimate {
	var means []float64
	for _, list := range items {
		if len(list) > 0 {
			means = append(means, average(list))
		}
	}
	return trend.Bias(means, level)
}

func average(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(len(xs))
}

func shareBelow(xs []float64, limit float64) scoring.Estimate {
	hits := 0
	for _, x := range xs {
		if x <= limit {
			hits++
		}
	}
	return trend.Share(hits, len(xs), level)
}

func (p *panel) leanOf(person int) string {
	var leans []string
	for _, a := range axes {
		if w := lean(itemMean(p.errorsOf(person, a.of)), a.above, a.down); w != "" {
			leans = append(leans, w)
		}
	}
	if len(leans) == 0 {
		return "none beyond chance"
	}
	return strings.Join(leans, ", ")
}

// repeatSection compares each person with themselves.
func (p *panel) repeatSection() report.Section {
	t := &report.Table{Columns: []report.Column{{Key: "person", Title: "person", Left: true}}}
	for _, a := range axes {
		t.Columns = append(t.Columns, report.Column{Key: "repeat_" + a.key[len(a.key)-1:], Title: a.title, Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "same_answer", Title: "same answer again", Estimates: true})
	for i, l := range p.people {
		row := []report.Cell{report.Text(l.Name)}
		for _, a := range axes {
			row = append(row, estimate(agreement.Repeatability(p.errorsOf(i, a.of), level).SD))
		}
		same, n := 0, 0
		for _, item := range p.items {
			for k := 1; k < len(item.answers[i]); k++ {
				if n++; item.answers[i][k].word == item.answers[i][k-1].word {
					same++
				}
			}
		}
		t.Rows = append(t.Rows, append(row, percent(trend.Share(same, n, level))))
	}
	return report.Section{Key: "repeatability", Title: "Each person and themselves", Table: t, Notes: []string{
		"The standard deviation of answers to the same item, in ΔE00 units: smaller is steadier. A mean visual repeatability of 75 % was published for tooth shades (30 observers, three occasions; Heliyon 5 (2019) e02100).",
	}}
}

// adviceSection says in one line a person what to practise next.
func (p *panel) adviceSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "person", Title: "person", Left: true}, {Key: "next", Title: "what to practise next", Left: true}}}
	for i, l := range p.people {
		t.Rows = append(t.Rows, []report.Cell{report.Text(l.Name), report.Text(p.advice(i))})
	}
	return report.Section{Key: "next", Title: "What to practise next", Table: t}
}

// advice takes the first of these that holds: a lean beyond perceptibility along
// the axis where it is largest, unsteady answers along the axis where they
// scatter most, errors beyond acceptability. House rule.
func (p *panel) advice(person int) string {
	var worst scoring.Estimate
	words := ""
	for _, a := range axes {
		e := itemMean(p.errorsOf(person, a.of))
		if w := lean(e, a.above, a.down); w != "" && math.Abs(e.Value) > max(math.Abs(worst.Value), scoring.Perceptibility.Value/2) {
			worst, words = e, fmt.Sprintf("answers are %.1f %s: practise %s alone", math.Abs(e.Value), w, attributes[a.key])
		}
	}
	if words != "" {
		return words
	}
	scatter, axis := 0.0, ""
	for _, a := range axes {
		if e := agreement.Repeatability(p.errorsOf(person, a.of), level).SD; e.Defined() && e.Value > scatter {
			scatter, axis = e.Value, attributes[a.key]
		}
	}
	// Value is taken in steps of a group, which scatter by themselves.
	if scatter > 1.5*scoring.Perceptibility.Value {
		return fmt.Sprintf("answers to the same item scatter by %.1f in %s: practise %s with tab targets", scatter, axis, axis)
	}
	if e := trend.Median(flat(p.errorsOf(person, size)), level); e.Defined() && e.Value > scoring.Acceptability.Value {
		return "no single lean, yet half the answers are beyond acceptability: go on with value first"
	}
	return "no lean beyond half of perceptibility and steady answers: keep in practice"
}

var attributes = map[string]string{"bias_L": "value", "bias_C": "chroma", "bias_H": "hue"}
