package recovery

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"sync/atomic"

	"shadedrill/exercises/adaptive"
	"shadedrill/scoring"
	"shadedrill/scoring/threshold"
)

// Condition is one simulated observer and the sitting they go through.
type Condition struct {
	Subject Subject
	// FalseAlarms and Lapse are for the table; the observer's curve has them in it.
	FalseAlarms, Lapse float64
	Trials             int     // of pairs that differ
	CatchShare         float64 // of all trials, identical pairs; yes/no only
	RelativeWidth      float64 // stop earlier when the posterior is so narrow; 0: never
	Draws              int     // bootstrap draws for each sitting; 0: none
	// Near says that the threshold lies near the smallest step of a screen: every screen
	// is taken, also those that cannot measure it, and a bound is a right answer.
	Near bool
}

// Plan is how to simulate.
type Plan struct {
	Runs    int
	Seed    uint64
	Screens []adaptive.Levels // what can be shown; each run takes the next usable one
	Workers int               // 0: one a processor
	// Progress, when set, is told after each run how many are done; it may be called
	// from several goroutines.
	Progress func(done int)
	// Stopped, when set, is asked before each run; the error it returns ends them all.
	// It may be called from several goroutines.
	Stopped func() error
}

// Recovered is how one kind of threshold came out over all runs.
type Recovered struct {
	Kind    threshold.Kind
	Truth   float64
	Bias    scoring.Estimate // mean of estimate/truth − 1, with its 95 % interval
	Spread  float64          // standard deviation of estimate/truth
	Covered scoring.Estimate // share of intervals with the truth in them, with its 95 % interval
	Below   float64          // share of intervals that lie wholly below the truth
	Above   float64          // share that lie wholly above
	Width   float64          // median width of the interval over the truth
	Without float64          // share of runs in which no threshold was reported
	Bounds  float64          // share of runs in which an upper bound was told instead
	// Held is the share of all answers, intervals and bounds, with the truth in them.
	Held scoring.Estimate
}

// Row is a line of the table.
type Row struct {
	Condition Condition
	Screens   int // how many of the plan's lists could measure this observer
	Runs      int
	Pairs     float64 // mean number of pairs that differ in a sitting
	Catches   float64 // mean number of identical pairs
	Plain     Recovered
	Corrected Recovered // Truth is NaN in forced choice
	DPrime    Recovered // Truth is NaN for an observer without a d′
	Bootstrap Recovered // Truth is NaN without draws
}

// usable is the lists that can measure a threshold: two levels below it at least.
func usable(screens []adaptive.Levels, truth float64) (u []adaptive.Levels) {
	for _, l := range screens {
		if len(l) > 2 && l[1] <= truth && l.Highest() > truth {
			u = append(u, l)
		}
	}
	return u
}

// tables hold the default table of each task and screen: the same for every condition,
// and it takes longer to compute than a sitting.
var tables sync.Map // of tableKey to *adaptive.Table

type tableKey struct {
	task   adaptive.Task
	levels string
}

func tableOf(task adaptive.Task, levels adaptive.Levels) (*adaptive.Table, error) {
	key := tableKey{task, fmt.Sprint(levels)}
	if t, ok := tables.Load(key); ok {
		return t.(*adaptive.Table), nil
	}
	t, err := adaptive.DefaultTable(task, levels)
	if err == nil {
		tables.Store(key, t)
	}
	return t, err
}

// Recover simulates one condition with the default method, QUEST+.
func Recover(c Condition, plan Plan) (Row, error) {
	screens := usable(plan.Screens, c.Subject.Plain)
	if c.Near {
		screens = plan.Screens
	}
	if len(screens) == 0 {
		return Row{}, fmt.Errorf("no screen shows two levels below %.2f ΔE00", c.Subject.Plain)
	}
	if plan.Runs < 2 || c.Subject.P == nil {
		return Row{}, errors.New("a recovery needs an observer and at least two runs")
	}
	tables := make([]*adaptive.Table, min(len(screens), plan.Runs)) // a run takes one
	for i := range tables {
		var err error
		if tables[i], err = tableOf(c.Subject.Task, screens[i]); err != nil {
			return Row{}, err
		}
	}
	results := make([]threshold.Result, plan.Runs)
	err := plan.each(func(run int, rng *rand.Rand) (err error) {
		results[run], err = c.sit(tables[run%len(tables)], rng)
		return err
	})
	if err != nil {
		return Row{}, err
	}
	row := Row{Condition: c, Screens: len(screens), Runs: plan.Runs}
	for _, r := range results {
		row.Pairs += float64(r.Pairs) / float64(plan.Runs)
		row.Catches += float64(r.Catches) / float64(plan.Runs)
	}
	o := c.Subject
	row.Plain = gather(threshold.Plain, o.Plain, results, func(r threshold.Result) scoring.Estimate { return r.Threshold })
	row.Corrected = gather(threshold.Corrected, o.Corrected, results, func(r threshold.Result) scoring.Estimate { return r.Corrected })
	row.DPrime = gather(threshold.Sensitivity, o.Sensitivity, results, func(r threshold.Result) scoring.Estimate { return r.Sensitivity })
	boot := o.Plain
	if c.Draws == 0 {
		boot = math.NaN()
	}
	row.Bootstrap = gather(threshold.Plain, boot, results, func(r threshold.Result) scoring.Estimate { return r.Bootstrap })
	return row, nil
}

