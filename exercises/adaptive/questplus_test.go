package adaptive

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/exercises/psychometric"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g ± %g", what, got, want, tolerance)
	}
}

// answers reads "CCW" as right, right, wrong.
func answers(s string) []bool {
	var a []bool
	for _, c := range strings.ReplaceAll(s, " ", "") {
		a = append(a, c == 'C')
	}
	return a
}

// answer is one trial of a method's history.
type answer struct {
	level float64
	yes   bool
}

func whole(lo, hi int) []float64 {
	var v []float64
	for i := lo; i <= hi; i++ {
		v = append(v, float64(i))
	}
	return v
}

// exampleOne is Example 1 of Watson (2017), J Vision 17(3):10: a threshold in dB,
// everything else known.
func exampleOne(t *testing.T) *QuestPlus {
	t.Helper()
	table, err := newTable(
		psychometric.Sigmoid{Family: psychometric.WeibullDecibel, Target: psychometric.Core(1 - math.Exp(-1))},
		whole(-40, 0), grid{Thresholds: values(whole(-40, 0)...), Slopes: values(3.5), Guesses: values(0.5), Lapses: values(0.02)})
	if err != nil {
		t.Fatal(err)
	}
	q, err := NewQuestPlus(table, Everything, Stop{Trials: 32})
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// The paper's 32 stimuli, as the questplus package's tests print them; entropies
// and posterior moments computed by an independent implementation.
func TestWatsonExampleOne(t *testing.T) {
	q := exampleOne(t)
	want := []float64{-18, -22, -25, -28, -30, -22, -13, -15, -16, -18, -19, -20, -21, -22, -23, -19,
		-20, -20, -18, -18, -19, -17, -17, -18, -18, -18, -19, -19, -19, -19, -19, -19}
	entropies := map[int]float64{0: 3.562726828, 1: 3.527680603, 2: 3.432018441}
	for i, yes := range answers("CCCC WW CCCCCCCC W CC W CC W CCCCCCCCCCC") {
		if q.Done() {
			t.Fatalf("done before trial %d", i+1)
		}
		x := q.Next()
		if x != want[i] {
			t.Errorf("trial %d at %v dB, want %v", i+1, x, want[i])
		}
		if e, ok := entropies[i]; ok {
			near(t, "expected entropy", q.expectedEntropy(x), e, 5e-10)
		}
		if err := q.Take(want[i], yes); err != nil {
			t.Fatal(err)
		}
		mean, sd := q.mean()
		mode, _ := q.mode()
		switch i {
		case 0:
			near(t, "mean after 1", mean.Threshold, -22.988621797, 5e-9)
			near(t, "sd after 1", sd, 11.169442075, 5e-9)
		case 4:
			near(t, "mean after 5", mean.Threshold, -22.918163756, 5e-9)
			near(t, "mode after 5", mode.Threshold, -27, 0)
		}
	}
	mean, sd := q.mean()
	mode, probability := q.mode()
	near(t, "final mode", mode.Threshold, -20, 0)
	near(t, "its probability", probability, 0.318987404, 5e-10)
	near(t, "final mean", mean.Threshold, -20.393603116, 5e-9)
	near(t, "final sd", sd, 1.389334006, 5e-9)
	near(t, "final entropy", q.entropy(), 1.683501155, 5e-10)
	if !q.Done() || q.Trials() != 32 {
		t.Errorf("after 32 trials: done %v, trials %d", q.Done(), q.Trials())
	}
}

// The information formula against Watson's own: the mean over the two answers of
// the posterior's entropy, on a grid of four parameters part-way through a run.
func TestInformationEqualsexpectedEntropy(t *testing.T) {
	levels := Levels{0.3, 0.55, 0.62, 0.9, 1.4, 2.2, 4}
	curve := psychometric.Sigmoid{Family: psychometric.Weibull, Target: psychometric.Proportion(0.5)}
	table, err := newTable(curve, levels,
		grid{Thresholds: geometric(0.3, 4, 12), Slopes: values(1, 2, 4), Guesses: values(0.02, 0.2, 0.55), Lapses: values(0, 0.04)})
	if err != nil {
		t.Fatal(err)
	}
	for _, aim := range []Aim{Everything, ThresholdAlone} {
		q, err := NewQuestPlus(table, aim, Stop{Trials: 100})
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range []answer{{0.9, true}, {0.55, false}, {0.7, true}, {0.62, false}} {
			if err := q.Take(a.level, a.yes); err != nil {
				t.Fatal(err)
			}
		}
		q.TakeCatch(true)
		for _, x := range levels {
			var direct, total float64
			for _, yes := range []bool{true, false} {
				var p float64
				q.each(func(with psychometric.Parameters, w float64) {
					if psi := curve.P(x, with); w > 0 && yes {
						p += w * psi
					} else if w > 0 {
						p += w * (1 - psi)
					}
				})
				after := *q
				if err := after.Take(x, yes); err != nil {
					t.Fatal(err)
				}
				direct += p * after.entropy()
				total += p
			}
			near(t, "the two answers' probabilities", total, 1, 1e-12)
			near(t, "expected entropy", q.expectedEntropy(x), direct, 1e-10)
		}
	}
}

// The psi method (Kontsevich & Tyler 1999, Vision Res 39:2729–2737) is QUEST+ on a grid
// of location and scale, with the posterior mean as estimate. A yes/no task; values
// computed by running the published program (psychopy's contrib/psi.py).
func TestPsiSequence(t *testing.T) {
	tenths := func(from, to int) []float64 {
		v := whole(from, to)
		for i := range v {
			v[i] /= 10
		}
		return v
	}
	table, err := newTable(psychometric.Sigmoid{Family: psychometric.Normal, Target: psychometric.Core(0.5)}, tenths(0, 40),
		grid{Thresholds: values(tenths(2, 40)...), Slopes: values(tenths(1, 20)...), Guesses: values(0.02), Lapses: values(0.02)})
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewQuestPlus(table, Everything, Stop{Trials: 10})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "first level", p.Next(), 2.1, 0)
	for _, row := range []struct {
		x        float64
		yes      bool
		a, b, to float64
	}{
		{2.1, true, 1.402983, 1.050000, 1.4}, {1.4, true, .976983, .987531, 1.0}, {1.0, false, 1.274996, 1.071911, 1.6},
		{1.6, true, 1.069978, .977478, .9}, {.9, false, 1.230536, .910351, 1.6}, {1.6, true, 1.112169, .803688, .8},
		{.8, false, 1.206951, .692052, .9}, {.9, false, 1.277951, .592946, 1.5}, {1.5, true, 1.201380, .489151, 1.2},
		{1.2, true, 1.104252, .495558, .8},
	} {
		if err := p.Take(row.x, row.yes); err != nil {
			t.Fatal(err)
		}
		mean, _ := p.mean()
		near(t, "E[α]", mean.Threshold, row.a, 5.1e-7)
		near(t, "E[β]", mean.Slope, row.b, 5.1e-7)
		near(t, "next level", p.Next(), row.to, 1e-12)
	}
	if !p.Done() {
		t.Error("not done after its ten trials")
	}
}

