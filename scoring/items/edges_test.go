package items

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"shadedrill/scoring"
)

func sane(t *testing.T, what string, e scoring.Estimate) {
	t.Helper()
	switch {
	case !e.Defined() && (len(e.Warnings) == 0 || e.Warnings[0] == ""):
		t.Errorf("%s: undefined without a word", what)
	case e.HasInterval() && !(e.Lo <= e.Value && e.Value <= e.Hi):
		t.Errorf("%s: %g lies outside %g to %g", what, e.Value, e.Lo, e.Hi)
	}
}

// Classes that say little: nothing crashes, nothing is NaN without a word.
func TestOddClasses(t *testing.T) {
	n := math.NaN()
	for name, s := range map[string]Scores{
		"one learner, one item":   {{1}},
		"one learner":             {{1, 0, 1}},
		"one item":                {{1}, {0}, {1}},
		"two learners":            {{1, 0}, {0, 1}},
		"all right":               {{1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}},
		"all wrong":               {{0, 0}, {0, 0}, {0, 0}},
		"equal sums":              {{1, 0}, {0, 1}, {1, 0}, {0, 1}},
		"nobody took all":         {{1, n, 0}, {n, 1, 0}, {1, 0, n}},
		"nobody took one":         {{1, n, 0}, {0, n, 1}, {1, n, 1}, {0, n, 0}},
		"points in between":       {{0.1, 0.5}, {0.9, 0.3}, {0.2, 1}, {0.4, 0.4}, {0.5, 0.1}},
		"same points throughout":  {{0.1, 0.1}, {0.1, 0.1}, {0.1, 0.1}, {0.1, 0.1}},
		"one perfect scale":       {{1, 1, 1}, {1, 1, 0}, {1, 0, 0}, {0, 0, 0}},
		"two copies of one item":  {{1, 1}, {0, 0}, {1, 1}, {0, 0}, {1, 1}},
		"missing and short class": {{n, n}, {n, n}},
	} {
		a, err := Analyse(s, level)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, item := range a.Items {
			sane(t, name+": difficulty", item.Difficulty)
			sane(t, name+": total", item.Total)
			sane(t, name+": rest", item.Rest)
			sane(t, name+": α without", item.AlphaWithout)
			sane(t, name+": discrimination", item.Discrimination)
			if item.Discrimination.Defined() == (item.Verdict == NoVerdict) {
				t.Errorf("%s: discrimination %v, verdict %q", name, item.Discrimination.Value, item.Verdict)
			}
		}
		sane(t, name+": α", a.Alpha)
		sane(t, name+": KR-21", a.KR21)
		sane(t, name+": error", a.Error)
	}
	for name, s := range map[string]Scores{
		"nothing":    {},
		"no items":   {{}},
		"ragged":     {{1, 0}, {1}},
		"too much":   {{1, 2}},
		"below zero": {{1, -1}},
		"infinite":   {{1, math.Inf(1)}},
	} {
		if _, err := Analyse(s, level); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Analyse(Scores{{1, 0}}, 1.5); err == nil {
		t.Error("a level of 1.5")
	}
}

// Learners who left items out count for difficulty, with a word about the rest.
func TestMissingAnswersAreSaid(t *testing.T) {
	s := patterns(t, "11 6 10 5 01 3 00 4")
	s = append(s, []float64{1, math.NaN()}, []float64{1, math.NaN()})
	a := analyse(t, s)
	near(t, "difficulty with the two", a.Items[0].Difficulty.Value, 13./20, 1e-12)
	near(t, "difficulty without", a.Items[1].Difficulty.Value, 9./18, 1e-12)
	if a.Learners != 18 || !strings.Contains(strings.Join(a.Alpha.Warnings, ";"), "2 of 20 learners") {
		t.Errorf("%d learners, warnings %v", a.Learners, a.Alpha.Warnings)
	}
}

// By hand: 10 learners, the best 3 (27 % rounded) all right on the first item, the worst 3
// all wrong; the second item the other way round.
func TestDiscrimination(t *testing.T) {
	var s Scores
	for sum := range 10 {
		row := make([]float64, 12)
		for i := range sum {
			row[2+i] = 1
		}
		if sum >= 5 {
			row[0] = 1
		} else {
			row[1] = 1
		}
		s = append(s, row)
	}
	a := analyse(t, s)
	near(t, "discrimination", a.Items[0].Discrimination.Value, 1, 1e-12)
	near(t, "discrimination of the reverse", a.Items[1].Discrimination.Value, -1, 1e-12)
	if a.Items[0].Verdict != VeryGood || a.Items[1].Verdict != Revise {
		t.Errorf("verdicts %q and %q", a.Items[0].Verdict, a.Items[1].Verdict)
	}
	// Three learners tie for the one place of the best: they share it.
	tied := analyse(t, Scores{{1, 0, 1}, {1, 1, 0}, {0, 1, 1}, {0, 0, 0}})
	near(t, "discrimination with a tie", tied.Items[0].Discrimination.Value, 2./3, 1e-12)
	// The order of the rows must not matter, ties included.
	s = class(rand.New(rand.NewPCG(5, 5)), 40, 1)
	before := analyse(t, s)
	slices.Reverse(s)
	after := analyse(t, s)
	for i := range before.Items {
		near(t, "discrimination in another order", after.Items[i].Discrimination.Value, before.Items[i].Discrimination.Value, 1e-12)
	}
	for value, want := range map[float64]Verdict{.4: VeryGood, .39: Good, .3: Good, .29: Marginal, .2: Marginal, .19: Revise, -1: Revise} {
		if got := verdictOf(scoring.Point(value, 50)); got != want {
			t.Errorf("%g is %q, want %q", value, got, want)
		}
	}
}

func TestConfusion(t *testing.T) {
	truths := []string{"L78", "L78", "L78", "L74", "L74", "L70", "L70", "L70"}
	answers := []string{"L78", "L74", "L74", "L78", "L74", "L70", "L70", "L66"}
	c, err := Confuse(truths, answers, level)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "right", c.Right.Value, 4./8, 1e-12)
	pairs := c.MostMistaken()
	if len(pairs) != 2 || pairs[0].A != "L74" || pairs[0].B != "L78" || pairs[0].Either != 3 || pairs[0].AForB != 2 || pairs[0].BForA != 1 {
		t.Fatalf("mistaken pairs %+v", pairs)
	}
	near(t, "rate", pairs[0].Rate.Value, 3./5, 1e-12)
	if _, err := Confuse(truths, answers[1:], level); err == nil {
		t.Error("unequal lengths pass")
	}
	none, err := Confuse[string](nil, nil, level)
	if err != nil || none.Right.Defined() || len(none.MostMistaken()) != 0 {
		t.Errorf("nothing confused: %+v, %v", none, err)
	}
}
