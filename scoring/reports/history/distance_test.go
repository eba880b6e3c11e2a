package history

import (
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
)

// Half of what is seen with a scatter σ along three axes lies within 1.538 σ: what is told
// of observers is near that, and its interval holds it, in a large library and a small one;
// from six tabs, to which no scatter can be told, nothing is told.
func TestDistanceIsRecovered(t *testing.T) {
	const median3 = 1.5382
	runs, least, off := 12, 0.7, 0.15
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		runs, least, off = 400, 0.91, 0.08
	}
	full, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	thin := func(groups, each int) *tabs.Library {
		l, err := tabs.Thin(full, groups, each)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name    string
		library *tabs.Library
		targets exercises.Targets
		noise   float64
		told    bool
	}{
		{"natural", full, exercises.NaturalTargets, 0.7, true},
		{"natural", full, exercises.NaturalTargets, 1.6, true},
		{"48 tabs", thin(8, 6), exercises.NaturalTargets, 1, true},
		{"six tabs", thin(3, 2), exercises.TabTargets, 0.7, false},
	} {
		sheet := tabs.NewSheet(c.library, nil)
		truth, sum, held, told := median3*c.noise, 0.0, 0, 0
		for run := range runs {
			rng := rand.New(rand.NewPCG(uint64(run), 3))
			s := exercises.Setup{Kind: exercises.ValueFirst, Count: mostShades, Seed: uint64(run) + 40, Sheet: sheet, Targets: c.targets}
			in := &Sitting{Sitting: scoring.Sitting{Setup: s}}
			r, err := exercises.NewRun(s)
			if err != nil {
				t.Fatal(err)
			}
			for trial, more := r.Next(); more; trial, more = r.Next() {
				a := kind.Simulate(trial, s, observer.Observer{Noise: c.noise}, rng)
				r.Take(trial, a)
				in.Take(scoring.Attempt{Trial: trial, Answer: a})
			}
			e := Distance([]*Kind{{Sittings: []*Sitting{in}}}, time.Time{}, time.Now())
			if e.Defined() {
				told, sum = told+1, sum+e.Value
			}
			if e.Covers(truth) {
				held++
			}
		}
		if !c.told {
			if told > runs/10 {
				t.Errorf("%s, noise %.1f: told in %d of %d runs", c.name, c.noise, told, runs)
			}
			continue
		}
		mean, share := sum/float64(told), float64(held)/float64(runs)
		t.Logf("%s, noise %.1f: %.3f told of %.3f, held in %.3f of %d", c.name, c.noise, mean, truth, share, runs)
		if told < runs-runs/100 || share < least || mean < (1-off)*truth || mean > (1+off)*truth {
			t.Errorf("%s, noise %.1f: %.3f told of %.3f in %d of %d runs, held in %.3f", c.name, c.noise, mean, truth, told, runs, share)
		}
	}
}
