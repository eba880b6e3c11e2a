package tabs

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"shadedrill/colour"
)

// Every tab and every middle of neighbours is a choice of its group, once, and
// the nearest one is nearest by chroma and hue alone.
func TestChoices(t *testing.T) {
	for _, name := range Builtin() {
		l, err := Load(name)
		if err != nil {
			t.Fatal(err)
		}
		s := NewSheet(l, nil)
		seen := map[[2]int]bool{}
		for g := range s.Groups() {
			for _, c := range s.Choices(g) {
				if s.GroupOf(c.I) != g || c.J >= 0 && s.GroupOf(c.J) != g || seen[[2]int{c.I, c.J}] {
					t.Fatalf("%s: group %d offers %+v", name, g, c)
				}
				seen[[2]int{c.I, c.J}] = true
				if c.J >= 0 && c.Shown != s.Between(c.I, c.J) || c.J < 0 && c.Shown != s.Shown(c.I) {
					t.Fatalf("%s: %+v is shown in other bytes", name, c)
				}
			}
		}
		if want := s.Len() + len(s.pairs); len(seen) != want {
			t.Errorf("%s: %d choices instead of %d", name, len(seen), want)
		}
		rng := rand.New(rand.NewPCG(1, 1))
		for range 500 {
			c := Teeth.Sample(rng)
			g := rng.IntN(len(s.Groups()))
			apart := func(x colour.SRGB) float64 {
				d := colour.Compare(c, x.Lab(), colour.Unit)
				return math.Hypot(d.C, d.H)
			}
			got := apart(s.NearestChoice(g, c).Shown)
			for _, other := range s.Choices(g) {
				if apart(other.Shown) < got-1e-6 {
					t.Fatalf("%s: %v in group %d: %+v is nearer than what was found", name, c.LCh(), g, other)
				}
			}
		}
	}
}

// The border of a library has no room outwards, its middle has.
func TestRoom(t *testing.T) {
	var list []Tab
	for c := 8.0; c <= 28; c += 5 {
		for h := 78.0; h <= 102; h += 6 {
			x := colour.LCh{L: 75, C: c, H: h}
			list = append(list, Tab{x.String(), x.Lab()})
		}
	}
	l, err := New("grid", "", []Group{{Name: "L75", Tabs: list}})
	if err != nil {
		t.Fatal(err)
	}
	s := NewSheet(l, nil)
	for _, c := range []struct {
		chroma, hue  float64
		roomC, roomH bool
	}{{18, 90, true, true}, {8, 90, false, true}, {28, 90, false, true}, {18, 78, true, false}, {18, 102, true, false}, {28, 102, false, false}} {
		got := s.NearestChoice(0, colour.LCh{L: 75, C: c.chroma, H: c.hue}.Lab())
		if got.RoomC != c.roomC || got.RoomH != c.roomH {
			t.Errorf("C %g h %g: room in chroma %v, in hue %v", c.chroma, c.hue, got.RoomC, got.RoomH)
		}
	}
}

// The bounds that spare comparisons change nothing: room is what comparing with
// every tab of the group gives, for teeth and for colours that no tooth has.
func TestRoomIsThatOfComparingAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for name, draw := range map[string]func() colour.Lab{
		"teeth":    func() colour.Lab { return NaturalTeeth.Sample(rng) },
		"anything": func() colour.Lab { return colour.Lab{L: 60, A: 60*rng.Float64() - 30, B: 60*rng.Float64() - 30} },
		"crowded":  func() colour.Lab { return colour.Lab{L: 75, A: 3 * rng.Float64(), B: 15 + 4*rng.Float64()} },
	} {
		var list []Tab
		for range 250 {
			list = append(list, Tab{Name: fmt.Sprint(len(list)), Lab: draw()})
		}
		l, err := New("random", "", []Group{{Name: "all", Tabs: list}})
		if err != nil {
			t.Fatal(err)
		}
		s := NewSheet(l, nil)
		roomy := 0
		for _, c := range s.Choices(0) {
			var lessC, moreC, lessH, moreH bool
			for _, other := range s.Choices(0)[:s.Len()] {
				d := colour.Compare(c.flat, other.flat, colour.Unit)
				if math.Abs(d.H) <= aside {
					lessC, moreC = lessC || d.C <= -elbowRoom, moreC || d.C >= elbowRoom
				}
				if math.Abs(d.C) <= aside {
					lessH, moreH = lessH || d.H <= -elbowRoom, moreH || d.H >= elbowRoom
				}
			}
			if c.RoomC != (lessC && moreC) || c.RoomH != (lessH && moreH) {
				t.Errorf("%s: %v has room %v %v instead of %v %v", name, c.flat, c.RoomC, c.RoomH, lessC && moreC, lessH && moreH)
			}
			if c.RoomC {
				roomy++
			}
		}
		if roomy == 0 || roomy == len(s.Choices(0)) {
			t.Errorf("%s: %d of %d choices have room: nothing is tested", name, roomy, len(s.Choices(0)))
		}
	}
}
