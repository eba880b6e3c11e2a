package panels

import (
	"maps"
	"math"
	"slices"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// split is how far a team is apart over one item.
type split struct {
	item      item
	consensus colour.Lab // the median person's colour
	apart     float64    // mean ΔE00 between answers of two people
	beyond    float64    // share of pairs of people's answers that are too far apart
	common    string     // the most common answer
	share     float64    // how many gave it
	median    float64    // of numbers answered
	along     string     // the attribute along which people differ most
	people    []colour.Lab
}

// mostCompared bounds how many answers of a person are compared with everybody
// else's: pairs grow with the square.
const mostCompared = 3

// splits are the items that two people answered, those first over which they are
// farthest apart.
func (p *panel) splits() []split {
	var splits []split
	for _, item := range p.items {
		if s, ok := p.splitOf(item); ok {
			splits = append(splits, s)
		}
	}
	slices.SortStableFunc(splits, func(a, b split) int {
		switch {
		case a.beyond != b.beyond && a.beyond > b.beyond, a.beyond == b.beyond && a.apart > b.apart:
			return -1
		case a.beyond != b.beyond || a.apart != b.apart:
			return 1
		}
		return 0
	})
	return splits
}

// itemSection shows what was answered to each item, those first over which people are
// farthest apart.
func (p *panel) itemSection() report.Section {
	splits := p.splits()
	found, known := p.dividing()
	t := &report.Table{None: "no item has an answer of two people", Columns: []report.Column{
		{Key: "item", Title: "item", Left: true}, {Key: "target", Title: "target", Left: true}}}
	if p.hasColours {
		t.Columns = append(t.Columns, report.Column{Key: "consensus", Title: "consensus", Left: true},
			report.Column{Key: "consensus_dE00", Title: "ΔE00 of consensus"}, report.Column{Key: "apart_dE00", Title: "two people differ by"},
			report.Column{Key: "beyond_acceptability", Title: "pairs beyond acceptability, %"})
	} else {
		t.Columns = append(t.Columns, report.Column{Key: "different", Title: "pairs that differ, %"})
	}
	steps := !p.hasColours && p.hasNumbers
	t.Columns = append(t.Columns, report.Column{Key: "split", Title: "divides the team"})
	if p.hasColours {
		t.Columns = append(t.Columns, report.Column{Key: "along", Title: "along", Left: true})
	}
	if steps {
		t.Columns = append(t.Columns, report.Column{Key: "median", Title: "median answer, steps"})
	} else {
		t.Columns = append(t.Columns, report.Column{Key: "most_common", Title: "most common answer", Left: true}, report.Column{Key: "given_by", Title: "of all answers, %"})
	}
	for _, s := range splits {
		row := []report.Cell{report.Text(s.item.name), report.Text(s.item.target.LCh().String())}
		if p.hasColours {
			row = append(row, report.Text(s.consensus.LCh().String()), report.Number{Value: colour.DeltaE00(s.item.target, s.consensus), Decimals: 2},
				report.Number{Value: s.apart, Decimals: 2})
		}
		split := s.beyond > 0.5
		says := report.Cell(report.Yes(split))
		if p.hasColours {
			if split = found[s.item.name]; known {
				says = report.Yes(split)
			} else {
				says = report.Empty{}
			}
		}
		row = append(row, report.Share(s.beyond, 0), says)
		if p.hasColours {
			along := report.Cell(report.Empty{})
			if split {
				along = report.Text(s.along)
			}
			row = append(row, along)
		}
		if steps {
			row = append(row, report.Number{Value: s.median, Decimals: 1})
		} else {
			row = append(row, report.Text(s.common), report.Share(s.share, 0))
		}
		t.Rows = append(t.Rows, row)
	}
	t.HideUniform("along")
	out := report.Section{Key: "items", Title: "The items, those first over which people are farthest apart", Table: t}
	if !p.hasColours {
		out.Notes = []string{"An item divides the team where more than half of the pairs of people answered differently."}
		if steps {
			out.Notes = []string{"An item divides the team where more than half of the pairs of people differ by a step or more."}
		}
		return out
	}
	out.Notes = []string{
		"Consensus: the median person's colour along L*, a* and b*. Two people differ by: the mean ΔE00 between answers of two different people.",
		"Pairs beyond acceptability: ordinary scatter alone brings many there, so that this is no verdict. An item divides the team where people differ by more than their biases over all items and their own scatter explain (analysis of variance; at most one in twenty of those named falsely, Benjamini & Hochberg 1995).",
	}
	out.Plots = []report.Plot{p.splitPlot(splits)}
	return out
}

func (p *panel) splitOf(item item) (split, bool) {
	s := split{item: item}
	counts := map[string]int{}
	n, pairs := 0, 0
	var seen [][]answer
	var numbers []float64
	for _, answers := range item.answers {
		if len(answers) == 0 {
			continue
		}
		var labs []colour.Lab
		for _, a := range answers {
			if a.word != "" {
				counts[a.word]++
				n++
			}
			if !math.IsNaN(a.number) {
				numbers = append(numbers, a.number)
			}
			if a.mark.HasColour {
				labs = append(labs, a.lab)
			}
		}
		if len(labs) > 0 {
			s.people = append(s.people, meanColour(labs))
		}
		mine := answers[:min(len(answers), mostCompared)]
		for _, other := range seen {
			for _, a := range mine {
				for _, b := range other {
					apart, beyond, ok := differ(a, b)
					if ok {
						pairs++
						s.apart += apart
						if beyond {
							s.beyond++
						}
					}
				}
			}
		}
		seen = append(seen, mine)
	}
	if pairs == 0 {
		return s, false
	}
	s.apart /= float64(pairs)
	s.beyond /= float64(pairs)
	for _, name := range slices.Sorted(maps.Keys(counts)) {
		if share := float64(counts[name]) / float64(n); share > s.share {
			s.common, s.share = name, share
		}
	}
	if len(numbers) > 0 {
		s.median = history.Median(numbers)
	}
	if len(s.people) > 0 {
		s.consensus = medianColour(s.people)
		s.along = alongOf(s.consensus, s.people)
	}
	return s, true
}

// differ is how far two answers lie apart: in ΔE00 where both stand for a colour,
// else whether they are the same.
func differ(a, b answer) (apart float64, beyond, ok bool) {
	switch {
	case a.mark.HasColour && b.mark.HasColour:
		e := colour.DeltaE00(a.lab, b.lab)
		return e, e > scoring.Acceptability.Value, true
	case a.word != "" && b.word != "":
		return 0, a.word != b.word, true
	case !math.IsNaN(a.number) && !math.IsNaN(b.number):
		return math.Abs(a.number - b.number), math.Abs(a.number-b.number) >= 1, true
	}
	return 0, false, false
}

// alongOf names the attribute along which people differ most.
func alongOf(centre colour.Lab, people []colour.Lab) string {
	var sum [3]float64
	for _, c := range people {
		d := colour.Compare(centre, c, colour.Unit)
		for i, v := range []float64{d.L, d.C, d.H} {
			sum[i] += v * v
		}
	}
	most := 0
	for i := range sum {
		if sum[i] > sum[most] {
			most = i
		}
	}
	return exercises.AttributeNames()[most]
}

// splitPlot shows how far each person's answer lies from the consensus, those
// items first that split the team.
func (p *panel) splitPlot(splits []split) report.Plot {
	const most = 40
	s := report.Series{Name: "a person's mean answer", Style: report.Points}
	truth := report.Series{Name: "the target", Style: report.Points}
	var names []string
	for i, split := range splits[:min(len(splits), most)] {
		names = append(names, split.item.name)
		for _, c := range split.people {
			s.X, s.Y = append(s.X, float64(i)), append(s.Y, colour.DeltaE00(split.consensus, c))
		}
		truth.X, truth.Y = append(truth.X, float64(i)), append(truth.Y, colour.DeltaE00(split.consensus, split.item.target))
	}
	return report.Plot{Key: "splits", Title: "Distance from the team's consensus, item by item", YTitle: "ΔE00", XNames: names, Series: []report.Series{s, truth},
		Bands: []report.Band{{From: 0, To: scoring.Perceptibility.Value, Name: "within perceptibility", Shade: report.ShadePerceptible},
			{From: scoring.Perceptibility.Value, To: scoring.Acceptability.Value, Name: "within acceptability", Shade: report.ShadeAcceptable}}}
}

func meanColour(labs []colour.Lab) colour.Lab {
	var sum colour.Lab
	for _, c := range labs {
		sum.L, sum.A, sum.B = sum.L+c.L, sum.A+c.A, sum.B+c.B
	}
	n := float64(len(labs))
	return colour.Lab{L: sum.L / n, A: sum.A / n, B: sum.B / n}
}

func medianColour(labs []colour.Lab) colour.Lab {
	pick := func(of func(colour.Lab) float64) float64 {
		list := make([]float64, len(labs))
		for i, c := range labs {
			list[i] = of(c)
		}
		return history.Median(list)
	}
	return colour.Lab{L: pick(func(c colour.Lab) float64 { return c.L }), A: pick(func(c colour.Lab) float64 { return c.A }),
		B: pick(func(c colour.Lab) float64 { return c.B })}
}
