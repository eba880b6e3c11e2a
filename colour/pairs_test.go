package colour

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// toothSample draws displayable tooth colours: L* 55–90, C* 5–35, h 75–105°.
func toothSample(random *rand.Rand, n int) (colours []SRGB) {
	for len(colours) < n {
		lab := LCh{55 + 35*random.Float64(), 5 + 30*random.Float64(), 75 + 30*random.Float64()}.Lab()
		if shown, fits := lab.SRGB(); fits {
			colours = append(colours, shown)
		}
	}
	return colours
}

// The short list and the small neighbourhood must not cost anything worth
// speaking of against looking at everything within six codes.
func TestAroundFindsTheBest(t *testing.T) {
	random := rand.New(rand.NewPCG(21, 4))
	for _, standard := range toothSample(random, 40) {
		d := Direction{random.NormFloat64(), random.NormFloat64(), random.NormFloat64()}.unit()
		if random.IntN(2) == 0 {
			d = PureDirections[random.IntN(6)]
		}
		e := 0.3 + 3*random.Float64()
		got := Around(standard, e, d)
		target, _ := Step(standard.Lab(), e, d)
		middle, fits := target.SRGB()
		if !fits {
			continue // nothing near the wish can be shown
		}
		best := math.Inf(1)
		for sample := range neighbours(middle, 6) {
			p := Pair{Difference: Compare(standard.Lab(), sample.Lab(), Unit)}
			best = min(best, p.missFrom(e, d))
		}
		if got.Miss > best+1e-3 {
			t.Errorf("%s, %.2f towards %v: missed by %.4f, %.4f was possible", standard.Hex(), e, d, got.Miss, best)
		}
	}
}

func TestAPairTellsTheTruth(t *testing.T) {
	random := rand.New(rand.NewPCG(2, 9))
	for _, standard := range toothSample(random, 50) {
		d := PureDirections[random.IntN(6)]
		wished := standard.Lab()
		for _, p := range []Pair{Around(standard, 1.8, d), Between(wished, 1.8, d, 2)} {
			truth := Compare(p.Standard.Lab(), p.Sample.Lab(), Unit)
			if p.Difference != truth {
				t.Fatalf("%s: said %+v, the bytes differ by %+v", standard.Hex(), p.Difference, truth)
			}
			near(t, "size error", p.SizeError, truth.E-1.8, 1e-12)
			near(t, "angle", p.Angle, truth.Direction().Angle(d), 1e-12)
			if stray := DeltaE00(wished, p.Standard.Lab()); stray > 2 {
				t.Errorf("the standard strayed by %.2f, allowed were 2", stray)
			}
		}
		if a, b := Between(wished, 0.8, d, 4), Between(wished, 0.8, d, 4); a != b {
			t.Fatalf("the same wish gave %+v and %+v", a, b)
		}
	}
}

// What can be shown, measured over 30 tooth colours and the six pure
// directions: at 0.8 ΔE00 the best sample around a fixed standard is within 5 %
// of the size and 10° of the direction for under a quarter of wishes; roaming
// 4 ΔE00 with the standard that rises well above half, and at 1.8 to nearly all.
func TestWhatAScreenCanShow(t *testing.T) {
	share := func(e, roam float64) float64 {
		random := rand.New(rand.NewPCG(5, 6))
		hits, n := 0, 0
		for _, standard := range toothSample(random, 30) {
			for _, d := range PureDirections {
				p := Between(standard.Lab(), e, d, roam)
				if math.Abs(p.SizeError) <= 0.05*e && p.Angle <= 10 {
					hits++
				}
				n++
			}
		}
		return float64(hits) / float64(n)
	}
	for _, c := range []struct{ e, roam, lo, hi float64 }{
		{0.8, 0, 0.05, 0.3}, {0.8, 4, 0.6, 0.9}, {1.8, 0, 0.5, 0.75}, {1.8, 4, 0.97, 1},
	} {
		got := share(c.e, c.roam)
		t.Logf("%.1f ΔE00, standard roaming %.0f: %.0f %% within 5 %% and 10°", c.e, c.roam, 100*got)
		if got < c.lo || got > c.hi {
			t.Errorf("share %.2f outside %.2f–%.2f", got, c.lo, c.hi)
		}
	}
}

func TestEdgesOfTheGamut(t *testing.T) {
	for _, standard := range []SRGB{{}, {255, 255, 255}, {255, 0, 0}, {0, 0, 255}, Grey(128), {255, 255, 254}} {
		for _, d := range PureDirections {
			if p := Around(standard, 2, d); math.IsNaN(p.E) || math.IsNaN(p.Miss) || p.Standard != standard {
				t.Errorf("%s towards %v: %+v", standard.Hex(), d, p)
			}
		}
		if len(Displayable(standard, 1.5).Pairs) == 0 {
			t.Errorf("nothing can be shown around %s", standard.Hex())
		}
	}
	white := Around(SRGB{255, 255, 255}, 2, Lighter)
	if white.Sample != white.Standard || !math.IsNaN(white.Angle) || white.Miss != 2 {
		t.Errorf("lighter than white: %+v", white)
	}
}

func TestDisplayableIsComplete(t *testing.T) {
	for _, standard := range []SRGB{{202, 182, 148}, {250, 244, 230}} {
		const maxE = 2
		lab := standard.Lab()
		var want []SRGB
		for sample := range neighbours(standard, 24) {
			if sample != standard && DeltaE00(lab, sample.Lab()) <= maxE {
				want = append(want, sample)
			}
		}
		got := Displayable(standard, maxE)
		if len(got.Pairs) != len(want) {
			t.Fatalf("%s: %d pairs, a search of the whole box finds %d", standard.Hex(), len(got.Pairs), len(want))
		}
		have := map[SRGB]bool{}
		for i, p := range got.Pairs {
			have[p.Sample] = true
			if i > 0 && p.E < got.Pairs[i-1].E {
				t.Fatalf("%s: pair %d is out of order", standard.Hex(), i)
			}
		}
		if i := slices.IndexFunc(want, func(s SRGB) bool { return !have[s] }); i >= 0 {
			t.Errorf("%s: %v is missing", standard.Hex(), want[i])
		}
	}
}

// The smallest step in tooth colours is 0.20–0.37 ΔE00 (measured before by
// another program).
func TestSmallestStep(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 8))
	for _, standard := range toothSample(random, 40) {
		s := Displayable(standard, 1)
		if e, ok := s.SmallestStep(); !ok || e < 0.19 || e > 0.38 {
			t.Errorf("%s: smallest step %.3f, %v", standard.Hex(), e, ok)
		}
		for _, d := range PureDirections {
			for _, p := range s.Along(d, 12) {
				if !(p.Direction().Angle(d) <= 12) || p.Angle != p.Direction().Angle(d) {
					t.Errorf("%s: %+v does not lie along %v", standard.Hex(), p, d)
				}
			}
		}
	}
	if e, ok := Displayable(SRGB{202, 182, 148}, 0.01).SmallestStep(); ok {
		t.Errorf("a step of %g is said to lie within 0.01", e)
	}
}

func BenchmarkPairs(b *testing.B) {
	standard, lab := SRGB{202, 182, 148}, Lab{75, 2, 20}
	b.Run("Around", func(b *testing.B) {
		for b.Loop() {
			Around(standard, 0.8, MoreChroma)
		}
	})
	b.Run("Between", func(b *testing.B) {
		for b.Loop() {
			Between(lab, 0.8, MoreChroma, 4)
		}
	})
	b.Run("Displayable", func(b *testing.B) {
		for b.Loop() {
			Displayable(standard, 3)
		}
	})
}
