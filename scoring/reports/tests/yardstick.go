package tests

import (
	"context"
	"math"
	"math/rand/v2"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// yardsticks are the median errors, in ΔE00, of the simulated observers that a test is
// laid before: perceptibility, acceptability, and half of one in between.
func yardsticks() []float64 {
	seen, accepted := scoring.Perceptibility.Value, scoring.Acceptability.Value
	return []float64{seen, (seen + accepted) / 2, accepted}
}

// leastYardstick is how many answers stand behind each simulated share at least.
const leastYardstick = 400

// yardstickSection says what observers of known error get right in the very items of a
// test, by which its share can be read whatever its exercises. ok is false where
// nothing in it is right or wrong, and for a test of earlier rules, whose items
// cannot be asked any more.
func yardstickSection(ctx context.Context, book Book, taken *taken) (section report.Section, ok bool) {
	h := taken.history
	items := 0
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			if s.Judges() {
				items += s.Setup.Items()
			}
		}
	}
	if items == 0 {
		return section, false
	}
	runs := (leastYardstick + items - 1) / items
	t := &report.Table{Columns: []report.Column{
		{Key: "median_dE00", Title: "median error of the observer, ΔE00"}, {Key: "right", Title: "right", Estimates: true}, {Key: "class", Title: "level", Left: true},
	}}
	trials, err := asked(ctx, book, h)
	if err != nil {
		return section, false
	}
	for _, middle := range yardsticks() {
		share, err := simulate(h, trials, middle, runs)
		if err != nil {
			return section, false
		}
		class, _ := taken.cuts().Classify(share, history.Counted(h.Kinds))
		t.Rows = append(t.Rows, []report.Cell{report.Number{Value: middle, Decimals: 1}, report.Percent(share), report.Word{Key: string(class), Shown: string(class)}})
	}
	return report.Section{Key: "yardstick", Title: "What simulated observers get right in these items", Table: t, Notes: []string{
		"Tests differ in how hard they are, and the cut-offs do not know it. Here the same items were answered many times by simulated observers without bias or lapses, half of whose errors are no larger than the first column says, scattered alike in value, chroma and hue. A share near one of theirs is what such an observer would reach.",
	}}, true
}

// asked are the items of a test's sittings. They depend on no answer, so they are
// drawn once however many observers look at them.
func asked(ctx context.Context, book Book, h *history.History) (map[*history.Sitting][]exercises.Trial, error) {
	all := map[*history.Sitting][]exercises.Trial{}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			if !s.Judges() {
				continue
			}
			setup, err := record.SetupOf(ctx, book, s.Sitting)
			if err != nil {
				return nil, err
			}
			run, err := exercises.NewRun(setup)
			if err != nil {
				return nil, err
			}
			for trial, more := run.Next(); more; trial, more = run.Next() {
				run.Take(trial, exercises.Answer{})
				all[s] = append(all[s], trial)
			}
		}
	}
	return all, nil
}

// simulate is the share right of an observer without bias that sits the test many times.
func simulate(h *history.History, asked map[*history.Sitting][]exercises.Trial, middle float64, runs int) (scoring.Estimate, error) {
	// Errors that scatter alike along three axes have a length whose square, in
	// variances of one axis, is χ² with 3 degrees of freedom.
	o := observer.Observer{Noise: middle / math.Sqrt(distuv.ChiSquared{K: 3}.Quantile(0.5))}
	var all []*history.Kind
	for _, k := range h.Kinds {
		one := &history.Kind{ID: k.ID, Title: k.Title}
		kind, err := exercises.ByID(k.ID)
		if err != nil {
			return scoring.Estimate{}, err
		}
		for _, s := range k.Sittings {
			if !s.Judges() {
				continue
			}
			for n := range runs {
				rng := rand.New(rand.NewPCG(1, uint64(n)))
				sat := &history.Sitting{Sitting: s.Sitting}
				for _, trial := range asked[s] {
					sat.Take(scoring.Attempt{Trial: trial, Answer: kind.Simulate(trial, s.Setup, o, rng), At: time.Unix(int64(n), 0)})
				}
				one.Sittings = append(one.Sittings, sat)
			}
		}
		if len(one.Sittings) > 0 {
			all = append(all, one)
		}
	}
	return h.Right(all), nil
}