func TestQuestPlusProposesOnlyWhatCanBeShown(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	levels := Levels{0.31, 0.52, 0.8, 0.83, 1.9, 2.9, 4.4}
	table, err := DefaultTable(YesNo, levels)
	if err != nil {
		t.Fatal(err)
	}
	q, err := NewQuestPlus(table, ThresholdAlone, Stop{Trials: 40})
	if err != nil {
		t.Fatal(err)
	}
	for !q.Done() {
		x := q.Next()
		if levels.Nearest(x) != x {
			t.Fatalf("%v cannot be shown", x)
		}
		if again := q.Next(); again != x {
			t.Fatalf("asked twice: %v, then %v", x, again)
		}
		if err := q.Take(x, rng.Float64() < 0.5); err != nil {
			t.Fatal(err)
		}
	}
}

func TestQuestPlusStopsAtAWidth(t *testing.T) {
	run := func(stop Stop) *QuestPlus {
		levels := Levels{0.3, 0.5, 0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.4, 1.7, 2.2, 3}
		table, err := DefaultTable(YesNo, levels)
		if err != nil {
			t.Fatal(err)
		}
		q, err := NewQuestPlus(table, ThresholdAlone, stop)
		if err != nil {
			t.Fatal(err)
		}
		for !q.Done() {
			x := q.Next()
			if err := q.Take(x, x >= 1); err != nil {
				t.Fatal(err)
			}
		}
		return q
	}
	wide, narrow, few := run(Stop{Trials: 300, RelativeWidth: 0.5}), run(Stop{Trials: 300, RelativeWidth: 0.2}), run(Stop{Trials: 7, RelativeWidth: 0.001})
	if !(wide.Trials() < narrow.Trials() && narrow.Trials() < 300) {
		t.Errorf("%d trials for a wide interval, %d for a narrow one", wide.Trials(), narrow.Trials())
	}
	if w := (narrow.Quantile(0.975) - narrow.Quantile(0.025)) / narrow.Quantile(0.5); w >= 0.2 {
		t.Errorf("stopped at width %v", w)
	}
	if few.Trials() != 7 {
		t.Errorf("stopped after %d trials, want 7", few.Trials())
	}
	if q := run(Stop{Trials: 300, AtLeast: 60, Width: 5}); q.Trials() != 60 {
		t.Errorf("stopped after %d trials, want 60", q.Trials())
	}
}

func TestQuestPlusReplays(t *testing.T) {
	q := exampleOne(t)
	var history []answer
	for _, yes := range answers("CCWCWWCCCC") {
		a := answer{q.Next(), yes}
		history = append(history, a)
		if err := q.Take(a.level, a.yes); err != nil {
			t.Fatal(err)
		}
	}
	again := exampleOne(t)
	for _, a := range history {
		if err := again.Take(a.level, a.yes); err != nil {
			t.Fatal(err)
		}
	}
	if again.Next() != q.Next() || again.entropy() != q.entropy() {
		t.Error("replaying the history gives another state")
	}
	before := again.entropy()
	if err := again.Take(math.NaN(), true); err == nil || again.entropy() != before || again.Trials() != len(history) {
		t.Errorf("a level that is no number: %v", err)
	}
}

