package observer

import (
	"math"
	"math/rand/v2"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

func TestShiftHitsTheWantedParts(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		c := tabs.Teeth.Sample(rng)
		dL, dC, dH := 8*rng.Float64()-4, 8*rng.Float64()-4, 4*rng.Float64()-2
		if colour.LCh.HasHue(c.LCh()) && dC < -1.5 && c.Chroma() < 10 {
			dC = -dC // a weak chroma cannot lose four steps
		}
		d := colour.Compare(c, Shift(c, dL, dC, dH), colour.Unit)
		if miss := max(math.Abs(d.L-dL), math.Abs(d.C-dC), math.Abs(d.H-dH)); miss > 1e-6 {
			t.Fatalf("from %v by %.3f %.3f %.3f: got %.6f %.6f %.6f", c.LCh(), dL, dC, dH, d.L, d.C, d.H)
		}
	}
}

func TestShiftOfNothingStays(t *testing.T) {
	c := colour.Lab{L: 75, A: 2, B: 20}
	if got := Shift(c, 0, 0, 0); got != c {
		t.Errorf("moved by nothing to %v", got)
	}
}

// What Perceive adds is the observer's own bias and scatter along each part.
func TestPerceiveIsBiasedAndScattersAsTold(t *testing.T) {
	const n = 20000
	who := Observer{BiasL: 0.7, BiasC: -0.5, BiasH: 0.3, Noise: 0.6}
	rng := rand.New(rand.NewPCG(3, 4))
	c := colour.Lab{L: 75, A: 2, B: 20}
	var sum, square [3]float64
	for range n {
		d := colour.Compare(c, who.Perceive(c, rng), colour.Unit)
		for i, x := range []float64{d.L, d.C, d.H} {
			sum[i] += x
			square[i] += x * x
		}
	}
	for i, bias := range []float64{who.BiasL, who.BiasC, who.BiasH} {
		mean := sum[i] / n
		sd := math.Sqrt(square[i]/n - mean*mean)
		if math.Abs(mean-bias) > 4*who.Noise/math.Sqrt(n) || math.Abs(sd-who.Noise) > 0.02 {
			t.Errorf("part %d: mean %.3f and sd %.3f instead of %.3f and %.3f", i, mean, sd, bias, who.Noise)
		}
	}
}
