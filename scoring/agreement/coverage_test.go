package agreement

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

func heavy() bool { return os.Getenv("SHADEDRILL_HEAVY") == "1" }

// runs is how many simulated panels each coverage is measured on. The binomial error of
// a coverage of 95 % is 0.7 points in 1,000 runs, 0.2 in 10,000.
func runs() int {
	if heavy() {
		return 10_000
	}
	return 1_000
}

// within fails when a measured coverage lies outside lo to hi by more than one standard
// error of the measurement itself.
func within(t *testing.T, what string, got float64, count int, lo, hi float64) {
	t.Helper()
	chance := math.Sqrt(0.95 * 0.05 / float64(count))
	t.Logf("%-62s %.1f %%", what, 100*got)
	if got < lo-chance || got > hi+chance {
		t.Errorf("%s: covers %.1f %%, want %.1f to %.1f %%", what, 100*got, 100*lo, 100*hi)
	}
}

// tally counts by name how often intervals contain their truths.
type coverages struct {
	names []string
	hits  map[string]int
}

func (c *coverages) see(name string, e scoring.Estimate, truth float64) {
	if c.hits == nil {
		c.hits = map[string]int{}
	}
	if _, known := c.hits[name]; !known {
		c.hits[name] = 0
		c.names = append(c.names, name)
	}
	if e.Covers(truth) {
		c.hits[name]++
	}
}

func (c *coverages) check(t *testing.T, what string, count int, lo, hi float64) {
	t.Helper()
	for _, name := range c.names {
		within(t, name+", "+what, float64(c.hits[name])/float64(count), count, lo, hi)
	}
}

// panel draws ratings item + rater's bias + error of normal effects.
func panel(r *rand.Rand, items, raters int, sdItem, sdRater, sdError float64) Ratings {
	bias := make([]float64, raters)
	for j := range bias {
		bias[j] = sdRater * r.NormFloat64()
	}
	out := make(Ratings, items)
	for i := range out {
		item := sdItem * r.NormFloat64()
		for _, l := range bias {
			out[i] = append(out[i], item+l+sdError*r.NormFloat64())
		}
	}
	return out
}

// study draws a gauge study; repeats gives each cell's number of answers.
func study(r *rand.Rand, items, raters int, sd [4]float64, repeats func(*rand.Rand) int) [][][]float64 {
	bias := make([]float64, raters)
	for j := range bias {
		bias[j] = sd[1] * r.NormFloat64()
	}
	out := make([][][]float64, items)
	for i := range out {
		item := sd[0] * r.NormFloat64()
		for _, l := range bias {
			cell := item + l + sd[2]*r.NormFloat64()
			var answers []float64
			for range repeats(r) {
				answers = append(answers, cell+sd[3]*r.NormFloat64())
			}
			out[i] = append(out[i], answers)
		}
	}
	return out
}

func TestCoverageOfGauge(t *testing.T) {
	twice := func(*rand.Rand) int { return 2 }
	thrice := func(*rand.Rand) int { return 3 }
	uneven := func(r *rand.Rand) int { return 1 + r.IntN(3) }
	type regime struct {
		items, raters int
		sd            [4]float64 // item, rater, interaction, error
		repeats       func(*rand.Rand) int
		name          string
	}
	regimes := []regime{
		{10, 3, [4]float64{7, .75, .85, .71}, thrice, "3 repeats"}, // as Houf & Berman found
		{20, 2, [4]float64{2, 1, .5, 1}, twice, "2 repeats"},
		{20, 10, [4]float64{2, 1, .5, 1}, twice, "2 repeats"},
		{20, 6, [4]float64{2, 1, .5, 1}, uneven, "1 to 3 repeats"},
	}
	if heavy() {
		regimes = append(regimes,
			regime{10, 50, [4]float64{2, .5, .5, 1}, twice, "2 repeats"},
			regime{10, 5, [4]float64{1, 0, 0, 1}, twice, "2 repeats"},
			regime{10, 5, [4]float64{1, 0.3, 0, 1}, thrice, "3 repeats"},
			regime{5, 3, [4]float64{2, 1, .5, 1}, twice, "2 repeats"},
		)
	}
	count := runs() / 2
	for _, g := range regimes {
		r := rng(uint64(g.items * g.raters))
		var c coverages
		v := [4]float64{}
		for i, sd := range g.sd {
			v[i] = sd * sd
		}
		rr := v[1] + v[2] + v[3]
		all := rr + v[0]
		mean := [4]float64{}
		for range count {
			s := StudyGauge(study(r, g.items, g.raters, g.sd, g.repeats), level)
			c.see("σ² repeatability", s.Repeatability.Variance, v[3])
			c.see("σ² item", s.Item.Variance, v[0])
			c.see("σ² rater", s.Operator.Variance, v[1])
			c.see("σ² interaction", s.Interaction.Variance, v[2])
			c.see("σ² reproducibility", s.Reproducibility.Variance, v[1]+v[2])
			c.see("σ² R&R", s.RR.Variance, rr)
			c.see("σ² total", s.Total, all)
			c.see("share of R&R", s.RR.Contribution, rr/all)
			c.see("share of repeatability", s.Repeatability.Contribution, v[3]/all)
			c.see("share of rater", s.Operator.Contribution, v[1]/all)
			c.see("study variation of item", s.Item.StudyVariation, math.Sqrt(v[0]/all))
			c.see("ICC(2,1)", s.Agreement, v[0]/all)
			c.see("ICC(3,1)", s.Consistency, v[0]/(v[0]+v[2]+v[3]))
			c.see("categories", s.Categories, math.Sqrt(2*v[0]/rr))
			for i, k := range []Component{s.Item, s.Operator, s.Interaction, s.Repeatability} {
				mean[i] += k.Variance.Value / float64(count)
			}
		}
		hi := 0.9725
		if v[1] == 0 || v[2] == 0 {
			// What is truly 0 is missed on one side only, since no interval ends below 0.
			hi = 0.98
		}
		c.check(t, fmt.Sprintf("%d items, %d raters, %s", g.items, g.raters, g.name), count, 0.93, hi)

		// Recovered within sampling error: the standard deviation of a variance estimate on
		// few degrees of freedom is about √(2/df) of itself and of what lies over it.
		for i, df := range []float64{float64(g.items - 1), float64(g.raters - 1), float64((g.items - 1) * (g.raters - 1)), 20} {
			tolerance := 4*math.Sqrt(2/df/float64(count))*(v[i]+v[2]+v[3]) + 0.05*v[3]
			if v[i] > 0 && math.Abs(mean[i]-v[i]) > tolerance {
				t.Errorf("component %d is %.3f on average, truth %.3f, tolerance %.3f", i, mean[i], v[i], tolerance)
			}
		}
	}
}

