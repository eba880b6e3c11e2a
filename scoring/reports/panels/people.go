package panels

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/agreement"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// peopleSection compares each person with the truth.
func (p *panel) peopleSection() report.Section {
	if !p.hasColours {
		return p.checkSection("people", "Each person and the truth")
	}
	t := &report.Table{Columns: []report.Column{
		{Key: "person", Title: "person", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "within_perceptibility", Title: "within perceptibility", Estimates: true},
		{Key: "within_acceptability", Title: "within acceptability", Estimates: true},
		{Key: "display", Title: "display", Left: true},
	}}
	for i, l := range p.people {
		sizes := p.errorsOf(i, history.Size)
		t.Rows = append(t.Rows, []report.Cell{report.Text(l.Name), report.Count(p.answersOf(i)), report.Estimate(trend.Median(history.Flat(sizes), history.Level)),
			report.Percent(shareBelow(sizes, scoring.Perceptibility.Value)), report.Percent(shareBelow(sizes, scoring.Acceptability.Value)),
			report.Word{Key: string(p.took[i].sitting.DisplayState()), Shown: p.took[i].sitting.DisplayState().Words()}})
	}
	return report.Section{Key: "people", Title: "Each person and the truth", Table: t, Notes: []string{
		fmt.Sprintf("Perceptibility %.1f: %s. Acceptability %.1f: %s.", scoring.Perceptibility.Value, scoring.Perceptibility.Source,
			scoring.Acceptability.Value, scoring.Acceptability.Source),
	}}
}

