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
				wait.Go(func() { s.See(target).Nearer(3) })
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
					e, nearer := colour.DeltaE00(target.Lab(), s.Lab(i)), 0
					for k := range s.Len() {
						if colour.DeltaE00(target.Lab(), s.Lab(k)) < e {
							nearer++
						}
					}
					if v.Nearer(e) != min(nearer, 10) || (nearer > 0) != (v.NearestTab < e) {
						t.Fatalf("%s, target %v, tab %s: %+v, but %d tabs are nearer than %v", name, target, s.Name(i), v, nearer, e)
					}
				}
			}
		}
	}
}
