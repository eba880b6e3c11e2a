package trend

import (
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"shadedrill/scoring"
)

// answersOf draws answers of a person with a bias, a limit and a scatter to
// differences between −3 and +3.
func answersOf(r *rand.Rand, n int, bias, limit, scatter float64) (shown []float64, said []int) {
	for range n {
		x := 6*r.Float64() - 3
		shown = append(shown, x)
		switch seen := x + bias + scatter*r.NormFloat64(); {
		case seen > limit:
			said = append(said, 1)
		case seen < -limit:
			said = append(said, -1)
		default:
			said = append(said, 0)
		}
	}
	return shown, said
}

func TestDirectionBiasFindsTheBias(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 4))
	for _, c := range []struct{ bias, limit, scatter float64 }{
		{0, 0.8, 0.6}, {1, 0.8, 0.6}, {-1.5, 0.8, 0.3}, {0.5, 1.6, 1.2}, {0.3, 0.3, 0.2},
	} {
		shown, said := answersOf(r, 3000, c.bias, c.limit, c.scatter)
		e := DirectionBias(shown, said, level)
		if math.Abs(e.Value-c.bias) > 0.1 || e.Hi-e.Lo > 0.25 || !(e.Lo < e.Value && e.Value < e.Hi) {
			t.Errorf("%+v: %.3f (%.3f to %.3f)", c, e.Value, e.Lo, e.Hi)
		}
		// In a mirror the bias is the other way.
		for i := range shown {
			shown[i], said[i] = -shown[i], -said[i]
		}
		if m := DirectionBias(shown, said, level); math.Abs(m.Value+e.Value) > 0.01 || math.Abs(m.Lo+e.Hi) > 0.01 {
			t.Errorf("%+v: %.3f (%.3f to %.3f), in the mirror %.3f (%.3f to %.3f)", c, e.Value, e.Lo, e.Hi, m.Value, m.Lo, m.Hi)
		}
	}
}

func TestCoverageOfDirectionBias(t *testing.T) {
	n := 40
	if os.Getenv("SHADEDRILL_HEAVY") == "1" {
		n = 2000
	}
	for _, c := range []struct {
		answers              int
		bias, limit, scatter float64
	}{{20, 0, 0.8, 0.6}, {40, 1, 0.8, 0.7}, {60, -0.8, 0.8, 1.2}, {100, 0.5, 1.4, 0.4}} {
		r := rand.New(rand.NewPCG(7, uint64(c.answers)))
		hit := 0
		for range n {
			shown, said := answersOf(r, c.answers, c.bias, c.limit, c.scatter)
			if DirectionBias(shown, said, level).Covers(c.bias) {
				hit++
			}
		}
		got, lo := float64(hit)/float64(n), 0.93
		if n < 1000 {
			lo = 0.95 - 3.3*math.Sqrt(0.95*0.05/float64(n))
		}
		t.Logf("%+v: covers %.1f %% of %d", c, 100*got, n)
		if got < lo || n > 1000 && got > 0.97 {
			t.Errorf("%+v: covers %.1f %% of %d", c, 100*got, n)
		}
	}
}

// What cannot be told is said in words; answers in perfect order give a number all
// the same.
func TestDirectionBiasOfLittle(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	shown, said := answersOf(r, 40, 0, 0.8, 0)
	if e := DirectionBias(shown, said, level); !e.HasInterval() || !e.Covers(0) || math.Abs(e.Value) > 0.5 || e.Hi-e.Lo > 2 {
		t.Errorf("in perfect order: %.2f (%.2f to %.2f) %v", e.Value, e.Lo, e.Hi, e.Warnings)
	}
	always := make([]int, 40)
	for name, c := range map[string]struct {
		e    scoring.Estimate
		says string
	}{
		"none":       {DirectionBias(nil, nil, level), "no attempts"},
		"few":        {DirectionBias(shown[:19], said[:19], level), "needs at least 20"},
		"one answer": {DirectionBias(shown, always, level), "the same answer"},
		"unequal":    {DirectionBias(shown, said[:3], level), "40 differences and 3 answers"},
		"odd":        {DirectionBias([]float64{math.NaN()}, []int{1}, level), "not a finite number"},
	} {
		if c.e.Defined() || len(c.e.Warnings) == 0 || !strings.Contains(c.e.Warnings[0], c.says) {
			t.Errorf("%s: %+v", name, c.e)
		}
	}
	// Nothing but differences that everybody tells: the bias is bounded by them, or said not
	// to be.
	for i := range shown {
		shown[i] = math.Copysign(5, shown[i])
		said[i] = int(math.Copysign(1, shown[i]))
	}
	if e := DirectionBias(shown, said, level); e.Defined() && !e.Covers(0) {
		t.Errorf("plain to everybody: %.2f (%.2f to %.2f)", e.Value, e.Lo, e.Hi)
	}
}

func BenchmarkDirectionBias(b *testing.B) {
	shown, said := answersOf(rand.New(rand.NewPCG(3, 4)), 60, 0.5, 0.8, 0.6)
	for b.Loop() {
		DirectionBias(shown, said, level)
	}
}