// each calls do for every run, several at once; each run has its own source of
// chance, so neither the number of workers nor their order changes a result.
func (p Plan) each(do func(run int, rng *rand.Rand) error) error {
	workers := p.Workers
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	var next, done atomic.Int64
	failures := make([]error, workers)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for {
				run := int(next.Add(1)) - 1
				if run >= p.Runs {
					return
				}
				if p.Stopped != nil {
					if err := p.Stopped(); err != nil {
						failures[w] = err
						return
					}
				}
				if err := do(run, rand.New(rand.NewPCG(p.Seed, uint64(run)))); err != nil {
					failures[w] = err
					return
				}
				if n := done.Add(1); p.Progress != nil {
					p.Progress(int(n))
				}
			}
		}()
	}
	wait.Wait()
	return errors.Join(failures...)
}

// sit is one sitting, from the first trial to the result.
func (c Condition) sit(table *adaptive.Table, rng *rand.Rand) (threshold.Result, error) {
	method, err := adaptive.NewQuestPlus(table, adaptive.DefaultAim, adaptive.Stop{
		Trials: c.Trials, AtLeast: min(c.Trials, 30), RelativeWidth: c.RelativeWidth})
	if err != nil {
		return threshold.Result{}, err
	}
	share := c.CatchShare
	if c.Subject.Task == adaptive.ForcedChoice {
		share = 0
	}
	answers, err := sit(c.Subject, method, share, rng)
	if err != nil {
		return threshold.Result{}, err
	}
	o := threshold.Options{Task: c.Subject.Task, Smallest: table.Levels().Lowest(), Brief: true}
	if c.Draws > 0 {
		o.Draws, o.Chance = c.Draws, rng
	}
	return threshold.Measure(answers, o)
}

// sit lets an observer answer a method to its end, with catch trials among the
// method's own.
func sit(o Subject, method adaptive.Method, catchShare float64, rng *rand.Rand) ([]threshold.Answer, error) {
	run, err := adaptive.NewInterleaved(adaptive.InterleavedConfig{Tracks: []adaptive.Method{method}, CatchShare: catchShare}, rng)
	if err != nil {
		return nil, err
	}
	var answers []threshold.Answer
	for !run.Done() {
		trial := run.Next()
		yes := rng.Float64() < o.P(trial.Level)
		answers = append(answers, threshold.Answer{Level: trial.Level, Yes: yes})
		if err := run.Take(trial, yes); err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// gather compares one kind of threshold with its truth.
func gather(kind threshold.Kind, truth float64, results []threshold.Result, of func(threshold.Result) scoring.Estimate) Recovered {
	r := Recovered{Kind: kind, Truth: truth}
	if math.IsNaN(truth) {
		const reason = "this observer has no such threshold"
		r.Bias, r.Covered, r.Held = scoring.Undefined(0, reason), scoring.Undefined(0, reason), scoring.Undefined(0, reason)
		r.Spread, r.Width = math.NaN(), math.NaN()
		return r
	}
	var ratios, widths []float64
	covered, held, answered := 0, 0, 0
	for _, result := range results {
		e := of(result)
		if e.HasInterval() {
			answered++
			if e.Covers(truth) {
				held++
			}
			if !e.Defined() {
				r.Bounds += 1 / float64(len(results))
			}
		}
		if !e.Defined() || !e.HasInterval() {
			r.Without += 1 / float64(len(results))
			continue
		}
		ratios = append(ratios, e.Value/truth)
		widths = append(widths, (e.Hi-e.Lo)/truth)
		switch {
		case e.Covers(truth):
			covered++
		case e.Hi < truth:
			r.Below++
		default:
			r.Above++
		}
	}
	r.Held = threshold.Proportion(held, answered, 0.95)
	n := len(ratios)
	if n < 2 {
		const reason = "too few runs gave a threshold"
		r.Bias, r.Covered = scoring.Undefined(n, reason), scoring.Undefined(n, reason)
		r.Spread, r.Width = math.NaN(), math.NaN()
		return r
	}
	r.Below, r.Above = r.Below/float64(n), r.Above/float64(n)
	mean, sd := meanSD(ratios)
	half := 1.96 * sd / math.Sqrt(float64(n))
	r.Bias = scoring.Interval(mean-1, mean-1-half, mean-1+half, 0.95, n)
	r.Spread = sd
	r.Covered = threshold.Proportion(covered, n, 0.95)
	r.Width = median(widths)
	return r
}