// chooser draws answers of people who name the true one of k categories with probability
// p and any other otherwise.
func chooser(r *rand.Rand, items, raters, k int, p float64) Ratings {
	out := make(Ratings, items)
	for i := range out {
		truth := r.IntN(k)
		for range raters {
			answer := truth
			if r.Float64() > p {
				answer = (truth + 1 + r.IntN(k-1)) % k
			}
			out[i] = append(out[i], float64(answer))
		}
	}
	return out
}

// chosen is the κ and α of chooser: all categories are chosen equally often.
func chosen(k int, p float64) float64 {
	same := p*p + (1-p)*(1-p)/float64(k-1)
	return (same - 1/float64(k)) / (1 - 1/float64(k))
}

func TestCoverageOfKappas(t *testing.T) {
	sizes := []int{20, 50}
	if heavy() {
		sizes = []int{10, 20, 30, 50, 100}
	}
	for _, p := range []float64{0.4, 0.6, 0.8, 0.9, 0.95} {
		for _, n := range sizes {
			r := rng(uint64(n))
			var two, steps, many coverages
			stepTruth := stepKappa(p)
			for range runs() {
				pair := chooser(r, n, 2, 6, p)
				x, err := Cross(column(pair, 0), column(pair, 1))
				if err != nil {
					t.Fatal(err)
				}
				two.see("Cohen κ", x.Kappa(Unweighted, level), chosen(6, p))
				pair = stepper(r, n, 2, p)
				x, err = Cross(column(pair, 0), column(pair, 1))
				if err != nil {
					t.Fatal(err)
				}
				steps.see("squared κ", x.Kappa(squared, level), stepTruth[0])
				steps.see("linear κ", x.Kappa(Linear, level), stepTruth[1])
				many.see("Fleiss κ, 5 raters", FleissKappa(chooser(r, n, 5, 6, p), level).Kappa, chosen(6, p))
			}
			what := fmt.Sprintf("%d items, %.0f %% right", n, 100*p)
			least, most := 0.93, 0.97
			if n < 20 { // answers are few and whole: said in the comment of Kappa
				least, most = 0.91, 0.985
			}
			two.check(t, what, runs(), least, most)
			steps.check(t, what, runs(), least, most)
			many.check(t, what, runs(), 0.93, 0.97)
		}
	}
}

// stepper draws answers of people who are right with probability p, one step of eight
// off otherwise.
func stepper(r *rand.Rand, items, raters int, p float64) Ratings {
	out := make(Ratings, items)
	for i := range out {
		truth := r.IntN(8)
		for range raters {
			answer := truth
			if r.Float64() > p {
				answer = min(7, max(0, truth+1-2*r.IntN(2)))
			}
			out[i] = append(out[i], float64(answer))
		}
	}
	return out
}

// stepKappa is the squared and the linear κ of stepper, from its probabilities.
func stepKappa(p float64) [2]float64 {
	var joint [8][8]float64
	for truth := range 8 {
		var say [8]float64
		say[truth] += p
		say[min(7, truth+1)] += (1 - p) / 2
		say[max(0, truth-1)] += (1 - p) / 2
		for a := range say {
			for b := range say {
				joint[a][b] += say[a] * say[b] / 8
			}
		}
	}
	var margin [8]float64
	for a := range joint {
		for b := range joint {
			margin[a] += joint[a][b]
		}
	}
	var out [2]float64
	for i, d := range []Disagreement{squared, Linear} {
		var observed, expected float64
		for a := range joint {
			for b := range joint {
				w := d(float64(a), float64(b))
				observed += w * joint[a][b]
				expected += w * margin[a] * margin[b]
			}
		}
		out[i] = 1 - observed/expected
	}
	return out
}

