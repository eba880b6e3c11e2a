package trend

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"shadedrill/scoring"
)

const level = 0.95

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

func nearInterval(t *testing.T, what string, e scoring.Estimate, lo, hi, tolerance float64) {
	t.Helper()
	if !e.HasInterval() {
		t.Errorf("%s has no interval: %v", what, e.Warnings)
		return
	}
	near(t, what+" lower end", e.Lo, lo, tolerance)
	near(t, what+" upper end", e.Hi, hi, tolerance)
}

// Computed with scipy.stats.theilslopes, R's trend::sens.slope and pyMannKendall,
// which agree; the data are invented.
func TestMannKendallAndTheilSen(t *testing.T) {
	for _, c := range []struct {
		name                           string
		y                              []float64
		s                              int64
		variance, z, p, tauA, tauB     float64
		slope, low, high, slopeAtStart float64
	}{
		{"falling ΔE by week", []float64{4.2, 3.9, 4.1, 3.5, 3.6, 3.1, 3.3, 2.8, 2.9, 2.5},
			-37, 125, -3.2199378876, .0012821838, -.8222222222, -.8222222222,
			-.1833333333, -.2285714, -.1500000, 4.225},
		{"with ties", []float64{5, 5, 4, 4, 4, 3, 3, 2, 3, 2, 2, 1},
			-54, 200.6666667, -3.7414354024, .0001829722, -.8181818, -.8882348,
			-.3333333333, -.4285714, -.2500000, math.NaN()},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := MannKendall(c.y)
			if m.S != c.s {
				t.Errorf("S = %d, want %d", m.S, c.s)
			}
			near(t, "var S", m.VarianceS, c.variance, 1e-6)
			near(t, "Z", m.Z, c.z, 1e-9)
			near(t, "p", m.P, c.p, 1e-9)
			near(t, "τ-a", m.TauA.Value, c.tauA, 1e-6)
			near(t, "τ-b", m.TauB.Value, c.tauB, 1e-6)
			line := TheilSen(nil, c.y, level)
			near(t, "slope", line.Slope.Value, c.slope, 1e-9)
			nearInterval(t, "slope", line.Slope, c.low, c.high, 1e-6)
			if !math.IsNaN(c.slopeAtStart) {
				near(t, "intercept", line.Intercept.Value, c.slopeAtStart, 1e-9)
			}
		})
	}
}

// Kendall's τ-b examples: the first from scipy.stats.kendalltau's documentation, the
// others counted by hand.
func TestTauB(t *testing.T) {
	swapped := []float64{1, 2, 4, 3, 5, 6, 7, 8, 9, 10}
	for _, c := range []struct {
		x, y []float64
		want float64
	}{
		{[]float64{12, 2, 1, 12, 2}, []float64{1, 4, 7, 1, 0}, -.4714045208},
		{[]float64{1, 2, 3, 4, 5}, []float64{3, 4, 1, 2, 5}, .2},
		{ordinals(10), swapped, .9555555556},
		{ordinals(5), []float64{5, 4, 3, 2, 1}, -1},
	} {
		near(t, "τ-b", Concord(c.x, c.y).TauB().Value, c.want, 1e-10)
	}
}

// Exact two-sided p of Kendall's test, R 4.2 cor.test(1:n, y, method = "kendall").
func TestExactP(t *testing.T) {
	for _, c := range []struct {
		y    []float64
		want float64
	}{
		{[]float64{1, 2, 3, 4, 5}, 0.0166666667},
		{[]float64{3, 4, 1, 2, 5}, 0.8166666667},
		{[]float64{2, 1, 3, 5, 4, 7, 6, 8}, 0.0055059524},
	} {
		near(t, "p", MannKendall(c.y).P, c.want, 1e-9)
	}
}

var nistEWMA = []float64{52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}

// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
func TestEWMAOfNIST(t *testing.T) {
	c, err := EWMA(nistEWMA, Baseline{Centre: 50, Sigma: 2.0539}, 0.3, 3)
	if err != nil {
		t.Fatal(err)
	}
	want := []float64{50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99}
	for i, p := range c.Points {
		near(t, "z", p.Value, want[i], 0.00501)
	}
	last := c.Points[len(c.Points)-1]
	near(t, "asymptotic upper limit", last.Upper, 52.5884, 1e-4)
	near(t, "asymptotic lower limit", last.Lower, 47.4115, 1e-4)
	near(t, "first upper limit", c.Points[0].Upper, 51.848510, 1e-6)
	near(t, "second upper limit", c.Points[1].Upper, 52.256394, 1e-6)
	if i := c.FirstSignal(); i != -1 {
		t.Errorf("signal at %d, NIST has none", i)
	}
}

