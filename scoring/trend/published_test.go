package trend

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

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
		near(t, "τ-b", concord(c.x, c.y).tauB().Value, c.want, 1e-10)
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

// Computed with NumPy's polyfit on invented times; the last rows are the exact 80 %
// curve.
func TestPowerLawOfPractice(t *testing.T) {
	times := []float64{10.0, 7.2, 6.1, 5.0, 4.6, 4.3, 3.9, 3.7}
	p := LearningRate(nil, times, level)
	near(t, "b", p.Exponent.Value, .4820950132, 1e-9)
	near(t, "a", p.Scale.Value, 10.0502746228, 1e-8)
	near(t, "r²", p.RSquared, .9973121255, 1e-9)
	near(t, "rate per doubling", p.PerDoubling.Value, .7159372, 1e-7)

	exact := LearningRate(nil, []float64{10, 8, 7.0210371, 6.4}, level)
	near(t, "exact b", exact.Exponent.Value, .3219280949, 1e-7)
	near(t, "exact rate", exact.PerDoubling.Value, .8, 1e-7)
	doubled := LearningRate([]float64{1, 2, 4, 8}, []float64{10, 8, 6.4, 5.12}, level)
	near(t, "rate at 1, 2, 4, 8", doubled.PerDoubling.Value, .8, 1e-12)
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
	e := biasOverSittings([][]float64{{1, 3}, {2, 6}, {}, {0, 4}}, level)
	means := Bias([]float64{2, 4, 2}, level)
	near(t, "mean", e.Value, means.Value, 1e-12)
	nearInterval(t, "mean", e, means.Lo, means.Hi, 1e-12)
	if e.N != 6 {
		t.Errorf("N = %d, want 6 attempts", e.N)
	}
}

// The interval of the slope leaves 0 out where the test finds a trend, and nowhere else:
// they stand beside each other.
func TestTheSlopeAgreesWithTheTest(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 8))
	found := 0
	for run := range 6000 {
		y := make([]float64, 5+rng.IntN(26))
		for i := range y {
			if y[i] = rng.NormFloat64() + rng.NormFloat64()*float64(i)/20; run%3 == 0 {
				y[i] = math.Round(3 * y[i])
			}
		}
		slope, test := TheilSen(nil, y, level).Slope, MannKendall(y)
		if test.P <= 1-level {
			found++
		}
		if slope.Lo == 0 || slope.Hi == 0 { // tied values: the slope ends at 0
			continue
		}
		if slope.HasInterval() && slope.Covers(0) != (test.P > 1-level) {
			t.Fatalf("p = %.4f, yet the slope is %.4f (%.4f to %.4f) in %v", test.P, slope.Value, slope.Lo, slope.Hi, y)
		}
	}
	if found < 200 {
		t.Errorf("only %d trends were found", found)
	}
}

// The line through the points themselves, also where times or values repeat, and for
// times in milliseconds.
func TestTheilSenAgainstAllSlopes(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	const n = 200
	for name, shape := range map[string]func(i int) (x, y float64){
		"normal":       func(i int) (float64, float64) { return float64(i), rng.NormFloat64() },
		"random times": func(i int) (float64, float64) { return rng.Float64() * 1e9, rng.ExpFloat64() },
		"whole steps":  func(i int) (float64, float64) { return float64(i), float64(rng.IntN(3)) },
		"tenths":       func(i int) (float64, float64) { return float64(i / 20), float64(rng.IntN(40)) / 10 },
		"two values":   func(i int) (float64, float64) { return float64(i), float64(2 * i / n) },
		"a line":       func(i int) (float64, float64) { return float64(i), 0.1 * float64(i) },
		"milliseconds": func(i int) (float64, float64) { return 1.7e12 + 864e5*float64(i), 3 - rng.Float64() },
	} {
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], y[i] = shape(i)
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
		slope := TheilSen(x, y, level).Slope
		near(t, name+": slope", slope.Value, middle(all), 1e-9*max(math.Abs(middle(all)), 1e-12))
		// Sen's ranks by hand, from the variance of S.
		half := 1.959963985 * math.Sqrt(concord(x, y).varianceOfS())
		m := float64(len(all))
		low, high := int(math.RoundToEven((m-half)/2)), int(math.RoundToEven((m+half)/2))+1
		nearInterval(t, name, slope, all[low-1], all[high-1], 1e-9*max(math.Abs(all[low-1]), math.Abs(all[high-1])))
	}
}
