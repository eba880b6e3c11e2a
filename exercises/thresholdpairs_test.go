package exercises

import (
	"math"
	"math/rand/v2"
	"testing"

	"shadedrill/colour"
)

func TestThresholdPairsAreWhatTheySay(t *testing.T) {
	for i, track := range tracks {
		pairs := pairsOf()[i]
		t.Logf("%s: %d pairs, smallest %.3f, levels up to 1: %v", track.attribute, len(pairs), pairs[0].E, upTo(pairs, 1))
		if len(pairs) < 60 {
			t.Errorf("%s: only %d pairs can be shown", track.attribute, len(pairs))
		}
		for _, p := range pairs {
			d := colour.Compare(p.Standard.Lab(), p.Sample.Lab(), colour.Unit)
			if math.Abs(d.E-p.E) > 1e-9 {
				t.Errorf("%s: pair %v–%v says %.4f, is %.4f", track.attribute, p.Standard, p.Sample, p.E, d.E)
			}
			own := [3]float64{d.L, d.C, d.H}[i]
			if share := own * own / (d.E * d.E); share < 0.88 {
				t.Errorf("%s: only %.0f %% of pair %v–%v lies along it", track.attribute, 100*share, p.Standard, p.Sample)
			}
		}
	}
}

func TestThresholdPairAtALevel(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range tracks {
		pairs := pairsOf()[i]
		for _, p := range pairs {
			level := p.E
			if got := pairs.around(level, rng); math.Abs(got.E-level) > levelTolerance {
				t.Errorf("asked for %.3f, got %.3f", level, got.E)
			}
		}
		for _, level := range []float64{0, 0.1, 100} {
			pairs.around(level, rng) // out of range: the nearest, no panic
		}
		if got := pairs.around(100, rng); got.E != pairs[len(pairs)-1].E {
			t.Errorf("beyond the largest: got %.3f", got.E)
		}
		if got := pairs.around(0, rng); got.E != pairs[0].E {
			t.Errorf("below the smallest: got %.3f", got.E)
		}
	}
}

func upTo(pairs thresholdPairs, limit float64) []float64 {
	var list []float64
	for _, p := range pairs {
		if p.E <= limit {
			list = append(list, math.Round(p.E*1000)/1000)
		}
	}
	return list
}
