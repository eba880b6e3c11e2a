package recovery

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
	"shadedrill/scoring"
	"shadedrill/scoring/threshold"
)

// Precision is how far from the truth the estimates of one method lie after a
// number of trials.
type Precision struct {
	Method string
	Trials int
	Bias   scoring.Estimate // mean of ln(estimate/truth), with its 95 % interval
	// Error is the root mean square of ln(estimate/truth), with its 95 % interval by
	// the delta method: 0.1 is an error of about 10 %.
	Error   scoring.Estimate
	Without float64 // share of runs without an estimate
}

// Comparison holds the default method against the 1-up/2-down staircase in the
// forced choice, with the same observer, levels and runs.
type Comparison struct {
	Subject   Subject
	Runs      int
	QuestPlus []Precision // at each number of trials
	Staircase []Precision
	// Fitted is the staircase's trials put through the fit of this program in place
	// of the mean of its reversals.
	Fitted []Precision
}

// comparedAt is the numbers of trials at which methods are compared.
var comparedAt = []int{20, 30, 40, 50, 60, 80, 100, 120, 160}

// discarded is how many reversals a staircase's estimate leaves out, as Levitt
// (1971) advises for those of its descent.
const discarded = 4

// Compare simulates both methods. The staircase is the one of the trainer: 1 up, 2
// down, steps of 0.6, 0.4 and then 0.2 ΔE00 among what the screen can show, from
// 2.5 ΔE00. It converges where 70.7 % are right, and is held against that level.
func Compare(o Subject, plan Plan) (Comparison, error) {
	if o.Task != adaptive.ForcedChoice {
		return Comparison{}, errors.New("the staircase is compared in the forced choice")
	}
	screens := usable(plan.Screens, o.Plain)
	if len(screens) == 0 || plan.Runs < 2 {
		return Comparison{}, fmt.Errorf("no screen shows two levels below %.2f ΔE00, or fewer than two runs", o.Plain)
	}
	most := comparedAt[len(comparedAt)-1]
	tables := make([]*adaptive.Table, min(len(screens), plan.Runs)) // a run takes one
	for i := range tables {
		var err error
		if tables[i], err = tableOf(o.Task, screens[i]); err != nil {
			return Comparison{}, err
		}
	}
	converges := o.levelOf(math.Sqrt(0.5))
	// ln(estimate/truth) by run and number of trials; NaN without an estimate.
	quest, stairs, fitted := grid(plan.Runs), grid(plan.Runs), grid(plan.Runs)
	err := plan.each(func(run int, rng *rand.Rand) error {
		table := tables[run%len(tables)]
		method, err := adaptive.NewQuestPlus(table, adaptive.DefaultAim, adaptive.Stop{Trials: most})
		if err != nil {
			return err
		}
		answers, err := sit(o, method, 0, rng)
		if err != nil {
			return err
		}
		levels := table.Levels()
		config := adaptive.Transformed(levels, levels.Nearest(2.5), 2, adaptive.Stop{Trials: most}, 0.6, 0.4, 0.2)
		stair, err := adaptive.NewStaircase(config)
		if err != nil {
			return err
		}
		climbed, err := sit(o, stair, 0, rng)
		if err != nil {
			return err
		}
		for i, n := range comparedAt {
			quest[i][run] = math.Log(fit(answers[:n]) / o.Plain)
			fitted[i][run] = math.Log(fit(climbed[:n]) / o.Plain)
			again, err := adaptive.NewStaircase(config)
			if err != nil {
				return err
			}
			for _, a := range climbed[:n] {
				if err := again.Take(a.Level, a.Yes); err != nil {
					return err
				}
			}
			mean, _, _, ok := again.ReversalMean(discarded)
			if !ok {
				mean = math.NaN()
			}
			stairs[i][run] = math.Log(mean / converges)
		}
		return nil
	})
	if err != nil {
		return Comparison{}, err
	}
	c := Comparison{Subject: o, Runs: plan.Runs}
	for i, n := range comparedAt {
		c.QuestPlus = append(c.QuestPlus, precision("QUEST+", n, quest[i]))
		c.Staircase = append(c.Staircase, precision("1-up/2-down", n, stairs[i]))
		c.Fitted = append(c.Fitted, precision("1-up/2-down, fitted", n, fitted[i]))
	}
	return c, nil
}

func grid(runs int) [][]float64 {
	g := make([][]float64, len(comparedAt))
	for i := range g {
		g[i] = make([]float64, runs)
	}
	return g
}

// fit is the threshold fitted to the answers, NaN where it lies outside the levels
// shown.
func fit(answers []threshold.Answer) float64 {
	var counts []psychometric.Count
	lowest, highest := math.Inf(1), 0.0
	for _, a := range answers {
		c := psychometric.Count{Level: a.Level, N: 1}
		if a.Yes {
			c.Yes = 1
		}
		counts = append(counts, c)
		lowest, highest = min(lowest, a.Level), max(highest, a.Level)
	}
	m, _ := threshold.ModelFor(adaptive.ForcedChoice, threshold.Plain, counts)
	f, err := threshold.Maximise(m, counts)
	if t := f.Parameters.Threshold; err == nil && t >= lowest && t <= highest {
		return t
	}
	return math.NaN()
}

// levelOf is where the observer's proportion is p, by bisection.
func (o Subject) levelOf(p float64) float64 {
	lo, hi := 0.0, 100.0
	for range 80 {
		if middle := (lo + hi) / 2; o.P(middle) < p {
			lo = middle
		} else {
			hi = middle
		}
	}
	return (lo + hi) / 2
}

func precision(method string, trials int, errors []float64) Precision {
	p := Precision{Method: method, Trials: trials}
	var known, squares []float64
	for _, e := range errors {
		if math.IsNaN(e) {
			p.Without += 1 / float64(len(errors))
			continue
		}
		known, squares = append(known, e), append(squares, e*e)
	}
	n := len(known)
	if n < 2 {
		p.Bias = scoring.Undefined(n, "too few runs gave an estimate")
		p.Error = p.Bias
		return p
	}
	root := math.Sqrt(float64(n))
	mean, sd := meanSD(known)
	p.Bias = scoring.Interval(mean, mean-1.96*sd/root, mean+1.96*sd/root, 0.95, n)
	square, spread := meanSD(squares)
	rms := math.Sqrt(square)
	half := 1.96 * spread / root / (2 * rms)
	p.Error = scoring.Interval(rms, rms-half, rms+half, 0.95, n)
	return p
}

// needs is how many trials the default method needs to be as precise as the
// staircase is after so many, read between the compared numbers on the line of ln
// error over ln trials. ok is false when it lies outside them.
func (c Comparison) needs(staircase []Precision, trials int) (needed float64, ok bool) {
	for _, s := range staircase {
		if s.Trials != trials || !s.Error.Defined() {
			continue
		}
		for i := 1; i < len(c.QuestPlus); i++ {
			a, b := c.QuestPlus[i-1], c.QuestPlus[i]
			if a.Error.Defined() && b.Error.Defined() && a.Error.Value >= s.Error.Value && s.Error.Value >= b.Error.Value {
				share := math.Log(a.Error.Value/s.Error.Value) / math.Log(a.Error.Value/b.Error.Value)
				return math.Exp(math.Log(float64(a.Trials)) + share*math.Log(float64(b.Trials)/float64(a.Trials))), true
			}
		}
	}
	return math.NaN(), false
}
