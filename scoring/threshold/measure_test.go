package threshold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
	"shadedrill/scoring"
)

// seeing is answers of somebody who sees half of the differences of the level, a
// Weibull of slope 3 without slips, and false alarms at the rate.
func seeing(level, falseAlarms float64, pairs, catches int, rng *rand.Rand) []Answer {
	answer := func(x float64) Answer {
		u := (0.5 - falseAlarms) / (1 - falseAlarms)
		p := falseAlarms - (1-falseAlarms)*math.Expm1(math.Log1p(-u)*math.Pow(x/level, 3))
		return Answer{Level: x, Yes: rng.Float64() < p}
	}
	var list []Answer
	for range pairs {
		list = append(list, answer(level*(0.3+1.4*rng.Float64())))
	}
	for range catches {
		list = append(list, answer(0))
	}
	return list
}

// ready is answers of somebody who sees all from 1.5 ΔE00 on and calls 45 % of the
// rest different.
func ready() []Answer {
	var list []Answer
	for i := range 240 {
		x := max(0, 0.015*float64(i-60))
		list = append(list, Answer{Level: x, Yes: x > 1.5 || i%20 < 9})
	}
	return list
}

func measure(t *testing.T, answers []Answer, o Options) Result {
	t.Helper()
	r, err := Measure(answers, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func said(e scoring.Estimate, words string) bool {
	return slices.ContainsFunc(e.Warnings, func(w string) bool { return strings.Contains(w, words) })
}

// A threshold that lies at or below what the screen can show is told as a bound, not as a
// number, though it lies among the levels; an interval that reaches there starts at 0.
func TestNothingIsReportedBelowTheSmallestStep(t *testing.T) {
	answers := seeing(1, 0.1, 200, 50, rand.New(rand.NewPCG(1, 1)))
	free := measure(t, answers, Options{Task: adaptive.YesNo})
	if e := free.Threshold; !e.Defined() || !e.Covers(1) || e.Lo > 0.97 {
		t.Fatalf("without a smallest step: %+v", e)
	}
	r := measure(t, answers, Options{Task: adaptive.YesNo, Smallest: 1.5, Draws: 60, Chance: rand.New(rand.NewPCG(1, 2))})
	for name, e := range map[string]scoring.Estimate{"threshold": r.Threshold, "bootstrap": r.Bootstrap, "corrected": r.Corrected, "d′ = 1": r.Sensitivity} {
		if e.Defined() || e.Lo != 0 || e.Hi < 1.5 || !said(e, fmt.Sprintf("below %.2f", e.Hi)) || !said(e, "smallest step is 1.50") {
			t.Errorf("%s: %+v", name, e)
		}
	}
	near := nearSmallest[adaptive.YesNo]
	between := 1.02 * free.Threshold.Lo / near
	if free.Threshold.Value < near*between {
		t.Fatalf("%+v: nothing lies between", free.Threshold)
	}
	r = measure(t, answers, Options{Task: adaptive.YesNo, Smallest: between})
	if e := r.Threshold; !e.Defined() || e.Lo != 0 || e.Hi != free.Threshold.Hi || !said(e, "reaches the smallest step of this screen") {
		t.Errorf("smallest step %.3f: %+v", between, e)
	}
}

func TestWarningsThatLeaveTheNumberStanding(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for name, c := range map[string]struct {
		answers []Answer
		task    adaptive.Task
		words   string
	}{
		"many false alarms": {ready(), adaptive.YesNo, "identical pairs were called different"},
		"few answers":       {seeing(1.2, 0.05, 34, 12, rng), adaptive.YesNo, "few answers (34"},
		"no catch trials":   {seeing(1.2, 0, 80, 0, rng), adaptive.YesNo, "no identical pairs were mixed in"},
	} {
		r := measure(t, c.answers, Options{Task: c.task})
		if !r.Threshold.Defined() || !said(r.Threshold, c.words) {
			t.Errorf("%s: %+v", name, r.Threshold)
		}
	}
	r := measure(t, seeing(1.2, 0.1, 60, 5, rng), Options{Task: adaptive.YesNo})
	if !said(r.FalseAlarms, "only 5 identical pairs") {
		t.Errorf("%+v", r.FalseAlarms)
	}
	// One key for nine in ten answers of a forced choice, right and wrong.
	var lopsided []Answer
	for i := range 120 {
		a := Answer{Level: 0.2 + 0.02*float64(i), Yes: i > 60 || i%2 == 0, Key: "left"}
		if i%10 == 0 {
			a.Key = "right"
		}
		lopsided = append(lopsided, a)
	}
	if r := measure(t, lopsided, Options{Task: adaptive.ForcedChoice}); !said(r.Threshold, "one key was pressed in 90 %") {
		t.Errorf("%+v", r.Threshold)
	}
	// Half of the identical pairs called different: there is no 50 % point.
	over := seeing(1.2, 0.1, 100, 0, rng)
	for i := range 40 {
		over = append(over, Answer{Yes: i%4 > 0})
	}
	if r = measure(t, over, Options{Task: adaptive.YesNo}); r.Threshold.Defined() || !said(r.Threshold, "there is no 50 % point") {
		t.Errorf("%+v", r.Threshold)
	}
	// Everything lies above or below the levels shown.
	for _, c := range []struct {
		low, high float64
		words     string
	}{{3, 6, "below the smallest difference shown"}, {0.05, 0.25, "above the largest difference shown"}} {
		var far []Answer
		for _, a := range seeing(1, 0, 4000, 400, rng) {
			if a.Level == 0 || a.Level > c.low && a.Level < c.high {
				far = append(far, a)
			}
		}
		for i := range 100 {
			x := c.low + (c.high-c.low)*float64(i)/100
			far = append(far, Answer{Level: x, Yes: x > 1 || i > 98})
		}
		if r := measure(t, far, Options{Task: adaptive.YesNo}); r.Threshold.Defined() {
			t.Errorf("%v to %v: %+v, want %q", c.low, c.high, r.Threshold, c.words)
		}
	}
}

// Between an identical pair and the smallest difference shown the curve is known from
// both sides: a threshold there is a number with a warning, as long as the screen could
// have shown it, the identical pair was shown and the interval ends among the levels shown.
func TestBelowTheSmallestShown(t *testing.T) {
	// Answers in the very proportions of a Weibull of slope 3 with its 50 % point at 1.
	answers := func(catches int, levels ...float64) (list []Answer) {
		const falseAlarms, each = 0.1, 20
		put := func(x float64, n int) {
			seen := 1 - math.Exp(math.Log(0.5/(1-falseAlarms))*math.Pow(x, 3))
			yes := int(math.Round(float64(n) * (falseAlarms + (1-falseAlarms)*seen)))
			for i := range n {
				list = append(list, Answer{Level: x, Yes: i < yes})
			}
		}
		for _, x := range levels {
			put(x, each)
		}
		put(0, catches)
		return list
	}
	shown := []float64{1.05, 1.2, 1.4, 1.7, 2}
	for name, c := range map[string]struct {
		answers  []Answer
		smallest float64
		words    string // of a refusal
	}{
		"a little below":         {answers(60, shown...), 0.3, ""},
		"a finer screen":         {answers(60, shown...), 0.5, ""},
		"not known what can be":  {answers(60, shown...), 0, "below the smallest difference shown (1.05)"},
		"no screen shows it":     {answers(60, shown...), 1.04, "below 1.19; how far below, this screen cannot show (its smallest step is 1.04)"},
		"near its smallest step": {answers(60, shown...), 0.9, "below 1.19; how far below, this screen cannot show (its smallest step is 0.90)"},
		"no identical pairs":     {answers(0, shown...), 0.3, "below the smallest difference shown (1.05)"},
		"interval wholly below":  {answers(300, 1.3, 1.3, 1.3, 1.3, 1.4, 1.4, 1.5, 1.7, 2), 0.3, "below the smallest difference shown (1.30); at most 1."},
		"interval far beyond it": {answers(60, 1.1, 1.15), 0.3, "below the smallest difference shown (1.10)"},
	} {
		e := measure(t, c.answers, Options{Task: adaptive.YesNo, Smallest: c.smallest, Brief: true}).Threshold
		switch {
		case c.words != "" && (e.Defined() || !said(e, c.words)):
			t.Errorf("%s: %+v, want none and %q", name, e, c.words)
		case c.words == "" && (!e.Defined() || e.Value >= 1.05 || e.Value < 0.9 || e.Lo < c.smallest || e.Hi < 1.05):
			t.Errorf("%s: %+v, want a value near 1", name, e)
		case c.words == "" && !said(e, "below the smallest difference shown in this sitting (1.05)"):
			t.Errorf("%s: %+v without a warning", name, e)
		}
	}
}

// The plain threshold alone is the same as among all the rest, and has no curve to be drawn.
func TestPlainOnly(t *testing.T) {
	answers := seeing(1, 0.1, 80, 40, rand.New(rand.NewPCG(8, 8)))
	all := measure(t, answers, Options{Task: adaptive.YesNo, Brief: true})
	plain := measure(t, answers, Options{Task: adaptive.YesNo, Brief: true, PlainOnly: true})
	if !slices.Equal(plain.Threshold.Warnings, all.Threshold.Warnings) || plain.Threshold.Value != all.Threshold.Value ||
		plain.Threshold.Lo != all.Threshold.Lo || plain.Threshold.Hi != all.Threshold.Hi {
		t.Errorf("alone %+v, among the rest %+v", plain.Threshold, all.Threshold)
	}
	if len(all.Curve) != curvePoints || plain.Curve != nil || plain.Corrected.Defined() {
		t.Errorf("%d points of the curve, %d of the plain threshold alone", len(all.Curve), len(plain.Curve))
	}
}

func TestMeasureRefusesWhatCannotBe(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	good := seeing(1, 0.1, 40, 10, rng)
	for name, c := range map[string]struct {
		answers []Answer
		o       Options
	}{
		"no task":         {good, Options{}},
		"NaN level":       {append(slices.Clone(good), Answer{Level: math.NaN()}), Options{Task: adaptive.YesNo}},
		"negative level":  {append(slices.Clone(good), Answer{Level: -1}), Options{Task: adaptive.YesNo}},
		"infinite level":  {append(slices.Clone(good), Answer{Level: math.Inf(1)}), Options{Task: adaptive.YesNo}},
		"no chance":       {good, Options{Task: adaptive.YesNo, Draws: 100}},
		"coverage of 1":   {good, Options{Task: adaptive.YesNo, Level: 1}},
		"negative screen": {good, Options{Task: adaptive.YesNo, Smallest: -1}},
	} {
		if r, err := Measure(c.answers, c.o); err == nil {
			t.Errorf("%s: %+v", name, r.Threshold)
		}
	}
}

// Clopper and Pearson's interval as R's binom.test prints it (from memory); that of
// 0 of 10 is 1 − 0.025^(1/10) by hand.
func TestProportion(t *testing.T) {
	for _, c := range []struct {
		k, n   int
		lo, hi float64
	}{{0, 10, 0, 0.3084971}, {5, 10, 0.1870860, 0.8129140}, {10, 10, 0.6915029, 1}} {
		e := Proportion(c.k, c.n, 0.95)
		near(t, "lower end", e.Lo, c.lo, 1e-6)
		near(t, "upper end", e.Hi, c.hi, 1e-6)
	}
	if Proportion(3, 0, 0.95).Defined() || Proportion(3, 2, 0.95).Defined() {
		t.Error("a proportion of nothing")
	}
}

// 4 of 4 and 0 of 4 are corrected to 0.9 and 0.1, for which the differencing model's d′
// is 4.138542 (computed outside this project, in agreement with the R package psyphy).
func TestSameDifferent(t *testing.T) {
	near(t, "d′", sameDifferent(4, 4, 0, 4).Value, 4.138542, 5.1e-7)
	for name, e := range map[string]scoring.Estimate{
		"no identical pairs":    sameDifferent(4, 4, 0, 0),
		"no pairs that differ":  sameDifferent(0, 0, 1, 4),
		"more false alarms":     sameDifferent(1, 10, 9, 10),
		"counts that cannot be": sameDifferent(5, 4, 0, 4),
	} {
		if e.Defined() || len(e.Warnings) == 0 || e.Warnings[0] == "" {
			t.Errorf("%s: %+v", name, e)
		}
	}
}

// d′ and criterion with the log-linear correction, computed outside this project:
// 20 of 20 and 2 of 20 give 3.160513514 and −0.400495640.
func TestDetection(t *testing.T) {
	d, c := detection(20, 20, 2, 20, 0.95)
	near(t, "d′", d.Value, 3.160513514, 1e-8)
	near(t, "criterion", c.Value, -0.400495640, 1e-8)
	if !said(d, "log-linear correction") {
		t.Errorf("%+v", d)
	}
	// The interval holds the truth of an observer with d′ = 1.5 in about 95 % of runs.
	rng := rand.New(rand.NewPCG(4, 4))
	h, f := 0.5*math.Erfc(-0.75/math.Sqrt2), 0.5*math.Erfc(0.75/math.Sqrt2)
	const runs = 2000
	held, heldCriterion := 0, 0
	for range runs {
		hits, falseAlarms := 0, 0
		for range 150 {
			if rng.Float64() < h {
				hits++
			}
		}
		for range 60 {
			if rng.Float64() < f {
				falseAlarms++
			}
		}
		d, c := detection(hits, 150, falseAlarms, 60, 0.95)
		if d.Covers(1.5) {
			held++
		}
		if c.Covers(0) {
			heldCriterion++
		}
	}
	for what, n := range map[string]int{"d′": held, "criterion": heldCriterion} {
		if share := float64(n) / runs; share < 0.93 || share > 0.97 {
			t.Errorf("the interval of %s covers in %.3f of %d runs", what, share, runs)
		}
	}
}

// The two intervals come by different roads to about the same place; a curve that
// fits is told from one that does not.
func TestBootstrap(t *testing.T) {
	model := Model{Curve: psychometric.Sigmoid{Family: psychometric.Weibull, Target: psychometric.Proportion(0.75)},
		Threshold: Range{0.5, 20}, Slope: Range{0.5, 15}, Guess: fixed(0.5), Lapse: Range{0, 0.06}}
	fit, err := Maximise(model, forcedChoiceData())
	if err != nil {
		t.Fatal(err)
	}
	b, err := fit.bootstrap(400, rand.New(rand.NewPCG(2, 2)))
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := fit.profile(ofThreshold, 0.95)
	bootLo, bootHi := percentiles(b.Thresholds, fit.Parameters.Threshold, 0.95, 1)
	near(t, "lower end", bootLo, lo, 0.25*(hi-lo))
	near(t, "upper end", bootHi, hi, 0.25*(hi-lo))
	near(t, "width over width", (bootHi-bootLo)/(hi-lo), 1, 0.2)
	wideLo, wideHi := percentiles(b.Thresholds, fit.Parameters.Threshold, 0.95, 1.5)
	if !(wideLo < bootLo && wideHi > bootHi) {
		t.Errorf("inflated, %v to %v becomes %v to %v", bootLo, bootHi, wideLo, wideHi)
	}
	if p := b.goodness(fit.Deviance); p < 0.3 { // 5.7 with 11 degrees of freedom
		t.Errorf("a good fit has p = %.3f", p)
	}
	bent := forcedChoiceData()
	for i := range bent {
		bent[i].Yes = 45 + (i%2)*40
	}
	crooked, err := Maximise(model, bent)
	if err != nil {
		t.Fatal(err)
	}
	b, err = crooked.bootstrap(100, rand.New(rand.NewPCG(2, 2)))
	if err != nil {
		t.Fatal(err)
	}
	if p := b.goodness(crooked.Deviance); p > 0.02 {
		t.Errorf("answers that go up and down have p = %.3f", p)
	}
	if lo, _ := percentiles(b.Thresholds[:30], 1, 0.95, 1); !math.IsNaN(lo) {
		t.Error("30 draws have an interval")
	}
	if _, err := fit.bootstrap(0, rand.New(rand.NewPCG(2, 2))); err == nil {
		t.Error("no draws are a bootstrap")
	}
}

// Where the logarithms of the draws are normal, m above the estimate, the truth of which
// the estimate itself is such a draw lies about m below it: the bias-corrected interval is
// −m ± zσ (Efron 1987, J Am Stat Assoc 82:171, from memory), of the plain percentiles +m ± zσ.
func TestPercentilesAreBiasCorrected(t *testing.T) {
	const sd, z = 0.1, 1.959964
	drawn := func(m float64) []float64 {
		draws := make([]float64, 1999)
		for i := range draws {
			draws[i] = math.Exp(m + psychometric.Normal.Inverse((float64(i)+0.5)/1999, 0, sd))
		}
		return draws
	}
	for _, m := range []float64{-0.03, 0, 0.02} {
		lo, hi := percentiles(drawn(m), 1, 0.95, 1)
		near(t, "lower end", math.Log(lo), -m-z*sd, 0.02*sd)
		near(t, "upper end", math.Log(hi), -m+z*sd, 0.02*sd)
		wideLo, wideHi := percentiles(drawn(m), 1, 0.95, 1.44)
		near(t, "lower arm", math.Log(wideLo)/math.Log(lo), 1.2*armLength, 1e-9)
		near(t, "upper arm", math.Log(wideHi)/math.Log(hi), 1.2*armLength, 1e-9)
	}
	// Draws that all lie above tell nothing of the bias of the estimate.
	lo, hi := percentiles(drawn(1), 1, 0.95, 1)
	if want := 1 + (2*-mostCorrection+z)*sd; lo != 1 || math.Abs(math.Log(hi)-want) > 0.02*sd {
		t.Errorf("draws far above the estimate: %v to %v, want 1 to %v", lo, hi, math.Exp(want))
	}
}

// Whatever the answers, a result is a number with an interval around it at or above
// what the screen can show, or words.
func FuzzMeasure(f *testing.F) {
	f.Add([]byte("0123456789abcdefghijklmnopqrstuvwxyz0123456789"), true, 0.3)
	f.Add([]byte{0, 0, 0, 255, 255, 128, 1}, false, 0.0)
	f.Add([]byte(strings.Repeat("\x00\xff\x80\x81\x10", 30)), true, 1.0)
	f.Fuzz(func(t *testing.T, raw []byte, forced bool, smallest float64) {
		if len(raw) > 150 {
			raw = raw[:150]
		}
		o := Options{Task: adaptive.YesNo, Smallest: smallest, Brief: true}
		if forced {
			o.Task = adaptive.ForcedChoice
		}
		var answers []Answer
		for i, b := range raw {
			answers = append(answers, Answer{Level: float64(b>>1) / 20, Yes: b&1 == 1, Key: []string{"left", "right", ""}[i%3]})
		}
		r, err := Measure(answers, o)
		if err != nil {
			if smallest >= 0 && !math.IsInf(smallest, 0) {
				t.Fatal(err)
			}
			return
		}
		for name, e := range map[string]scoring.Estimate{"threshold": r.Threshold, "corrected": r.Corrected, "d′ = 1": r.Sensitivity} {
			switch {
			case !e.Defined() && len(e.Warnings) == 0:
				t.Errorf("%s: no number and no words", name)
			case e.Defined() && (e.Value < smallest || !(e.Lo <= e.Value && e.Value <= e.Hi)):
				t.Errorf("%s: %+v with a smallest step of %v", name, e, smallest)
			}
		}
	})
}
