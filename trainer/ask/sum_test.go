package ask

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/reports/history"
)

// What the page after a drill says of a bias is what the tables say of the same answers:
// the largest that is beyond chance, or that none shows.
func TestTheSummaryAgreesWithTheTables(t *testing.T) {
	ctx := context.Background()
	lib, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(lib, nil)
	kind, _ := exercises.ByID(exercises.ValueFirst)
	named := 0
	for run := range 60 {
		rng := rand.New(rand.NewPCG(7, uint64(run)))
		book := record.NewMemory()
		who := recordtest.Person(t, book, "Ada Finch")
		setup := exercises.Setup{Kind: kind.ID(), Seed: uint64(run) + 1, Count: 1 + run%20, Sheet: sheet, Targets: exercises.NaturalTargets}
		d, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup}, func() time.Time { return recordtest.Noon })
		if err != nil {
			t.Fatal(err)
		}
		eye := observer.Observer{BiasL: 2 * rng.NormFloat64(), BiasC: rng.NormFloat64(), BiasH: 2 * rng.NormFloat64(), Noise: 1}
		var results []Result
		for trial, more := d.Trial(); more; trial, more = d.Trial() {
			a, m, err := d.Answer(ctx, kind.Simulate(trial, setup, eye, rng))
			if err != nil {
				t.Fatal(err)
			}
			results = append(results, Result{Attempt: a, Mark: m})
		}
		h, err := history.Read(ctx, book, record.Filter{Learner: who.ID})
		if err != nil {
			t.Fatal(err)
		}
		largest, size := "", 0.0
		for i, e := range history.BiasOfKinds(h.Kinds).Estimates {
			if w := history.BiasWord(e, history.Axes[i].Above, history.Axes[i].Below); w != "" && math.Abs(e.Value) > size {
				largest, size = w, math.Abs(e.Value)
			}
		}
		largest = strings.ReplaceAll(largest, "too chromatic", "too strong in chroma")
		said := SumOf(sheet, results).Bias
		switch n := len(results); {
		case largest == "" && strings.Contains(said, "your answers were"), largest != "" && n >= 3 && !strings.Contains(said, largest),
			largest == "" && n >= 6 && said == "":
			t.Errorf("run %d, %d answers: the tables say %q by %.2f, the summary %q", run, n, largest, size, said)
		case largest != "":
			named++
		}
	}
	if named < 10 {
		t.Errorf("only %d biases were named", named)
	}
}

// Three verdicts that err to one side are no bias yet: chance makes that in one drill of four.
func TestThreeVerdictsAreNoBias(t *testing.T) {
	for n, want := range map[int]string{3: "", 5: "", 6: "too strict", 12: "too strict"} {
		var results []Result
		for range n {
			results = append(results, Result{Mark: scoring.Mark{Measures: []scoring.Measure{{Name: "strictness", Value: 1}}}})
		}
		if said := SumOf(nil, results).Bias; want == "" && said != "" || !strings.Contains(said, want) {
			t.Errorf("of %d: %q", n, said)
		}
	}
}
