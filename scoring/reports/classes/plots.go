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
		{From: 0, To: scoring.Perceptibility.Value, Name: "within perceptibility", Shade: report.ShadePerceptible},
		{From: scoring.Perceptibility.Value, To: scoring.Acceptability.Value, Name: "within acceptability", Shade: report.ShadeAcceptable},
	}
}

// timePlots show, exercise by exercise, how far the learners of the class are from
// where each of them began. Proficiency tests are left out.
func (c *Review) timePlots() []report.Plot {
	var plots []report.Plot
	for _, kind := range c.kindsSeen() {
		if s := c.changeOverSittings(kind.id); len(s.X) > 1 {
			plots = append(plots, report.Plot{Key: "class-trend-" + kind.id, Title: kind.title + ": change of each from their own first sitting", XTitle: "sitting (above it: how many learners)",
				YTitle: "median ΔE00; 0 is as at first", Rules: []report.Rule{{At: 0}}, Series: []report.Series{s}})
		}
	}
	return plots
}

// changeOverSittings is the mean over learners of how far their nth sitting, or
// block of sittings, is from their own first, with its interval. Learners have
// different numbers of sittings, so that places are of different people: the line
// breaks wherever they change, and the number of people stands at each.
func (c *Review) changeOverSittings(kind string) report.Series {
	s := report.Series{Name: "mean of learners, 95 % interval", Style: report.LineWithWhiskers}
	medians, longest := make([][]float64, len(c.learners)), 0
	for i := range c.learners {
		k, _ := c.learners[i].alike(kind)
		medians[i], longest = k.medians, max(longest, len(k.medians))
	}
	// How many sittings share a place.
	block := max(1, (longest+history.MostPoints-1)/history.MostPoints)
	var before []int
	for from := 0; from < longest; from += block {
		var changes []float64
		var people []int
		for i, own := range medians {
			if len(own) <= from || len(own) < 2 {
				continue
			}
			mean := history.Average(own[from:min(from+block, len(own))])
			changes, people = append(changes, mean-history.Average(own[:min(block, len(own))])), append(people, i)
		}
		if len(people) == 0 {
			continue
		}
		if before != nil && !slices.Equal(before, people) {
			gap := math.NaN()
			s.X, s.Y, s.Lo, s.Hi, s.Labels = append(s.X, float64(from)), append(s.Y, gap), append(s.Lo, gap), append(s.Hi, gap), append(s.Labels, "")
		}
		before = people
		e := trend.Bias(changes, history.Level)
		s.X = append(s.X, float64(from+1+min(from+block, longest))/2)
		s.Y, s.Lo, s.Hi, s.Labels = append(s.Y, e.Value), append(s.Lo, e.Lo), append(s.Hi, e.Hi), append(s.Labels, fmt.Sprint(len(people)))
	}
	return s
}

// boxPlots show each learner's errors.
func (c *Review) boxPlots() []report.Plot {
	var plots []report.Plot
	for _, kind := range c.kindsSeen() {
		plots = append(plots, c.learnerBoxes(kind))
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
