package exercises

import (
	"fmt"
	"math/rand/v2"
	"slices"
)

// NewRun begins the drill that a setup describes: the kind's own run, or, where
// the setup asks for shared items, the same items in an order of their own and
// each several times.
func NewRun(s Setup) (Run, error) {
	kind, err := ByID(s.Kind)
	if err == nil {
		err = s.checkStream()
	}
	if err == nil {
		err = s.checkLevel()
	}
	if err != nil {
		return nil, err
	}
	if len(s.Again) > 0 {
		return newAgainRun(kind, s)
	}
	if s.Repeats == 0 {
		return kind.NewRun(s)
	}
	return newSharedRun(kind, s)
}

// sharedRun shows the scenes of one drill in a person's own order, each Repeats
// times, so that several people can be compared on the same bytes and each
// person with themselves.
//
//	seed        ──> scenes 0 … n−1, the same for everybody
//	order seed  ──> round 1: a permutation, round 2: another, …
//
// A scene never stands among the last and the first few of two neighbouring
// rounds, so that its repetition is not noticed.
type sharedRun struct {
	trials []Trial
	given  int
}

func newSharedRun(kind Kind, s Setup) (Run, error) {
	if s.Repeats < 1 {
		return nil, fmt.Errorf("shared items need at least one presentation each, not %d", s.Repeats)
	}
	if s.Adaptive || kind.Traits().AnswerDriven {
		return nil, fmt.Errorf("%s chooses its trials by the answers: there are no items to share", kind.Title())
	}
	s.Experience = nil
	base, err := kind.NewRun(s)
	if err != nil {
		return nil, err
	}
	scenes := scenesOf(base)
	if len(scenes) == 0 {
		return nil, fmt.Errorf("%s gave no items for this setup", kind.Title())
	}
	rng := rand.New(rand.NewPCG(s.OrderSeed, s.Seed))
	run := &sharedRun{}
	for place, item := range roundsOf(len(scenes), s.Repeats, rng) {
		for _, t := range scenes[item] {
			t.Item = fmt.Sprintf("%03d", item+1)
			t.Scene = place
			t.Ordinal = len(run.trials)
			run.trials = append(run.trials, t)
		}
	}
	return run, nil
}

// scenesOf plays a run through and gathers its trials by scene.
func scenesOf(run Run) [][]Trial {
	var scenes [][]Trial
	for range run.Planned() {
		t, ok := run.Next()
		if !ok {
			break
		}
		if n := len(scenes); n > 0 && t.Part != "" && scenes[n-1][0].Scene == t.Scene {
			scenes[n-1] = append(scenes[n-1], t)
		} else {
			scenes = append(scenes, []Trial{t})
		}
		run.Take(t, Answer{})
	}
	return scenes
}

// roundsOf returns the items 0 … n−1 in as many permutations as asked, joined so
// that an item keeps a distance from itself.
func roundsOf(n, repeats int, rng *rand.Rand) []int {
	apart := min(3, (n-1)/2) // how many places at a seam must not share an item
	var order []int
	for range repeats {
		round := rng.Perm(n)
		seam := order[max(0, len(order)-apart):]
		// Items of the seam that would stand too early go to the end of the
		// round: a bounded mending instead of drawing until it happens to fit.
		var early, rest []int
		for i, item := range round {
			if i < 2*apart && slices.Contains(seam, item) {
				early = append(early, item)
			} else {
				rest = append(rest, item)
			}
		}
		order = append(order, append(rest, early...)...)
	}
	return order
}

func (r *sharedRun) Planned() int { return len(r.trials) }

func (r *sharedRun) Next() (Trial, bool) {
	if r.given >= len(r.trials) {
		return Trial{}, false
	}
	return r.trials[r.given], true
}

func (r *sharedRun) Take(Trial, Answer) { r.given++ }
