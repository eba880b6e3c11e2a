package trend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"shadedrill/scoring"
)

// runs is how many simulated records each coverage is measured on. The binomial error
// of a coverage of 95 % is 0.7 points in 1,000 runs, 0.15 in 20,000.
func runs() int {
	if os.Getenv("SHADEDRILL_HEAVY") == "1" {
		return 20_000
	}
	return 1_000
}

// coverage is the share of simulated records whose interval contains the truth.
func coverage(seed uint64, truth float64, draw func(*rand.Rand) scoring.Estimate) float64 {
	rng := rand.New(rand.NewPCG(seed, 2026))
	hit := 0
	for range runs() {
		if draw(rng).Covers(truth) {
			hit++
		}
	}
	return float64(hit) / float64(runs())
}

// within fails when a measured coverage lies outside lo to hi by more than one standard
// error of the measurement itself.
func within(t *testing.T, what string, got, lo, hi float64) {
	t.Helper()
	chance := math.Sqrt(0.95 * 0.05 / float64(runs()))
	lo, hi = lo-chance, hi+chance
	t.Logf("%-48s %.1f %%", what, 100*got)
	if got < lo || got > hi {
		t.Errorf("%s: covers %.1f %%, want %.1f to %.1f %%", what, 100*got, 100*lo, 100*hi)
	}
}

type shape struct {
	name   string
	median float64
	mean   float64
	draw   func(*rand.Rand) float64
}

var shapes = []shape{
	{"normal", 0, 0, (*rand.Rand).NormFloat64},
	{"exponential", math.Ln2, 1, (*rand.Rand).ExpFloat64},
	{"log-normal", 1, math.Exp(0.125), func(r *rand.Rand) float64 { return math.Exp(0.5 * r.NormFloat64()) }},
	{"uniform", 0.5, 0.5, (*rand.Rand).Float64},
}

func sample(r *rand.Rand, n int, draw func(*rand.Rand) float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = draw(r)
	}
	return x
}

func TestCoverageOfBias(t *testing.T) {
	for _, s := range shapes {
		for _, n := range []int{3, 6, 10, 30, 60, 100} {
			got := coverage(uint64(n), s.mean, func(r *rand.Rand) scoring.Estimate { return Bias(sample(r, n, s.draw), level) })
			lo := 0.93
			switch { // said in the comment of Bias
			case s.name == "exponential", s.name == "log-normal" && n <= 30:
				lo = 0.86
			case s.name == "uniform" && n == 3:
				lo = 0.91
			}
			within(t, fmt.Sprintf("bias, %s, n = %d", s.name, n), got, lo, 0.97)
		}
	}
}

// sittings draws k sittings of one to twenty attempts about a person's bias of 1.
func sittings(r *rand.Rand, k int, between float64, lengths func(*rand.Rand) int) [][]float64 {
	out := make([][]float64, k)
	for i := range out {
		centre := 1 + between*r.NormFloat64()
		for range lengths(r) {
			out[i] = append(out[i], centre+r.NormFloat64())
		}
	}
	return out
}

func TestCoverageOfBiasOverSittings(t *testing.T) {
	upToTwenty := func(r *rand.Rand) int { return 1 + r.IntN(20) }
	brokenOff := func(r *rand.Rand) int { // mostly 20, sometimes a single attempt
		if r.IntN(4) == 0 {
			return 1
		}
		return 20
	}
	for name, lengths := range map[string]func(*rand.Rand) int{"1 to 20": upToTwenty, "20 or 1": brokenOff} {
		for _, between := range []float64{0, 0.3, 1, 2} {
			for _, k := range []int{2, 3, 5, 10, 20} {
				got := coverage(uint64(k), 1, func(r *rand.Rand) scoring.Estimate {
					return biasOverSittings(sittings(r, k, between, lengths), level)
				})
				lo := 0.93
				if name == "20 or 1" && k <= 5 {
					lo = 0.905 // said in the comment of BiasOverSittings
				}
				within(t, fmt.Sprintf("bias, %d sittings of %s, σ between %g", k, name, between), got, lo, 0.97)
			}
		}
	}
	naive := coverage(1, 1, func(r *rand.Rand) scoring.Estimate {
		var all []float64
		for _, s := range sittings(r, 10, 1, func(*rand.Rand) int { return 20 }) {
			all = append(all, s...)
		}
		return Bias(all, level)
	})
	t.Logf("same attempts taken as independent: %.1f %%", 100*naive)
	if naive > 0.6 {
		t.Errorf("ignoring sittings covers %.1f %%: the simulation has lost its sittings", 100*naive)
	}
}

func TestCoverageOfMedian(t *testing.T) {
	for _, s := range shapes {
		for _, n := range []int{6, 7, 8, 9, 10, 12, 15, 20, 50, 200} {
			got := coverage(uint64(n), s.median, func(r *rand.Rand) scoring.Estimate { return Median(sample(r, n, s.draw), level) })
			within(t, fmt.Sprintf("median, %s, n = %d", s.name, n), got, 0.93, 0.97)
		}
	}
}

