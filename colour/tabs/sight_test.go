package tabs

import (
	"math/rand/v2"
	"sync"
	"testing"

	"shadedrill/colour"
)

// What a sheet remembers is what it would say without: Best, NearestGroup,
// NearestChoice, and the ranks by plain counting.
func TestSightIsWhatTheSheetSays(t *testing.T) {
	for _, name := range Builtin() {
		l, err := Load(name)
		if err != nil {
			t.Fatal(err)
		}
		s := NewSheet(l, nil)
		rng := rand.New(rand.NewPCG(3, 4))
		for range 300 {
			target, _ := Teeth.Sample(rng).SRGB()
			var wait sync.WaitGroup
			for range 2 {
				wait.Go(func() { s.See(target).Judge(s.Shown(0)) })
			}
			wait.Wait()
			for range 2 { // seen now, and remembered
				v := s.See(target)
				choice := s.NearestChoice(s.NearestGroup(target.Lab()), target.Lab())
				if v.Target != target.Lab() || v.Best != s.Best(target.Lab()) || v.Group != s.NearestGroup(target.Lab()) || v.RoomC != choice.RoomC || v.RoomH != choice.RoomH {
					t.Fatalf("%s, target %v: %+v", name, target, v)
				}
				for range 5 {
					i := rng.IntN(s.Len())
					j := v.Judge(s.Shown(i))
					e, nearer := colour.DeltaE00(target.Lab(), s.Lab(i)), 0
					for k := range s.Len() {
						if colour.DeltaE00(target.Lab(), s.Lab(k)) < e {
							nearer++
						}
					}
					if j.E != e || j.Nearer != min(nearer, 10) || j.Difference != colour.Compare(target.Lab(), s.Lab(i), colour.Unit) {
						t.Fatalf("%s, target %v, tab %s: %+v, but %d tabs are nearer than %v", name, target, s.Name(i), j, nearer, e)
					}
				}
			}
		}
	}
}

// A target may be answered by any colour, and more often than is remembered.
func TestSightJudgesMoreThanItRemembers(t *testing.T) {
	l, err := Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	v := NewSheet(l, nil).See(colour.SRGB{R: 220, G: 200, B: 170})
	for b := range 200 {
		answer := colour.SRGB{R: 220, G: 200, B: uint8(b)}
		if got := v.Judge(answer); got.E != colour.DeltaE00(v.Target, answer.Lab()) {
			t.Fatalf("answer %v: %v", answer, got.E)
		}
	}
	if n := v.judged.Load().n; n > mostJudged {
		t.Errorf("%d answers are remembered", n)
	}
}