// NIST/SEMATECH e-Handbook 6.3.2.3.
func TestCUSUMOfNIST(t *testing.T) {
	x := []float64{324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350}
	c, err := CUSUM(x, 325, .3175, 4.1959)
	if err != nil {
		t.Fatal(err)
	}
	high := []float64{0, 0, 0, 0, .03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04}
	low := []float64{0, .01, 0, .33, 0, 0, .56, .72, .17, .25, .31, 0}
	for i := range x {
		near(t, "S high", c.High[i], high[i], 0.00501)
		if i < len(low) {
			near(t, "S low", c.Low[i], low[i], 0.00501)
		}
	}
	if got := c.FirstSignal(); got != 13 {
		t.Errorf("first signal at group %d, NIST says 14", got+1)
	}
}

// NIST/SEMATECH e-Handbook 6.3.2.2.
func TestIndividualsOfNIST(t *testing.T) {
	x := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	b, err := BaselineOf(x)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "centre", b.Centre, 50.81, 1e-9)
	near(t, "mean moving range", b.Sigma*d2, 1.8778, 5e-5)
	c, err := Individuals(x, b, 3)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "upper limit", c.Points[0].Upper, 55.8041, 1e-4)
	near(t, "lower limit", c.Points[0].Lower, 45.8159, 1e-4)
	if i := c.FirstSignal(); i != -1 {
		t.Errorf("signal at %d, NIST has none", i)
	}
}

// Computed with NumPy's polyfit and SciPy's curve_fit on invented times; the last row
// is the exact 80 % curve.
func TestPowerLawOfPractice(t *testing.T) {
	times := []float64{10.0, 7.2, 6.1, 5.0, 4.6, 4.3, 3.9, 3.7}
	p := LearningRate(nil, times, level)
	near(t, "b", p.Exponent.Value, .4820950132, 1e-9)
	near(t, "a", p.Scale.Value, 10.0502746228, 1e-8)
	near(t, "r²", p.RSquared, .9973121255, 1e-9)
	near(t, "rate per doubling", p.PerDoubling.Value, .7159372, 1e-7)

	c := LearningCurve(nil, times, level)
	near(t, "nonlinear a", c.Scale.Value, 10.0272608061, 1e-6)
	near(t, "nonlinear b", c.Exponent.Value, .4798322980, 1e-7)
	q := studentQuantile(level, 6)
	near(t, "SE of a", (c.Scale.Hi-c.Scale.Lo)/2/q, .0934716, 1e-5)
	near(t, "SE of b", (c.Exponent.Hi-c.Exponent.Lo)/2/q, .0083807, 1e-6)

	exact := LearningRate(nil, []float64{10, 8, 7.0210371, 6.4}, level)
	near(t, "exact b", exact.Exponent.Value, .3219280949, 1e-7)
	near(t, "exact rate", exact.PerDoubling.Value, .8, 1e-7)
	doubled := LearningRate([]float64{1, 2, 4, 8}, []float64{10, 8, 6.4, 5.12}, level)
	near(t, "rate at 1, 2, 4, 8", doubled.PerDoubling.Value, .8, 1e-12)
}

func TestAllResamplesOfThree(t *testing.T) {
	x := []float64{1, 2, 4}
	r := BootstrapAll(3, func(pick []int) float64 {
		return (x[pick[0]] + x[pick[1]] + x[pick[2]]) / 3
	})
	near(t, "standard error", r.StandardError(), .7200822998, 1e-10)
	near(t, "standard error by formula", r.StandardError(), math.Sqrt(stat.PopVariance(x, nil)/3), 1e-12)
	nearInterval(t, "percentile", r.Percentile(level), 1.2166667, 3.5666667, 1e-6)
	near(t, "median of resamples", quantile(r.values, 0.5), 2.3333333, 1e-6)
	if len(r.values) != 27 {
		t.Errorf("%d resamples, want 27", len(r.values))
	}
}

