package trend

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// R's data set sleep (Cushny & Peebles 1905; Student 1908) and mtcars, miles to the
// gallon by gearbox (Henderson & Velleman 1981).
var (
	sleepOne  = []float64{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2}
	sleepTwo  = []float64{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4}
	automatic = []float64{21.4, 18.7, 18.1, 14.3, 24.4, 22.8, 19.2, 17.8, 16.4, 17.3, 15.2, 10.4, 10.4, 14.7, 21.5, 15.5, 15.2, 13.3, 19.2}
	manual    = []float64{21, 21, 22.8, 32.4, 30.4, 33.9, 27.3, 26, 30.4, 15.8, 19.7, 15, 21.4}
)

func closeTo(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.7f, want %v", what, got, want)
	}
}

func interval(t *testing.T, what string, e scoring.Estimate, value, lo, hi, within float64) {
	t.Helper()
	closeTo(t, what, e.Value, value, within)
	closeTo(t, what+", lower end", e.Lo, lo, within)
	closeTo(t, what+", upper end", e.Hi, hi, within)
}

// R's t.test prints a mean difference of −1.58 (−2.4598858 to −0.7001142) for sleep,
// paired, and −11.280194 to −3.209684 for mtcars (Welch); the manual of the R package
// effectsize (cohens_d, hedges_g) prints d = −1.28 [−2.12, −0.41] for the one,
// g = −1.44 [−2.21, −0.65] for the other. It multiplies by the exact correction; at 9
// degrees of freedom ours differs by 0.0004.
func TestEffectsAsPublished(t *testing.T) {
	e := Paired(sleepTwo, sleepOne, 0.95)
	interval(t, "change of sleep", e.Change, -1.58, -2.4598858, -0.7001142, 5e-8)
	j := hedgesJ(9)
	interval(t, "d_z of sleep", scoring.Interval(e.Z.Value/j, e.Z.Lo/j, e.Z.Hi/j, 0.95, 10), -1.28, -2.12, -0.41, 0.005)
	difference, g := Between(automatic, manual, 0.95)
	interval(t, "miles to the gallon", difference, (324.0+1.8)/19-(317.1)/13, -11.280194, -3.209684, 5e-6)
	interval(t, "g of gearboxes", g, -1.44, -2.21, -0.65, 0.006)
}

// Lakens (2013, table 1): two films rated by ten people, M 8.7 (SD 0.82) and 7.7
// (0.95); d_z is 1.50, and to find it again with a power of 0.95 takes 8 people, to
// find d_s = 1.13 between two groups 44, 22 each.
func TestTheFilmsOfLakens(t *testing.T) {
	first := []float64{9, 7, 8, 9, 8, 9, 9, 10, 9, 9}
	second := []float64{9, 6, 7, 8, 7, 9, 8, 8, 8, 7}
	e := Paired(second, first, 0.95)
	closeTo(t, "mean of the first", e.After.Value, 8.7, 1e-9)
	closeTo(t, "mean of the second", e.Before.Value, 7.7, 1e-9)
	j := hedgesJ(9)
	closeTo(t, "J", j, 1-3.0/35, 1e-12)
	closeTo(t, "d_z", e.Z.Value/j, 1.50, 0.005)
	closeTo(t, "d_av", e.AV.Value/j, 1/((math.Sqrt(6.1/9)+math.Sqrt(8.1/9))/2), 1e-9) // by hand: 1.129
	_, g := Between(first, second, 0.95)
	closeTo(t, "d_s", g.Value/hedgesJ(18), 1.13, 0.006)
	if n := Needed(1.5, 0.95, 1); n != 8 {
		t.Errorf("%d people for d_z = 1.5, want 8", n)
	}
	if n := Needed(1.13, 0.95, 2); n != 22 {
		t.Errorf("%d people a group for d_s = 1.13, want 22", n)
	}
}

// R's power.t.test: delta 1, sd 1, power 0.9 needs 22.02110 a group; the R package pwr
// gives 33.36713 pairs and 63.76561 a group for d = 0.5 at power 0.8; each is rounded up.
func TestHowManyAreNeeded(t *testing.T) {
	for _, c := range []struct {
		d, power     float64
		groups, want int
	}{{1, 0.9, 2, 23}, {0.5, 0.8, 1, 34}, {-0.5, 0.8, 1, 34}, {0.5, 0.8, 2, 64}, {0, 0.8, 1, 0}, {math.NaN(), 0.8, 1, 0}, {40, 0.8, 1, 2}} {
		if got := Needed(c.d, c.power, c.groups); got != c.want {
			t.Errorf("d %v, power %v, groups %d: %d needed, want %d", c.d, c.power, c.groups, got, c.want)
		}
	}
	// power.t.test(n = 20, delta = 1, sd = 1) prints a power of 0.8689528, one tail alone.
	closeTo(t, "power", 1-noncentralT(StudentQuantile(0.95, 38), 38, math.Sqrt(10)), 0.8689528, 5e-8)
}

