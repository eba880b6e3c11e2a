package record_test

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// FuzzMarking: an answer from a file, in whatever exercise it claims to be given,
// is refused or can be marked: with the sheet of its sitting and without, alone and
// as one of a scene.
func FuzzMarking(f *testing.F) {
	sheet := recordtest.Sheet(f)
	library, err := tabs.Load("starter")
	if err != nil {
		f.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(5, 5))
	for i, kind := range exercises.Kinds() {
		setup := drillOf(kind, tabs.NewSheet(library, nil))
		run, err := exercises.NewRun(setup)
		if err != nil {
			f.Fatal(err)
		}
		for range 3 {
			trial, ok := run.Next()
			if !ok {
				break
			}
			answer := kind.Simulate(trial, setup, observer.Observer{Noise: 2}, rng)
			run.Take(trial, answer)
			t, err := json.Marshal(trial)
			if err != nil {
				f.Fatal(err)
			}
			a, err := json.Marshal(answer)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(t), string(a), uint8(i))
		}
	}
	f.Add(`{}`, `{}`, uint8(0))
	f.Add(`{"patches":[{},{}],"level":-1e300}`, `{"order":[-1,9],"number":-3,"directions":{"value":7}}`, uint8(3))
	kinds := exercises.Kinds()
	f.Fuzz(func(t *testing.T, trial, answer string, which uint8) {
		var a scoring.Attempt
		if json.Unmarshal([]byte(trial), &a.Trial) != nil || json.Unmarshal([]byte(answer), &a.Answer) != nil {
			return
		}
		a.Sitting, a.Learner, a.At = "S1", "L1", recordtest.Noon
		a.Trial.Kind = kinds[int(which)%len(kinds)].ID()
		a, err := record.CheckAttempt(a)
		if err != nil {
			return
		}
		for _, s := range []*tabs.Sheet{nil, sheet} {
			mark := scoring.MarkOf(a, s)
			mark.Right()
			var m scoring.Marking
			for range 3 {
				m.Mark(a, s)
				a.Trial.Ordinal++
			}
		}
		exercises.Passed(a.Trial, a.Answer)
	})
}