func TestCoverageOfAlpha(t *testing.T) {
	count, resamples := 500, 400
	items, sizes, right := []int{10, 20}, []int{2, 5}, []float64{0.8}
	if heavy() {
		count, resamples = 2_000, 1_000
		items, sizes, right = []int{6, 10, 20, 40}, []int{2, 3, 5, 10}, []float64{0.6, 0.8}
	}
	for _, n := range items {
		for _, raters := range sizes {
			for _, p := range right {
				r := rng(uint64(n))
				ordinal := manyItems(t, stepper(r, 60_000, raters, p), Ordinal)
				var nominal, ordinals, intervals coverages
				for range count {
					nominal.see("α nominal", KrippendorffAlpha(chooser(r, n, raters, 6, p), Nominal, level, resamples, r), chosen(6, p))
					ordinals.see("α ordinal", KrippendorffAlpha(stepper(r, n, raters, p), Ordinal, level, resamples, r), ordinal)
					intervals.see("α interval", KrippendorffAlpha(panel(r, n, raters, 1, 0, math.Sqrt(1/p-1)), Interval, level, resamples, r), p)
				}
				what := fmt.Sprintf("%d items, %d raters, %g", n, raters, p)
				least, most := 0.93, 0.97
				if n < 20 { // said in the comment of KrippendorffAlpha
					least, most = 0.92, 0.995
				}
				nominal.check(t, what, count, least, most)
				ordinals.check(t, what, count, least, 0.97)
				if n >= 10 {
					least = 0.93
				}
				intervals.check(t, what, count, least, 0.97)
			}
		}
	}
}

// manyItems is the α of a model, taken from very many items.
func manyItems(t *testing.T, r Ratings, m Metric) float64 {
	t.Helper()
	c, refusal := newCoincidences(r, m, level)
	if refusal != nil {
		t.Fatal(refusal.Warnings)
	}
	all := make([]int, len(c.items))
	for i := range all {
		all[i] = i
	}
	return c.tally(all).alpha()
}

func TestCoverageOfLimits(t *testing.T) {
	for _, n := range []int{5, 10, 17, 50} {
		r := rng(uint64(n))
		var c coverages
		paper := 0
		for range runs() {
			a, b := make([]float64, n), make([]float64, n)
			for i := range a {
				a[i] = 70 + 5*r.NormFloat64()
				b[i] = a[i] + 1 + 2*r.NormFloat64()
			}
			l := BlandAltman(paired(a, b), level)
			c.see("bias", l.Bias, -1)
			c.see("lower limit", l.Lower, -1-1.96*2)
			c.see("upper limit", l.Upper, -1+1.96*2)
			c.see("SD", l.SD, 2)
			half := trend.StudentQuantile(level, float64(n-1)) * math.Sqrt(3*sq(l.SD.Value)/float64(n))
			if math.Abs(l.Lower.Value-(-1-1.96*2)) <= half {
				paper++
			}
		}
		c.check(t, fmt.Sprintf("%d pairs", n), runs(), 0.93, 0.975)
		t.Logf("%-62s %.1f %%", "  limit in the 1986 paper's way", 100*float64(paper)/float64(runs()))
	}
}

func TestCoverageOfRepeatedLimits(t *testing.T) {
	for _, n := range []int{10, 30} {
		r := rng(uint64(n))
		var c coverages
		sd := math.Hypot(1, 1.5)
		for range runs() {
			d := make([][]float64, n)
			for i := range d {
				item := 0.5 + r.NormFloat64()
				for range 1 + r.IntN(4) {
					d[i] = append(d[i], item+1.5*r.NormFloat64())
				}
			}
			l := BlandAltman(d, level)
			c.see("bias", l.Bias, 0.5)
			c.see("lower limit", l.Lower, 0.5-1.96*sd)
			c.see("upper limit", l.Upper, 0.5+1.96*sd)
			c.see("SD", l.SD, sd)
		}
		c.check(t, fmt.Sprintf("%d items seen 1 to 4 times", n), runs(), 0.93, 0.975)
	}
}

func TestCoverageOfRepeatability(t *testing.T) {
	for _, n := range []int{3, 10, 40} {
		r := rng(uint64(n))
		var c coverages
		for range runs() {
			answers := make([][]float64, n)
			for i := range answers {
				item := 5 * r.NormFloat64()
				for range 2 + r.IntN(2) {
					answers[i] = append(answers[i], item+0.7*r.NormFloat64())
				}
			}
			x := Repeatability(answers, level)
			c.see("SD of repeats", x.SD, 0.7)
			c.see("repeatability coefficient", x.Coefficient, 0.7*1.96*math.Sqrt2)
		}
		c.check(t, fmt.Sprintf("%d items", n), runs(), 0.93, 0.97)
	}
}