// The law-school data of Efron & Tibshirani (1993); r, jackknife error and
// acceleration computed with NumPy, the intervals with 10⁶ resamples (±0.003).
func TestLawSchool(t *testing.T) {
	lsat := []float64{576, 635, 558, 578, 666, 580, 555, 661, 651, 605, 653, 575, 545, 572, 594}
	gpa := []float64{3.39, 3.30, 2.81, 3.03, 3.44, 3.07, 3.00, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96}
	r := Bootstrap(15, 20_000, rand.New(rand.NewPCG(15, 1993)), func(pick []int) float64 {
		x, y := make([]float64, len(pick)), make([]float64, len(pick))
		for k, i := range pick {
			x[k], y[k] = lsat[i], gpa[i]
		}
		return stat.Correlation(x, y, nil)
	})
	near(t, "r", r.Observed(), .7763744913, 1e-9)
	near(t, "jackknife error", r.JackknifeError(), .1425186186, 1e-9)
	near(t, "acceleration", r.Acceleration(), -.0756715649, 1e-9)
	near(t, "bootstrap error", r.StandardError(), .134, .003)
	nearInterval(t, "percentile", r.Percentile(level), .459, .962, .012)
	nearInterval(t, "BCa", r.BCa(level), .331, .942, .025)
}

// Computed with statsmodels' proportion_confint(method="wilson").
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		hits, n int
		lo, hi  float64
	}{
		{14, 16, .6398, .9650}, {12, 16, .5050, .8982}, {10, 16, .3864, .8152}, {27, 32, .6825, .9314},
	} {
		nearInterval(t, "share", Share(c.hits, c.n, level), c.lo, c.hi, 6e-5)
	}
	if e := Share(0, 10, level); e.Lo != 0 || e.Hi <= 0 {
		t.Errorf("no hit: %v", e)
	}
	if e := Share(10, 10, level); e.Hi != 1 || e.Lo >= 1 {
		t.Errorf("all hits: %v", e)
	}
}

// Student's sleep data (1908), the difference between two drugs for ten patients;
// R's t.test prints the interval 0.7001142 2.4598858.
func TestBiasOfSleepData(t *testing.T) {
	differences := []float64{1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4}
	e := Bias(differences, level)
	near(t, "mean", e.Value, 1.58, 1e-12)
	nearInterval(t, "mean", e, 0.7001142, 2.4598858, 1e-7)
}

// Equal sittings: exactly the t interval of the sitting means.
func TestBiasOverEqualSittings(t *testing.T) {
	e := BiasOverSittings([][]float64{{1, 3}, {2, 6}, {}, {0, 4}}, level)
	means := Bias([]float64{2, 4, 2}, level)
	near(t, "mean", e.Value, means.Value, 1e-12)
	nearInterval(t, "mean", e, means.Lo, means.Hi, 1e-12)
	if e.N != 6 {
		t.Errorf("N = %d, want 6 attempts", e.N)
	}
}

// A million attempts' worth of ties must not upset the selection of slopes: every
// rank is compared with the sorted list of all slopes.
func TestSlopesAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	shapes := map[string]func(i, n int) (x, y float64){
		"normal":       func(i, n int) (float64, float64) { return float64(i), rng.NormFloat64() },
		"random times": func(i, n int) (float64, float64) { return rng.Float64() * 1e9, rng.ExpFloat64() },
		"whole steps":  func(i, n int) (float64, float64) { return float64(i), float64(rng.IntN(3)) },
		"tenths":       func(i, n int) (float64, float64) { return float64(i / 20), float64(rng.IntN(40)) / 10 },
		"two values":   func(i, n int) (float64, float64) { return float64(i), float64(2 * i / n) },
		"a line":       func(i, n int) (float64, float64) { return float64(i), 0.1 * float64(i) },
		"milliseconds": func(i, n int) (float64, float64) { return 1.7e12 + 864e5*float64(i), 3 - rng.Float64() },
	}
	for name, shape := range shapes {
		t.Run(name, func(t *testing.T) {
			const n = 1500 // 1.1 million slopes, more than are listed at once
			x, y := make([]float64, n), make([]float64, n)
			for i := range x {
				x[i], y[i] = shape(i, n)
			}
			var all []float64
			for i := range x {
				for j := range i {
					if x[i] != x[j] {
						all = append(all, (y[i]-y[j])/(x[i]-x[j]))
					}
				}
			}
			slices.Sort(all)
			s := newSlopes(x, y)
			if s.total != int64(len(all)) {
				t.Fatalf("%d slopes, want %d", s.total, len(all))
			}
			ranks := []int64{1, 2, s.total / 3, s.total / 2, s.total/2 + 1, s.total/2 + 900, s.total - 1, s.total}
			got := s.atRanks(ranks)
			for k, r := range ranks {
				want := all[r-1]
				if math.Abs(got[k]-want) > 1e-7*max(math.Abs(want), s.scale) {
					t.Errorf("rank %d: %.15g, want %.15g", r, got[k], want)
				}
			}
		})
	}
}