// Wilson's coverage needs no simulation: it is a sum over the binomial.
func TestCoverageOfShare(t *testing.T) {
	for _, n := range []int{5, 8, 10, 16, 20, 32, 50, 100} {
		intervals := make([]scoring.Estimate, n+1)
		for k := range intervals {
			intervals[k] = Share(k, n, level)
		}
		var sum float64
		least, most, leastInside := 1.0, 0.0, 1.0
		const steps = 4000
		for i := 1; i < steps; i++ {
			p := float64(i) / steps
			covered := 0.0
			for k, e := range intervals {
				if e.Covers(p) {
					covered += binomial(n, k, p)
				}
			}
			sum += covered
			least, most = min(least, covered), max(most, covered)
			if p >= 0.1 && p <= 0.9 {
				leastInside = min(leastInside, covered)
			}
		}
		mean := sum / (steps - 1)
		t.Logf("share, n = %d: mean %.2f %%, %.1f to %.1f %%, at least %.1f %% for shares 0.1 to 0.9", n, 100*mean, 100*least, 100*most, 100*leastInside)
		if mean < 0.945 || mean > 0.96 {
			t.Errorf("n = %d: mean coverage %.2f %%", n, 100*mean)
		}
		if least < 0.82 || leastInside < 0.88 {
			t.Errorf("n = %d: coverage falls to %.1f %%, inside 0.1 to 0.9 to %.1f %%", n, 100*least, 100*leastInside)
		}
	}
}

func binomial(n, k int, p float64) float64 {
	logs := func(m int) float64 { l, _ := math.Lgamma(float64(m + 1)); return l }
	return math.Exp(logs(n) - logs(k) - logs(n-k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}

func TestCoverageOfTheilSen(t *testing.T) {
	for _, s := range shapes {
		for _, n := range []int{5, 6, 7, 8, 9, 10, 12, 15, 20, 50} {
			got := coverage(uint64(n), -0.2, func(r *rand.Rand) scoring.Estimate {
				y := sample(r, n, s.draw)
				for i := range y {
					y[i] -= 0.2 * float64(i)
				}
				return TheilSen(nil, y, level).Slope
			})
			hi := 0.975
			if n < 7 {
				hi = 0.99 // said in the comment of TheilSen
			}
			within(t, fmt.Sprintf("slope, %s, n = %d", s.name, n), got, 0.93, hi)
		}
	}
}

// Several attempts share one time.
func TestCoverageOfTheilSenAtTiedTimes(t *testing.T) {
	got := coverage(3, 0.1, func(r *rand.Rand) scoring.Estimate {
		var x, y []float64
		for week := range 8 {
			for range 1 + r.IntN(4) {
				x = append(x, float64(week))
				y = append(y, 0.1*float64(week)+r.ExpFloat64())
			}
		}
		return TheilSen(x, y, level).Slope
	})
	within(t, "slope, tied times", got, 0.93, 0.97)
}

func TestCoverageOfCurrentLevel(t *testing.T) {
	for _, n := range []int{3, 5, 10, 30} {
		for _, lambda := range []float64{0.1, 0.3} {
			got := coverage(uint64(n), 0, func(r *rand.Rand) scoring.Estimate {
				return CurrentLevel(sample(r, n, (*rand.Rand).NormFloat64), lambda, level)
			})
			within(t, fmt.Sprintf("current level, λ %g, n = %d", lambda, n), got, 0.93, 0.97)
		}
	}
}

func TestCoverageOfLearningRate(t *testing.T) {
	for _, n := range []int{4, 8, 16, 40} {
		got := coverage(uint64(n), 0.8, func(r *rand.Rand) scoring.Estimate {
			y := make([]float64, n)
			for i := range y {
				y[i] = 4 * math.Pow(0.8, math.Log2(float64(i+1))) * math.Exp(0.2*r.NormFloat64())
			}
			return LearningRate(nil, y, level).PerDoubling
		})
		within(t, fmt.Sprintf("learning rate, n = %d", n), got, 0.93, 0.97)
	}
}

// The mean of skewed errors, for which Student's t covers too little.
func TestCoverageOfBootstrapT(t *testing.T) {
	for _, n := range []int{10, 30} {
		got := coverage(uint64(n), 1, func(r *rand.Rand) scoring.Estimate {
			x := sample(r, n, (*rand.Rand).ExpFloat64)
			return BootstrapT(n, 500, r, meanWithError(x), level)
		})
		within(t, fmt.Sprintf("studentised, exponential mean, n = %d", n), got, 0.93, 0.97)
	}
}

// meanWithError is the mean of the picked values and its standard error.
func meanWithError(x []float64) WithError {
	return func(pick []int) (float64, float64) {
		var sum, squares float64
		for _, i := range pick {
			sum += x[i]
			squares += x[i] * x[i]
		}
		m := float64(len(pick))
		return sum / m, math.Sqrt(math.Max(0, squares-sum*sum/m)) / m
	}
}
