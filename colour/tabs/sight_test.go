package tabs

import (
	"math"
	"math/rand/v2"
	"reflect"
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
				wait.Go(func() { s.Nearer(s.See(target).Target, 3) })
			}
			wait.Wait()
			for range 2 { // seen now, and remembered
				v := s.See(target)
				choice := s.NearestChoice(s.NearestGroup(target.Lab()), target.Lab())
				if v.Target != target.Lab() || v.Best() != s.Best(target.Lab()) || v.Group != s.NearestGroup(target.Lab()) || v.RoomC != choice.RoomC || v.RoomH != choice.RoomH {
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
					if s.Nearer(v.Target, e) != min(nearer, 10) || (nearer > 0) != (v.NearestTab < e) {
						t.Fatalf("%s, target %v, tab %s: %+v, but %d tabs are nearer than %v", name, target, s.Name(i), v, nearer, e)
					}
				}
			}
		}
	}
}

// The best answer and the choice by chroma and hue are those found by looking at all: of
// equally near ones the first, and a tab before a middle. Tabs and middles are targets too.
func TestSightIsThatOfLookingAtAll(t *testing.T) {
	for _, name := range Builtin() {
		l, err := Load(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, under := range []func(colour.Lab) colour.Lab{nil, coarse} {
			lookAtAll(t, NewSheet(l, under))
		}
	}
}

// coarse gives many tabs the same colour.
func coarse(c colour.Lab) colour.Lab {
	return colour.Lab{L: 6 * math.Round(c.L/6), A: 3 * math.Round(c.A/3), B: 6 * math.Round(c.B/6)}
}

func lookAtAll(t *testing.T, s *Sheet) {
	s.Prepare()
	rng := rand.New(rand.NewPCG(5, 4))
	for n := range 600 {
		target := colour.SRGB{R: uint8(rng.IntN(256)), G: uint8(rng.IntN(256)), B: uint8(rng.IntN(256))}
		switch {
		case n < 300:
			target, _ = Teeth.Sample(rng).SRGB()
		case n < 400:
			target = s.Shown(rng.IntN(s.Len()))
		case n < 500:
			target = s.pairs[rng.IntN(len(s.pairs))].colour
		}
		seen, c := target.Lab(), target.Lab()
		best := Answer{E: math.Inf(1)}
		for i := range s.Len() {
			if e := colour.DeltaE00(seen, s.Lab(i)); e < best.E {
				best = Answer{i, -1, s.Shown(i), e}
			}
		}
		nearest := best.E
		for _, p := range s.pairs {
			if e := colour.DeltaE00(seen, p.colour.Lab()); e < best.E {
				best = Answer{p.i, p.j, p.colour, e}
			}
		}
		c.L = flatL
		choices := s.Choices(s.NearestGroup(seen))
		choice := choices[0]
		for _, other := range choices {
			if colour.DeltaE00(c, other.flat) < colour.DeltaE00(c, choice.flat) {
				choice = other
			}
		}
		if got := s.NearestChoice(s.NearestGroup(seen), seen); got != choice {
			t.Fatalf("%s, target %v: choice %+v instead of %+v", s.Library(), target, got, choice)
		}
		if v := s.See(target); v.Best() != best || v.NearestTab != nearest || s.Best(seen) != best {
			t.Fatalf("%s, target %v: best are %+v and %+v instead of %+v", s.Library(), target, v.Best(), s.Best(seen), best)
		}
	}
}

// A sight that is one fetch long is waited for once.
func TestASightIsOneFetch(t *testing.T) {
	if size := reflect.TypeFor[Sight]().Size(); size != 64 {
		t.Errorf("%d bytes", size)
	}
}

// Every colour has a place of its own, and where no more are remembered a look says the
// same.
func TestSightsBeyondWhatIsRemembered(t *testing.T) {
	places := map[[3]int]bool{}
	for n := range 1 << 15 {
		i, j, k := place(colour.SRGB{R: uint8(n >> 10 << 3), G: uint8(n >> 5 << 3), B: uint8(n << 3)})
		places[[3]int{i, j, k}] = true
		i, j, k = place(colour.SRGB{R: uint8(n >> 10), G: uint8(n >> 5 & 31), B: uint8(n & 31)})
		places[[3]int{i, j, k}] = true
	}
	if want := 1<<15 + 1<<15 - 1<<6; len(places) != want {
		t.Errorf("%d places instead of %d", len(places), want)
	}
	l, err := Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	full, s := NewSheet(l, nil), NewSheet(l, nil)
	full.sights.blocks = mostBlocks
	for _, target := range []colour.SRGB{{R: 210, G: 195, B: 160}, {R: 210, G: 195, B: 161}, {R: 211, G: 195, B: 160}, {R: 1, G: 2, B: 3}} {
		want := s.See(target)
		for _, sheet := range []*Sheet{s, full, full} {
			if got := sheet.See(target); got != want {
				t.Errorf("target %v: %+v instead of %+v", target, got, want)
			}
		}
	}
	if full.sights.blocks != mostBlocks || s.sights.blocks == 0 {
		t.Errorf("%d blocks are remembered by a full sheet, %d by another", full.sights.blocks, s.sights.blocks)
	}
}
