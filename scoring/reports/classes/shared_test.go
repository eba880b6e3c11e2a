package classes

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/history"
)

// hues is a class whose biases along hue are these, and none along value and chroma.
func hues(list ...scoring.Estimate) *Review {
	c := &Review{}
	for i, e := range list {
		c.Rows = append(c.Rows, Row{Learner: scoring.Learner{Name: fmt.Sprintf("P%d", i)}, Biases: [3]scoring.Estimate{near(0), near(0), e}})
	}
	return c
}

func near(bias float64) scoring.Estimate {
	return scoring.Interval(bias, bias-0.3, bias+0.3, history.Level, 80)
}

func many(n int, e scoring.Estimate) (list []scoring.Estimate) {
	for range n {
		list = append(list, e)
	}
	return list
}

// What is said of the class, and what to do, where few have a bias, where most have one,
// and where theirs are known as bounds alone.
func TestAClassHasTheBiasOfHalfOfIt(t *testing.T) {
	far := scoring.AtLeast(2.6, history.Level, 20)
	for _, c := range []struct {
		name, want, table string
		class             []scoring.Estimate
	}{
		{"nobody", "The class as a whole has no bias", "0.00 (0.00 to 0.00)", many(20, near(0))},
		{"six of twenty, far off", "No bias of the class as a whole shows", "", append(many(14, near(0.1)), many(6, near(3.5))...)},
		{"six of twenty, by bounds", "Whether the class as a whole errs one way cannot be told yet", "at least +0.10", append(many(14, near(0.1)), many(6, far)...)},
		{"two of twenty, by bounds", "The class as a whole has no bias", "+0.10 (+0.10 to +0.10)", append(many(18, near(0.1)), many(2, far)...)},
		{"all, by bounds", "The class as a whole answers too yellow, half of it by 2.6 ΔE00 or more; 20 of 20 share it.", "at least +2.60", many(20, far)},
		{"all, red", "The class as a whole answers too red, half of it by 1.5 ΔE00 or more (1.4 to 1.7); 20 of 20 share it.", "−1.55 (−1.70 to −1.40)", append(many(10, near(-1.4)), many(10, near(-1.7))...)},
		{"all of five", "The class as a whole answers too yellow, half of it by 2.0 ΔE00 or more; 5 of 5 share it.", "+2.00", many(5, near(2))},
		{"four of five", "Whether the class as a whole errs one way cannot be told yet", "+2.00", append(many(4, near(2)), near(0))},
		{"two of two", "Whether the class as a whole errs one way cannot be told yet", "+2.00", many(2, near(2))},
	} {
		r := hues(c.class...)
		if said := r.together(); !strings.HasPrefix(said, c.want) || strings.Contains(said, "hue alone") != strings.Contains(said, "share it") {
			t.Errorf("%s: %s", c.name, said)
		}
		table := r.togetherSection().Table
		if text := report.Words(table.Rows[3][1]); c.table != "" && text != c.table {
			t.Errorf("%s: the table has %s, want %s", c.name, text, c.table)
		}
		if text := report.Words(table.Rows[3][2]); strings.Contains(c.name, "bounds") != (text == "not known") {
			t.Errorf("%s: between learners %s", c.name, text)
		}
	}
}

// Of a class in which six of twenty have a hue bias of 3 to 4 and no others any, the
// interval holds what half of such people have, and the class is not called biased: nor,
// but for one in ten, where so few answers are known that biases scatter and some are bounds.
func TestSixOfTwentyAreNoClass(t *testing.T) {
	runs := 20
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		runs = 400
	}
	// Half of all people lie above it: 0.7·Φ(m/0.3) = 0.5.
	median := 0.3 * 0.5660
	sheet := reporttest.Sheet(t, "natural")
	setup := exercises.Setup{Kind: exercises.ValueFirst, Seed: 5, Count: exercises.MostTrials, Sheet: sheet}
	run, err := exercises.NewRun(setup)
	if err != nil {
		t.Fatal(err)
	}
	var shown []exercises.Trial
	for trial, more := run.Next(); more; trial, more = run.Next() {
		run.Take(trial, exercises.Answer{})
		shown = append(shown, trial)
	}
	kind, _ := exercises.ByID(setup.Kind)
	for _, asked := range [][2]int{{1, 10}, {3, 15}} { // sittings, answers
		held, called, bounds := 0, 0, 0
		for n := range runs {
			rng := rand.New(rand.NewPCG(uint64(n), uint64(asked[1])))
			c := &Review{}
			for i := range 20 {
				who := observer.Observer{Noise: 0.8, BiasH: 0.3 * rng.NormFloat64()}
				if i < 6 {
					who.BiasH = 3 + rng.Float64()
				}
				var sittings [][]history.Judged
				for range asked[0] {
					var list []history.Judged
					for range asked[1] {
						trial := shown[rng.IntN(len(shown))]
						list = append(list, history.Judge(scoring.Attempt{Trial: trial, Answer: kind.Simulate(trial, setup, who, rng)}, scoring.Mark{}, sheet))
					}
					sittings = append(sittings, list)
				}
				r := Row{Biases: history.BiasOf(sittings).Estimates}
				if c.Rows = append(c.Rows, r); r.Biases[2].Open() != 0 {
					bounds++
				}
			}
			if c.biasOfClass(2).Covers(median) {
				held++
			}
			if strings.Contains(c.together(), "answers too yellow") {
				called++
			}
		}
		t.Logf("%d sittings of %d answers: %.2f bounds a class; the interval holds the median in %d of %d, the class is called too yellow in %d", asked[0], asked[1], float64(bounds)/float64(runs), held, runs, called)
		if math.Abs(float64(held)/float64(runs)-0.97) > 0.03+2*math.Sqrt(0.02/float64(runs)) || float64(called) > 0.1*float64(runs)+1 {
			t.Error("the bias of the class is not as simulated")
		}
	}
}

// A bias known as a bound alone is no number on the page either.
func TestABoundIsABoundInTheLength(t *testing.T) {
	r := Row{Biases: [3]scoring.Estimate{near(1), near(0), scoring.AtLeast(2.6, history.Level, 20)}}
	if got := r.biasSize(); got != "at least 2.8" {
		t.Errorf("the length of the bias is told as %s", got)
	}
	r.Biases[2] = scoring.AtLeast(-0.4, history.Level, 20) // says nothing
	if got := r.biasSize(); got != "1.0" {
		t.Errorf("the length of the bias is told as %s", got)
	}
}
