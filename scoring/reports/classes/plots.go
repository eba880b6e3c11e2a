package classes

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

const boxNote = "A box holds the middle half of the values, its line is the median; the whiskers reach to the last value within one and a half boxes, points lie beyond (Tukey 1977, Exploratory Data Analysis)."

// mostBoxes is how many learners have a box of their own in one picture.
const mostBoxes = 30

// fiveNumbers are what a box plot draws.
type fiveNumbers = report.BoxNumbers

func fiveNumbersOf(xs []float64) fiveNumbers { return report.BoxNumbersOf(xs, mostBeyond) }

// mostBeyond is how many values beyond the whiskers of one box are drawn, those
// farthest out.
const mostBeyond = 6

// limitBands are the ranges within perceptibility and acceptability.
func limitBands() []report.Band {
	return []report.Band{
		{From: 0, To: scoring.Perceptibility.Value, Name: "within perceptibility"},
		{From: scoring.Perceptibility.Value, To: scoring.Acceptability.Value, Name: "within acceptability"},
	}
}

// timePlots show, exercise by exercise, how the errors of the class went on:
// the nth sitting of each learner stands at n. Proficiency tests are left out.
func (c *Review) timePlots() []report.Plot {
	var plots []report.Plot
	for _, kind := range c.kindsSeen() {
		if _, longest := c.blocks(kind.id); longest == 0 {
			continue
		}
		size := report.Plot{Key: "class-trend-" + kind.id, Title: kind.title + ": error over time", XTitle: "sitting of each learner", YTitle: "median ΔE00",
			Bands: limitBands(), Series: []report.Series{c.overSittings("class mean of medians", kind.id, func(k learnerKind) []float64 { return k.medians })}}
		sizes := report.Plot{Key: "class-axes-" + kind.id, Title: kind.title + ": error along each axis over time", XTitle: "sitting of each learner", YTitle: "mean size, ΔE00"}
		biases := report.Plot{Key: "class-bias-" + kind.id, Title: kind.title + ": bias over time", XTitle: "sitting of each learner", YTitle: "answer − target, ΔE00"}
		for a := range history.Axes {
			sizes.Series = append(sizes.Series, c.overSittings(history.Axes[a].Title, kind.id, func(k learnerKind) []float64 { return k.sizes[a] }))
			biases.Series = append(biases.Series, c.overSittings(history.Axes[a].Title, kind.id, func(k learnerKind) []float64 { return k.means[a] }))
		}
		plots = append(plots, size, sizes, biases)
	}
	return plots
}

// overSittings is the mean over learners with its interval, sitting by sitting
// or block by block.
func (c *Review) overSittings(name, kind string, of func(learnerKind) []float64) report.Series {
	s := report.Series{Name: name, Style: report.LineWithBand}
	block, longest := c.blocks(kind)
	for from := 0; from < longest; from += block {
		e := trend.Bias(c.inBlock(kind, from, from+block, of), history.Level)
		if !e.Defined() {
			continue
		}
		s.X = append(s.X, float64(from+1+min(from+block, longest))/2)
		s.Y, s.Lo, s.Hi = append(s.Y, e.Value), append(s.Lo, e.Lo), append(s.Hi, e.Hi)
	}
	return s
}

// blocks says how many sittings share a place in a plot and how many sittings
// anybody has.
func (c *Review) blocks(kind string) (block, longest int) {
	for _, l := range c.learners {
		for _, k := range l.kinds {
			if k.id == kind {
				longest = max(longest, len(k.medians))
			}
		}
	}
	return max(1, (longest+history.MostPoints-1)/history.MostPoints), longest
}

// inBlock takes one number a learner: the mean of their sittings from..to.
func (c *Review) inBlock(kind string, from, to int, of func(learnerKind) []float64) []float64 {
	var values []float64
	for _, l := range c.learners {
		for _, k := range l.kinds {
			if k.id != kind {
				continue
			}
			sum, n := 0.0, 0
			for _, x := range of(k)[min(from, len(k.medians)):min(to, len(k.medians))] {
				if !math.IsNaN(x) {
					sum, n = sum+x, n+1
				}
			}
			if n > 0 {
				values = append(values, sum/float64(n))
			}
		}
	}
	return values
}

// boxPlots show each learner's errors, and the class sitting by sitting.
func (c *Review) boxPlots() []report.Plot {
	var plots []report.Plot
	for _, kind := range c.kindsSeen() {
		plots = append(plots, c.learnerBoxes(kind))
		if _, longest := c.blocks(kind.id); longest > 1 {
			plots = append(plots, c.sittingBoxes(kind))
		}
	}
	return plots
}

func (c *Review) learnerBoxes(kind learnerKind) report.Plot {
	type boxed struct {
		name string
		box  fiveNumbers
	}
	var list []boxed
	for i, l := range c.learners {
		for _, k := range l.kinds {
			if k.id == kind.id {
				list = append(list, boxed{c.Scope.People[i].Name, k.box})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b boxed) int {
		return cmp.Or(cmp.Compare(b.box.Median, a.box.Median), cmp.Compare(a.name, b.name))
	})
	p := report.Plot{Key: "class-boxes-" + kind.id, Title: kind.title + ": each learner", XTitle: "largest median first", YTitle: "ΔE00", Bands: limitBands()}
	if len(list) > mostBoxes {
		p.XTitle = fmt.Sprintf("the %d largest medians of %d", mostBoxes, len(list))
		list = list[:mostBoxes]
	}
	for i, b := range list {
		p.XNames = append(p.XNames, b.name)
		p.Series = append(p.Series, b.box.Series(float64(i)))
	}
	return p
}

// mostSittingBoxes is how many boxes show the class over time.
const mostSittingBoxes = 12

func (c *Review) sittingBoxes(kind learnerKind) report.Plot {
	p := report.Plot{Key: "class-sittings-" + kind.id, Title: kind.title + ": the class over time", XTitle: "sitting of each learner", YTitle: "learners' medians, ΔE00", Bands: limitBands()}
	_, longest := c.blocks(kind.id)
	block := (longest + mostSittingBoxes - 1) / mostSittingBoxes
	for from := 0; from < longest; from += block {
		to := min(from+block, longest)
		name := fmt.Sprint(from + 1)
		if to > from+1 {
			name = fmt.Sprintf("%d–%d", from+1, to)
		}
		values := c.inBlock(kind.id, from, to, func(k learnerKind) []float64 { return k.medians })
		p.Series = append(p.Series, fiveNumbersOf(values).Series(float64(len(p.XNames))))
		p.XNames = append(p.XNames, name)
	}
	return p
}
