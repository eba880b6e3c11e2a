package design

import (
	"fmt"
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

// sheetOf shows tabs under names that are their own.
func sheetOf(t *testing.T, of [][]colour.SRGB) *tabs.Sheet {
	t.Helper()
	var groups []tabs.Group
	for g, bytes := range of {
		groups = append(groups, tabs.Group{Name: fmt.Sprint("group ", g)})
		for q, b := range bytes {
			groups[g].Tabs = append(groups[g].Tabs, tabs.Tab{Name: fmt.Sprint(g, " ", q), Lab: b.Lab()})
		}
	}
	l, err := tabs.New("test", "", groups)
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// After moves that stood and moves that did not, an annealing still knows what may be
// said and how far every colour is from it; and no colour is far that it does not
// watch.
func TestAnnealingKeepsAccount(t *testing.T) {
	f := plan(2)
	f.follow()
	w := newWatch(newAnswers(tabs.Teeth, f.rounded()), 0.6, 2.2)
	w.setPrice(0.05)
	before, at := w.total, w.bytes()
	rng := rand.New(rand.NewPCG(7, 7))
	w.round(3*renew, 20, rng)
	if w.total >= before {
		t.Errorf("the price went from %.3f to %.3f", before, w.total)
	}
	if moved := 0; true {
		for g, of := range w.bytes() {
			for q := range of {
				if of[q] != at[g][q] {
					moved++
				}
			}
		}
		if moved < 20 {
			t.Errorf("%d tabs have moved", moved)
		}
	}
	if len(w.labs) == w.grid {
		t.Error("no peak between the colours of the grid was found")
	}
	sheet := sheetOf(t, w.bytes())
	for i, c := range w.labs {
		if e := min(sheet.Best(c).E, w.reach); math.Abs(e-w.d[i]) > 1e-9 {
			t.Fatalf("%v lies %.6f from its best answer, the annealing says %.6f", c.LCh(), e, w.d[i])
		}
	}
	sum := w.total
	if w.sum(); math.Abs(sum-w.total) > 1e-6*w.total {
		t.Errorf("the prices come to %.6f, the annealing says %.6f", w.total, sum)
	}
	for i, c := range w.whole {
		if e := sheet.Best(c).E; !w.in[i] && e > w.unseen*1.004 {
			t.Errorf("%v lies %.3f from its best answer and is not watched, as far as %.3f", c.LCh(), e, w.unseen)
		}
	}
	for _, g := range sheet.Groups() {
		lightest, darkest := math.Inf(-1), math.Inf(1)
		for _, k := range g.Tabs {
			v := valueOf(sheet.Lab(k).L)
			lightest, darkest = max(lightest, v), min(darkest, v)
			if !tabs.Teeth.Contains(sheet.Lab(k)) {
				t.Errorf("%v is no colour of teeth", sheet.Lab(k).LCh())
			}
		}
		if lightest-darkest > flat || len(g.Columns) > columns {
			t.Errorf("%s spans %.2f in lightness, in %d columns", g.Name, lightest-darkest, len(g.Columns))
		}
	}
}

// An annealing brings the farthest colour nearer, by the search of package tabs, and
// repairs make the rest cheaper.
func TestAnnealingHelps(t *testing.T) {
	f := plan(2)
	f.follow()
	farthest := func(groups [][]colour.SRGB) float64 {
		_, far := sheetOf(t, groups).Farthest(tabs.Teeth, 0.01)
		return far
	}
	groups := f.rounded()
	before := farthest(groups)
	rng := rand.New(rand.NewPCG(8, 8))
	w := newWatch(newAnswers(tabs.Teeth, groups), 0.6, 2.2)
	w.anneal(annealing{rounds: 3, moves: 1500, wide: 0.04, narrow: 0.02, lax: 100, strict: 1000}, rng)
	annealed := farthest(w.bytes())
	if annealed > before-0.2 || math.Abs(annealed-w.worst()) > 0.02 {
		t.Errorf("the farthest colour went from %.3f to %.3f, the annealing says %.3f", before, annealed, w.worst())
	}
	w.setPrice(0.04)
	before = w.total
	for range 20 {
		w.repair(mending{moves: 300, lax: 15, strict: 500}, rng)
	}
	if w.total > before*0.8 {
		t.Errorf("repairs took the price from %.2f to %.2f", before, w.total)
	}
}

// A climb ends where its surroundings are lower.
func TestClimbEndsOnAPeak(t *testing.T) {
	top := newPlace(colour.LCh{L: 75, C: 18, H: 88}.Lab())
	peak, height := climb(tabs.Teeth, colour.LCh{L: 74, C: 17, H: 86}.Lab(), 0.16, 0.005, waysOut, func(_ colour.Lab, p *place) float64 {
		return 5 - math.Sqrt(p.distance2(&top, math.Inf(1)))
	})
	if e := colour.DeltaE00(peak, colour.LCh{L: 75, C: 18, H: 88}.Lab()); e > 0.02 || height < 4.98 {
		t.Errorf("ended %.3f from the peak, at %.3f of 5", e, height)
	}
	// The top of a slope that leads out of the region is its border.
	peak, _ = climb(tabs.Teeth, colour.LCh{L: 60, C: 18, H: 88}.Lab(), 0.16, 0.005, waysOut, func(_ colour.Lab, p *place) float64 { return -p.v })
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
