package colour

import (
	"math"
	"math/rand/v2"
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
			d = pureDirections[random.IntN(6)]
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
		d := pureDirections[random.IntN(6)]
		p := Around(standard, 1.8, d)
		truth := Compare(p.Standard.Lab(), p.Sample.Lab(), Unit)
		if p.Standard != standard || p.Difference != truth {
			t.Fatalf("%s: said %+v, the bytes differ by %+v", standard.Hex(), p.Difference, truth)
		}
		near(t, "size error", p.SizeError, truth.E-1.8, 1e-12)
		near(t, "angle", p.Angle, truth.Direction().Angle(d), 1e-12)
		if again := Around(standard, 1.8, d); again != p {
			t.Fatalf("the same wish gave %+v and %+v", p, again)
		}
	}
}

// What can be shown, measured over 30 tooth colours and the six pure directions:
// at 0.8 ΔE00 the best sample around a standard is within 5 % of the size and 10° of
// the direction for under a quarter of wishes, at 1.8 for more than half.
func TestWhatAScreenCanShow(t *testing.T) {
	share := func(e float64) float64 {
		random := rand.New(rand.NewPCG(5, 6))
		hits, n := 0, 0
		for _, standard := range toothSample(random, 30) {
			for _, d := range pureDirections {
				if p := Around(standard, e, d); math.Abs(p.SizeError) <= 0.05*e && p.Angle <= 10 {
					hits++
				}
				n++
			}
		}
		return float64(hits) / float64(n)
	}
	for _, c := range []struct{ e, lo, hi float64 }{{0.8, 0.05, 0.3}, {1.8, 0.5, 0.75}} {
		got := share(c.e)
		t.Logf("%.1f ΔE00: %.0f %% within 5 %% and 10°", c.e, 100*got)
		if got < c.lo || got > c.hi {
			t.Errorf("share %.2f outside %.2f–%.2f", got, c.lo, c.hi)
		}
	}
}

func TestEdgesOfTheGamut(t *testing.T) {
	for _, standard := range []SRGB{{}, {255, 255, 255}, {255, 0, 0}, {0, 0, 255}, Grey(128), {255, 255, 254}} {
		for _, d := range pureDirections {
			if p := Around(standard, 2, d); math.IsNaN(p.E) || math.IsNaN(p.Miss) || p.Standard != standard {
				t.Errorf("%s towards %v: %+v", standard.Hex(), d, p)
			}
		}
	}
	white := Around(SRGB{255, 255, 255}, 2, Lighter)
	if white.Sample != white.Standard || !math.IsNaN(white.Angle) || white.Miss != 2 {
		t.Errorf("lighter than white: %+v", white)
	}
}

// The smallest step in tooth colours is 0.20–0.37 ΔE00 (measured before by
// another program).
func TestSmallestStep(t *testing.T) {
	random := rand.New(rand.NewPCG(8, 8))
	for _, standard := range toothSample(random, 40) {
		least := math.Inf(1)
		for sample := range neighbours(standard, 3) {
			if sample != standard {
				least = min(least, DeltaE00(standard.Lab(), sample.Lab()))
			}
		}
		if least < 0.19 || least > 0.38 {
			t.Errorf("%s: smallest step %.3f", standard.Hex(), least)
		}
	}
}

func BenchmarkAround(b *testing.B) {
	standard := SRGB{202, 182, 148}
	for b.Loop() {
		Around(standard, 0.8, MoreChroma)
	}
}