// biasSection says in which way each person errs.
func (p *panel) biasSection() report.Section {
	t := &report.Table{Columns: []report.Column{{Key: "person", Title: "person", Left: true}}}
	for _, a := range history.Axes {
		t.Columns = append(t.Columns, report.Column{Key: a.Key, Title: a.Title, Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "bias", Title: "bias", Left: true})
	for i, l := range p.people {
		row := []report.Cell{report.Text(l.Name)}
		for _, e := range p.biasesOf(i) {
			row = append(row, report.Signed(e))
		}
		t.Rows = append(t.Rows, append(row, report.Text(p.biasOf(i))))
	}
	return report.Section{Key: "bias", Title: "Bias of each person", Table: t, Plots: p.biasPlots(), Notes: []string{
		history.BiasNote + fmt.Sprintf(" Slightly: at most half of perceptibility, %.1f, which nobody need correct. Of fewer than %d shades none is named.", leastBias, leastShared),
	}}
}

// biasPlots show every person's bias with its interval, an axis each.
func (p *panel) biasPlots() []report.Plot {
	var names []string
	for _, l := range p.people {
		names = append(names, l.Name)
	}
	at, pt := scoring.Acceptability.Value, scoring.Perceptibility.Value
	var plots []report.Plot
	var all []float64
	for i := range p.people {
		for _, e := range p.biasesOf(i) {
			all = append(all, e.Value, e.Drawn().Lo, e.Drawn().Hi)
		}
	}
	for axis, a := range history.Axes {
		s := report.Series{Name: "bias and its 95 % interval", Style: report.Points}
		for i := range p.people {
			e := p.biasesOf(i)[axis].Drawn()
			s.X, s.Y = append(s.X, float64(i)), append(s.Y, e.Value)
			s.Lo, s.Hi = append(s.Lo, e.Lo), append(s.Hi, e.Hi)
		}
		plots = append(plots, report.Plot{Key: "people_" + a.Key, Title: "Bias of each person, " + a.Title, YTitle: "answer − target, ΔE00",
			XNames: names, Series: []report.Series{s}, Cover: all,
			Rules: []report.Rule{{At: -at}, {At: at}}, // in every plot, so that the three can be held beside each other
			Bands: []report.Band{{From: -at, To: at, Name: "within acceptability", Shade: report.ShadeAcceptable}, {From: -pt, To: pt, Name: "within perceptibility", Shade: report.ShadePerceptible}}})
	}
	return plots
}

func (p *panel) answersOf(person int) int {
	n := 0
	for _, item := range p.items {
		n += len(item.answers[person])
	}
	return n
}

// itemMean is the mean over items of each item's mean: the repeats of an item
// are not independent answers.
func itemMean(items [][]float64) scoring.Estimate {
	var means []float64
	for _, list := range items {
		if len(list) > 0 {
			means = append(means, history.Average(list))
		}
	}
	return trend.Bias(means, history.Level)
}

// shareBelow is the share of answers within a limit; answers to one item hang
// together.
func shareBelow(items [][]float64, limit float64) scoring.Estimate {
	return shareOf(items, func(x float64) bool { return x <= limit })
}

func shareOf[T any](items [][]T, hit func(T) bool) scoring.Estimate {
	var hits, sizes []int
	for _, list := range items {
		n := 0
		for _, x := range list {
			if hit(x) {
				n++
			}
		}
		hits, sizes = append(hits, n), append(sizes, len(list))
	}
	return trend.ShareClustered(hits, sizes, 1, history.Level)
}

// repeatSection compares each person with themselves.
func (p *panel) repeatSection() report.Section {
	t := &report.Table{Columns: []report.Column{{Key: "person", Title: "person", Left: true}}}
	notes := []string{"The same answer again is the rarer the more answers an item offers: shares of other studies, with fewer tabs or without answers between two, are no measure of these."}
	if p.hasColours {
		for _, a := range history.Axes {
			t.Columns = append(t.Columns, report.Column{Key: "repeat_" + a.Key[len(a.Key)-1:], Title: a.Title, Estimates: true})
		}
		notes[0] = "The standard deviation of answers to the same item, in ΔE00 units: smaller is steadier. The steps between the tabs are in it. " + notes[0]
	}
	t.Columns = append(t.Columns, report.Column{Key: "same_answer", Title: "same answer again", Estimates: true})
	for i, l := range p.people {
		row := []report.Cell{report.Text(l.Name)}
		if p.hasColours {
			for _, a := range history.Axes {
				row = append(row, report.Estimate(agreement.Repeatability(p.errorsOf(i, a.Of), history.Level).SD))
			}
		}
		t.Rows = append(t.Rows, append(row, report.Percent(p.sameAgain(i))))
	}
	return report.Section{Key: "repeatability", Title: "Each person and themselves", Table: t, Notes: notes}
}

// sameAgain is how often a person answered an item as they did the time before.
func (p *panel) sameAgain(person int) scoring.Estimate {
	var items [][]bool
	for _, item := range p.items {
		var again []bool
		answers := item.answers[person]
		for k := 1; k < len(answers); k++ {
			same := answers[k].word == answers[k-1].word
			if x, y := answers[k].number, answers[k-1].number; answers[k].word == "" && !math.IsNaN(x) {
				same = x == y
			}
			again = append(again, same)
		}
		items = append(items, again)
	}
	e := shareOf(items, func(same bool) bool { return same })
	if e.N == 0 {
		return scoring.Undefined(0, "no item was answered twice")
	}
	return e
}

// checkSection gives what was right and wrong where an exercise asks for a
// judgement, and the further numbers of its marks.
func (p *panel) checkSection(key, title string) report.Section {
	measures := p.measures()
	t := &report.Table{Columns: []report.Column{{Key: "person", Title: "person", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "right", Title: "judgements right", Estimates: true}}}
	var notes []string
	names, numbers := p.checks(), slices.Sorted(maps.Keys(measures))
	if len(names) == 1 || len(names) > mostCheckColumns {
		names = nil
	}
	if len(numbers) > mostCheckColumns {
		numbers = nil
	}
	for _, name := range names {
		t.Columns = append(t.Columns, report.Column{Key: keyOf(name), Title: name, Estimates: true})
	}
	for _, name := range numbers {
		t.Columns = append(t.Columns, report.Column{Key: keyOf(name), Title: name, Estimates: true})
		notes = append(notes, fmt.Sprintf("%s: the mean over the items, in %s.", strings.ToUpper(name[:1])+name[1:], measures[name]))
	}
	for i, l := range p.people {
		row := []report.Cell{report.Text(l.Name), report.Count(p.answersOf(i)), report.Percent(p.checkShare(i, ""))}
		for _, name := range names {
			row = append(row, report.Percent(p.checkShare(i, name)))
		}
		for _, name := range numbers {
			row = append(row, report.Signed(itemMean(p.measuresOf(i, name))))
		}
		t.Rows = append(t.Rows, row)
	}
	return report.Section{Key: key, Title: title, Table: t, Notes: notes}
}

// mostCheckColumns is how many kinds of judgement, and how many numbers of marks,
// stand beside each other.
const mostCheckColumns = 3

// checks are the names of the yes-or-no parts of the answers.
func (p *panel) checks() []string {
	names := map[string]bool{}
	for _, item := range p.items {
		for _, answers := range item.answers {
			for _, a := range answers {
				for _, c := range a.mark.Checks {
					names[c.Name] = true
				}
			}
		}
	}
	return slices.Sorted(maps.Keys(names))
}

// measures are the further numbers of the marks with their units, but for those
// that tell of the item and not of the answer.
func (p *panel) measures() map[string]string {
	units := map[string]string{}
	for _, item := range p.items {
		seen := map[string]float64{}
		for _, answers := range item.answers {
			for _, a := range answers {
				for _, m := range a.mark.Measures {
					if before, twice := seen[m.Name]; twice && before != m.Value {
						units[m.Name] = m.Unit
					}
					seen[m.Name] = m.Value
				}
			}
		}
	}
	return units
}

// kindSection gives what was right by kind of judgement, where there are too many
// to stand beside each other.
func (p *panel) kindSection() report.Section {
	t := &report.Table{Columns: []report.Column{{Key: "judgement", Title: "judgement", Left: true}, {Key: "right", Title: "right, all people", Estimates: true},
		{Key: "mean", Title: "mean, all people", Estimates: true}, {Key: "unit", Title: "in", Left: true}}}
	for _, name := range p.checks() {
		var items [][]bool
		for _, item := range p.items {
			var right []bool
			for _, answers := range item.answers {
				for _, a := range answers {
					for _, c := range a.mark.Checks {
						if c.Name == name {
							right = append(right, c.Right)
						}
					}
				}
			}
			items = append(items, right)
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(name), report.Percent(shareOf(items, func(right bool) bool { return right }))})
	}
	units := p.measures()
	for _, name := range slices.Sorted(maps.Keys(units)) {
		var items [][]float64
		for i := range p.items {
			var list []float64
			for person := range p.people {
				list = append(list, p.measuresOf(person, name)[i]...)
			}
			items = append(items, list)
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(name), report.Empty{}, report.Signed(itemMean(items)), report.Text(units[name])})
	}
	return report.Section{Key: "judgements", Title: "By kind of judgement", Table: t}
}

// checkShare is how often a yes-or-no part was right; an empty name takes all.
func (p *panel) checkShare(person int, name string) scoring.Estimate {
	var items [][]bool
	for _, item := range p.items {
		var right []bool
		for _, a := range item.answers[person] {
			for _, c := range a.mark.Checks {
				if name == "" || c.Name == name {
					right = append(right, c.Right)
				}
			}
		}
		items = append(items, right)
	}
	return shareOf(items, func(right bool) bool { return right })
}

func (p *panel) measuresOf(person int, name string) [][]float64 {
	var items [][]float64
	for _, item := range p.items {
		var list []float64
		for _, a := range item.answers[person] {
			for _, m := range a.mark.Measures {
				if m.Name == name && !math.IsNaN(m.Value) {
					list = append(list, m.Value)
				}
			}
		}
		items = append(items, list)
	}
	return items
}

func keyOf(name string) string { return strings.ReplaceAll(name, " ", "_") }
