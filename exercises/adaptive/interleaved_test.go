package adaptive

import (
	"math/rand/v2"
	"reflect"
	"testing"
)

// threeTracks is a run over lightness, chroma and hue with levels of their own.
func threeTracks(t *testing.T, seed uint64, share float64, limit int) *Interleaved {
	t.Helper()
	var tracks []Method
	for _, levels := range []Levels{{0.3, 0.6, 0.9, 1.5}, {0.4, 0.8, 1.7}, {0.25, 1, 2, 3, 4}} {
		table, err := DefaultTable(YesNo, levels)
		if err != nil {
			t.Fatal(err)
		}
		q, err := NewQuestPlus(table, ThresholdAlone, Stop{Trials: 20})
		if err != nil {
			t.Fatal(err)
		}
		tracks = append(tracks, q)
	}
	r, err := NewInterleaved(InterleavedConfig{Tracks: tracks, CatchShare: share, Trials: limit}, rand.New(rand.NewPCG(seed, 1)))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// trialAnswer is one trial of a run's history.
type trialAnswer struct {
	Trial
	yes bool
}

// finish runs to the end with an observer who sees from 1 on.
func finish(t *testing.T, r *Interleaved) []trialAnswer {
	t.Helper()
	var history []trialAnswer
	for !r.Done() {
		next := r.Next()
		if next != r.Next() {
			t.Fatal("asked twice, two trials")
		}
		a := trialAnswer{Trial: next, yes: next.Level >= 1}
		history = append(history, a)
		if err := r.Take(a.Trial, a.yes); err != nil {
			t.Fatal(err)
		}
		if len(history) > 1000 {
			t.Fatal("endless")
		}
	}
	return history
}

func TestInterleavedTracksAndCatches(t *testing.T) {
	r := threeTracks(t, 5, 0.25, 0)
	history := finish(t, r)
	perTrack := make([]int, 3)
	catchTracks := make([]int, 3)
	catches := 0
	for i, a := range history {
		if a.Catch {
			if a.Level != 0 {
				t.Errorf("a catch trial at level %v", a.Level)
			}
			catches++
			catchTracks[a.Track]++
			continue
		}
		perTrack[a.Track]++
		// Tracks keep step: one trial of each in a round.
		if lo, hi := min(perTrack[0], perTrack[1], perTrack[2]), max(perTrack[0], perTrack[1], perTrack[2]); hi-lo > 1 {
			t.Fatalf("trial %d: the tracks have %v trials", i, perTrack)
		}
	}
	if !reflect.DeepEqual(perTrack, []int{20, 20, 20}) {
		t.Errorf("trials per track %v", perTrack)
	}
	if catches != r.catches || r.Trials() != len(history) || catches < 18 || catches > 22 {
		t.Errorf("%d catch trials of %d, want a quarter", catches, len(history))
	}
	for i := 10; i < len(history); i += 10 {
		n := 0
		for _, a := range history[i-10 : i] {
			if a.Catch {
				n++
			}
		}
		if n < 2 || n > 3 {
			t.Errorf("%d catch trials among ten", n)
		}
	}
	if catchTracks[0]*catchTracks[1]*catchTracks[2] == 0 {
		t.Errorf("catch trials with the looks of %v", catchTracks)
	}
	if r.Next() != (Trial{}) {
		t.Errorf("after the end: %+v", r.Next())
	}
}

func TestInterleavedIsItsSeed(t *testing.T) {
	one, two, other := finish(t, threeTracks(t, 5, 0.25, 0)), finish(t, threeTracks(t, 5, 0.25, 0)), finish(t, threeTracks(t, 6, 0.25, 0))
	if !reflect.DeepEqual(one, two) {
		t.Error("the same seed gives other trials")
	}
	if reflect.DeepEqual(one, other) {
		t.Error("another seed gives the same trials")
	}
	half := threeTracks(t, 5, 0.25, 0)
	for _, a := range one[:31] {
		if err := half.Take(a.Trial, a.yes); err != nil {
			t.Fatal(err)
		}
	}
	for i, a := range one[31:] {
		if got := half.Next(); got != a.Trial {
			t.Fatalf("after the replay, trial %d is %+v, was %+v", i+31, got, a.Trial)
		}
		if err := half.Take(a.Trial, a.yes); err != nil {
			t.Fatal(err)
		}
	}
	if !half.Done() {
		t.Error("the replayed run does not end")
	}
}

func TestCatchAnswersReachEveryTrack(t *testing.T) {
	r := threeTracks(t, 5, 0.25, 0)
	guess := func(i int) float64 {
		mean, _ := r.config.Tracks[i].(*QuestPlus).mean()
		return mean.Guess
	}
	before := []float64{guess(0), guess(1), guess(2)}
	for range 5 {
		if err := r.Take(Trial{Track: 1, Catch: true}, true); err != nil {
			t.Fatal(err)
		}
	}
	for i, b := range before {
		if guess(i) <= b {
			t.Errorf("track %d: five false alarms leave the guess rate at %v", i, guess(i))
		}
	}
	if r.config.Tracks[1].Trials() != 0 {
		t.Error("a catch trial counts as a trial of the track")
	}
}

func TestInterleavedCapAndNoCatches(t *testing.T) {
	if n := len(finish(t, threeTracks(t, 5, 0.25, 13))); n != 13 {
		t.Errorf("%d trials under a cap of 13", n)
	}
	r := threeTracks(t, 5, 0, 0)
	if n := len(finish(t, r)); n != 60 || r.catches != 0 {
		t.Errorf("%d trials, %d catch trials", n, r.catches)
	}
}

func TestMalformedInterleaved(t *testing.T) {
	s, err := NewStaircase(Transformed(Levels{0.3, 1}, 1, 2, Stop{Trials: 10}, 0.1))
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for name, c := range map[string]InterleavedConfig{
		"no tracks": {},
		"no method": {Tracks: []Method{nil}},
		"share":     {Tracks: []Method{s}, CatchShare: 0.6},
		"cap":       {Tracks: []Method{s}, Trials: -1},
	} {
		if _, err := NewInterleaved(c, rng); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := NewInterleaved(InterleavedConfig{Tracks: []Method{s}}, nil); err == nil {
		t.Error("no source of chance: no error")
	}
	r, err := NewInterleaved(InterleavedConfig{Tracks: []Method{s}}, rng)
	if err != nil {
		t.Fatal(err)
	}
	if r.Take(Trial{Track: 3}, true) == nil {
		t.Error("track 4 of 1 takes an answer")
	}
}