func TestNoncentralT(t *testing.T) {
	for _, df := range []float64{2, 3, 9, 40, 500, 2000} {
		for _, x := range []float64{-6, -1, 0, 0.5, 3, 12} {
			closeTo(t, "central t", noncentralT(x, df, 0), distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.CDF(x), 1e-7)
			for _, delta := range []float64{-5, 1, 30} {
				closeTo(t, "twice the steps", noncentralT(x, df, delta), noncentralTSteps(x, df, delta, 800), 1e-7)
			}
		}
		closeTo(t, "mirror", noncentralT(1.3, df, 0.7), 1-noncentralT(-1.3, df, -0.7), 1e-7)
	}
}

func TestEffectsOfFew(t *testing.T) {
	if e := Paired(nil, nil, 0.95); e.Change.Defined() || e.AV.Defined() || len(e.Change.Warnings) == 0 {
		t.Errorf("nobody: %+v", e)
	}
	if e := Paired([]float64{2}, []float64{1}, 0.95); e.Change.Value != -1 || e.Change.HasInterval() || e.Z.Defined() {
		t.Errorf("one: %+v", e)
	}
	if e := Paired([]float64{2, 3, 4}, []float64{1, 2, 3}, 0.95); e.Z.Defined() || e.AV.Defined() {
		t.Errorf("all by the same: %+v", e)
	}
	if d, g := Between([]float64{1}, []float64{1, 2}, 0.95); d.Defined() || g.Defined() {
		t.Error("one against two gives a number")
	}
	if d, g := Between([]float64{1, 1}, []float64{2, 2}, 0.95); d.Value != -1 || g.Defined() {
		t.Errorf("nothing varies: %+v %+v", d, g)
	}
}

// Of steady people no more than one in forty seems to improve, and as few to get
// worse; who halves their error is found. Each person has a noise of their own.
func TestOwnChangesOfSteadyPeople(t *testing.T) {
	const seed, people, answers, sittings = 11, 4000, 20, 3
	rng := rand.New(rand.NewPCG(seed, 1))
	block := func(noise float64) Block {
		var b Block
		for range sittings {
			list := make([]float64, answers)
			for i := range list { // the length of an error in three dimensions
				x, y, z := rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()
				list[i] = noise * math.Sqrt(x*x+y*y+z*z)
			}
			b.Values, b.Answers = append(b.Values, Middle(list)), append(b.Answers, answers)
		}
		return b
	}
	var before, steady, better []Block
	for range people {
		noise := 0.5 + 1.5*rng.Float64()
		before, steady, better = append(before, block(noise)), append(steady, block(noise)), append(better, block(noise/2))
	}
	improved, worse, found := 0, 0, 0
	for i, e := range OwnChanges(before, steady, 0.95) {
		if e.Hi < 0 {
			improved++
		} else if e.Lo > 0 {
			worse++
		}
		if e.N != 2*answers*sittings {
			t.Fatalf("person %d has %d answers", i, e.N)
		}
	}
	for _, e := range OwnChanges(before, better, 0.95) {
		if e.Hi < 0 {
			found++
		}
	}
	// Three standard errors of a share of 0.025 in 4000 are 0.0074.
	if share := float64(improved) / people; math.Abs(share-0.025) > 0.0074 {
		t.Errorf("%.4f of steady people seem to improve (seed %d)", share, seed)
	}
	if share := float64(worse) / people; math.Abs(share-0.025) > 0.0074 {
		t.Errorf("%.4f of steady people seem to get worse (seed %d)", share, seed)
	}
	if share := float64(found) / people; share < 0.99 {
		t.Errorf("%.3f of those who halve their error are found (seed %d)", share, seed)
	}
}

// The interval of g covers the truth: n = 12, correlation 0.5 between the two times;
// over 2,000 runs 94.4 % for d_z and 94.0 % for d_av, whose interval is an approximation.
func TestIntervalsOfGCover(t *testing.T) {
	const seed, n = 5, 12
	runs := 200
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		runs = 2000
	}
	rng := rand.New(rand.NewPCG(seed, 2))
	const shift = -0.7
	z, av := 0, 0
	for range runs {
		before, after := make([]float64, n), make([]float64, n)
		for i := range before {
			own := rng.NormFloat64()
			before[i] = math.Sqrt(0.5)*own + math.Sqrt(0.5)*rng.NormFloat64()
			after[i] = shift + math.Sqrt(0.5)*own + math.Sqrt(0.5)*rng.NormFloat64()
		}
		e := Paired(before, after, 0.95)
		if e.Z.Covers(shift) { // the changes have a standard deviation of 1
			z++
		}
		if e.AV.Covers(shift) {
			av++
		}
	}
	for what, got := range map[string]int{"d_z": z, "d_av": av} {
		if share := float64(got) / float64(runs); math.Abs(share-0.95) > 0.015+3*math.Sqrt(0.95*0.05/float64(runs)) {
			t.Errorf("the interval of %s covers in %.3f (seed %d)", what, share, seed)
		} else {
			t.Logf("%s: %.4f", what, share)
		}
	}
}