func TestMalformedTables(t *testing.T) {
	curve := psychometric.Sigmoid{Family: psychometric.Weibull, Target: psychometric.Proportion(0.5)}
	good := grid{Thresholds: values(1, 2), Slopes: values(1), Guesses: values(0), Lapses: values(0)}
	for name, c := range map[string]struct {
		curve  psychometric.Sigmoid
		levels Levels
		spoil  func(*grid)
	}{
		"no curve":         {psychometric.Sigmoid{}, Levels{1}, func(*grid) {}},
		"no levels":        {curve, nil, func(*grid) {}},
		"no thresholds":    {curve, Levels{1}, func(g *grid) { g.Thresholds = values() }},
		"falling":          {curve, Levels{1}, func(g *grid) { g.Slopes = values(2, 1) }},
		"nan":              {curve, Levels{1}, func(g *grid) { g.Lapses = values(math.NaN()) }},
		"weights":          {curve, Levels{1}, func(g *grid) { g.Thresholds.Weights = []float64{1} }},
		"negative weights": {curve, Levels{1}, func(g *grid) { g.Thresholds.Weights = []float64{1, -1} }},
		"impossible":       {curve, Levels{1}, func(g *grid) { g.Guesses = values(0.6) }},
	} {
		g := good
		c.spoil(&g)
		if _, err := newTable(c.curve, c.levels, g); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	table, err := newTable(curve, Levels{1}, good)
	if err != nil {
		t.Fatal(err)
	}
	for _, stop := range []Stop{{}, {Trials: 10, AtLeast: 11}, {Trials: 1, Width: -1}, {Trials: 1, RelativeWidth: math.NaN()}} {
		if _, err := NewQuestPlus(table, Everything, stop); err == nil {
			t.Errorf("%+v: no error", stop)
		}
	}
}

// BenchmarkNext is one step of the default method on a track of 80 levels: choosing
// the next level and taking an answer.
func BenchmarkNext(b *testing.B) {
	var levels Levels
	for x := 0.3; x < 9; x *= 1.045 {
		levels = append(levels, x)
	}
	for _, task := range []Task{YesNo, ForcedChoice} {
		for _, aim := range []Aim{Everything, ThresholdAlone} {
			table, err := DefaultTable(task, levels)
			if err != nil {
				b.Fatal(err)
			}
			b.Run(task.String()+map[Aim]string{Everything: "/everything", ThresholdAlone: "/threshold"}[aim], func(b *testing.B) {
				q, err := NewQuestPlus(table, aim, Stop{Trials: 1})
				if err != nil {
					b.Fatal(err)
				}
				for i := 0; b.Loop(); i++ {
					if err := q.Take(q.Next(), i%3 > 0); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(len(table.prior)), "points")
				b.ReportMetric(float64(len(levels)), "levels")
			})
		}
	}
}

// mean is the posterior mean of every parameter, SD that of the threshold.
func (q *QuestPlus) mean() (mean psychometric.Parameters, sd float64) {
	var square float64
	q.each(func(p psychometric.Parameters, w float64) {
		mean.Threshold += w * p.Threshold
		mean.Slope += w * p.Slope
		mean.Guess += w * p.Guess
		mean.Lapse += w * p.Lapse
		square += w * p.Threshold * p.Threshold
	})
	return mean, math.Sqrt(max(0, square-mean.Threshold*mean.Threshold))
}

// expectedEntropy is EH of a level in nats, under the method's aim. A level that
// cannot be shown is answered for the nearest that can.
func (q *QuestPlus) expectedEntropy(level float64) float64 {
	nearest := q.table.levels.Nearest(level)
	for i, x := range q.table.levels {
		if x == nearest {
			return q.entropy() - q.information(i, q.marginal())
		}
	}
	return math.NaN()
}

// mode is the most probable point of the grid and its probability; of equal ones
// the first, threshold slowest.
func (q *QuestPlus) mode() (mode psychometric.Parameters, probability float64) {
	q.each(func(p psychometric.Parameters, w float64) {
		if w > probability {
			mode, probability = p, w
		}
	})
	return mode, probability
}

func (q *QuestPlus) each(visit func(psychometric.Parameters, float64)) {
	i := 0
	for p := range q.table.grid.all() {
		visit(p, q.posterior[i])
		i++
	}
}

// entropy is that of the posterior in nats: of all parameters, or of the threshold
// when that alone is the aim.
func (q *QuestPlus) entropy() float64 {
	w := q.posterior
	if q.aim == ThresholdAlone {
		w = q.marginal()
	}
	var h float64
	for _, p := range w {
		if p > 0 {
			h -= p * math.Log(p)
		}
	}
	return h
}
