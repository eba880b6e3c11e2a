package design

import (
	"math"
	"math/rand/v2"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// plan is a regular one, before any search.
func plan(pitch float64) *field {
	b := Brief{Groups: 12, Tabs: 110, End: 0.45, Columns: 4}
	f := newField(tabs.Teeth, b.Groups, start(tabs.Teeth, b), pitch)
	f.link()
	return f
}

// A descent brings the worst colour nearer, by a full measurement of its outcome
// in package tabs and not only by its own.
func TestDescentHelps(t *testing.T) {
	farthest := func(f *field) float64 {
		groups := make([]tabs.Group, len(f.groups))
		for _, d := range f.dots {
			groups[d.group].Tabs = append(groups[d.group].Tabs, tabs.Tab{Name: d.at.String(), Lab: d.lab})
		}
		var worst float64
		for i, c := range f.labs {
			best := math.Inf(1)
			for _, g := range groups {
				for k, x := range g.Tabs {
					best = min(best, colour.DeltaE00(c, x.Lab))
					for _, y := range g.Tabs[k+1:] {
						middle := x.Lab.Mix(y.Lab, 0.5)
						reach := min(colour.DeltaE00(middle, x.Lab), colour.DeltaE00(middle, y.Lab))
						linked := true
						for _, z := range g.Tabs {
							linked = linked && (z == x || z == y || colour.DeltaE00(middle, z.Lab) >= reach)
						}
						if linked {
							best = min(best, colour.DeltaE00(c, middle))
						}
					}
				}
			}
			if math.Abs(best-f.far[i]) > 0.01*best {
				t.Fatalf("colour %d lies %.4f from its nearest answer, the field says %.4f", i, best, f.far[i])
			}
			worst = max(worst, best)
		}
		return worst
	}
	f := plan(2)
	f.width = hardest
	f.measure()
	before := farthest(f)
	f.descend(descent{steps: 150, wide: 0.3, narrow: 0.05, stepFirst: 0.03, stepLast: 0.005})
	if after := farthest(f); after > before-0.2 {
		t.Errorf("the worst colour went from %.3f to %.3f", before, after)
	}
}

// After moves, kept or taken back, a settling still knows every colour's true
// distance, and no move has made the plan dearer.
func TestSettlingKeepsAccount(t *testing.T) {
	f := plan(2)
	s := newSettling(f, 2.2)
	s.tau, s.gain, s.findPeaks = 0.05, 0.02, true
	rng := rand.New(rand.NewPCG(7, 7))
	before, _, at := s.cost()
	moved := 0
	for _, k := range rng.Perm(len(s.spots()))[:20] {
		x := s.spots()[k]
		if s.improve(x.g, x.q) {
			moved++
		}
	}
	s.kick(at, rng)
	known := len(s.labs)
	after, _, _ := s.cost()
	if moved == 0 || after >= before {
		t.Errorf("%d moves took the cost from %.3f to %.3f", moved, before, after)
	}
	if known == s.grid {
		t.Error("no peak between the colours of the grid was found")
	}
	l, err := s.library("test")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(l, nil)
	for i, c := range s.labs {
		e := sheet.Best(c).E
		// Of a group near the limit of its reach some answers are overlooked: a distance
		// may be said too large there, never too small.
		d := s.without(-1, int32(i))
		if d < e*0.995 || d > e*1.005 && e < s.outOf-2*flatness {
			t.Fatalf("%v lies %.4f from its best answer, the settling says %.4f", c.LCh(), e, d)
		}
	}
}

// A climb ends where its surroundings are lower.
func TestClimbEndsOnAPeak(t *testing.T) {
	top := newPlace(colour.LCh{L: 75, C: 18, H: 88}.Lab())
	peak, height := climb(tabs.Teeth, colour.LCh{L: 74, C: 17, H: 86}.Lab(), 0.16, 0.005, func(p *place) float64 {
		return 5 - math.Sqrt(p.distance2(&top, math.Inf(1)))
	})
	if e := colour.DeltaE00(peak, colour.LCh{L: 75, C: 18, H: 88}.Lab()); e > 0.02 || height < 4.98 {
		t.Errorf("ended %.3f from the peak, at %.3f of 5", e, height)
	}
	// The top of a slope that leads out of the region is its border.
	peak, _ = climb(tabs.Teeth, colour.LCh{L: 60, C: 18, H: 88}.Lab(), 0.16, 0.005, func(p *place) float64 { return -p.v })
	if l := peak.LCh().L; math.Abs(l-tabs.Teeth.Darkest) > 1e-6 {
		t.Errorf("ended at L* %.3f, the darkest is %.0f", l, tabs.Teeth.Darkest)
	}
}

// The quick distance is that of the formula, between neighbours as the search asks
// for them.
func TestQuickDistance(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 20000 {
		x := tabs.Teeth.Sample(rng)
		y := colour.Lab{L: x.L + 4*rng.Float64() - 2, A: x.A + 4*rng.Float64() - 2, B: x.B + 4*rng.Float64() - 2}
		p, q := newPlace(x), newPlace(y)
		want := colour.DeltaE00(x, y)
		if got := math.Sqrt(p.distance2(&q, 25)); math.Abs(got-want) > 0.003*want+0.001 {
			t.Fatalf("%v to %v: %.4f instead of %.4f", x.LCh(), y.LCh(), got, want)
		}
	}
}
