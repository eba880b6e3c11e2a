package truths

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// Trend is a line of the table of trends: people of one kind, whose ability is known,
// practising evenly or adaptively.
type Trend struct {
	Scenario string
	Chooser  Chooser
	Adaptive bool
	// At is the observer of a target; Remaining what is left of noise and bias in the
	// last sitting, 1 for nobody who changes, reached in equal ratios.
	At        func(colour.Lab) observer.Observer
	Remaining float64
}

const (
	trendSittings = 10
	trendAnswers  = 20 // a sitting
)

// TrendRow is what was told of them.
type TrendRow struct {
	Trend
	Runs                    int
	Worse, Better           float64 // shares told that their errors grow, shrink
	MedianFirst, MedianLast float64 // mean over runs of the first and last sitting's median
}

func even(noise float64) func(colour.Lab) observer.Observer {
	return func(colour.Lab) observer.Observer { return observer.Observer{Noise: noise} }
}

// chromatic are people who see strong chromas badly.
func chromatic(c colour.Lab) observer.Observer {
	if c.Chroma() > 24 {
		return observer.Observer{Noise: 2}
	}
	return observer.Observer{Noise: 0.5}
}

// weakSpot are people to whom everything near one colour looks darker.
func weakSpot(c colour.Lab) observer.Observer {
	who := observer.Observer{Noise: 0.6}
	if colour.DeltaE00(c, colour.LCh{L: 74, C: 19, H: 88}.Lab()) < 3.5 {
		who.BiasL = -2.5
	}
	return who
}

// TrendLines are the lines of the table.
func TrendLines() (list []Trend) {
	for _, t := range []Trend{
		{Scenario: "steady, noise 1.0", At: even(1), Remaining: 1, Chooser: ByTheBook},
		{Scenario: "steady, noise 2.0 above C* 24, else 0.5", At: chromatic, Remaining: 1, Chooser: ByTheBook},
		{Scenario: "steady, value −2.5 near one colour", At: weakSpot, Remaining: 1, Chooser: ByTheBook},
		{Scenario: "steady, noise 2.0 above C* 24, else 0.5, at once", At: chromatic, Remaining: 1, Chooser: atOnce},
		{Scenario: "noise 1.2 falls by 40 %", At: even(1.2), Remaining: 0.6, Chooser: ByTheBook},
		{Scenario: "noise 1.2 falls by 40 %, at once", At: even(1.2), Remaining: 0.6, Chooser: atOnce},
		{Scenario: "noise 2.0 above C* 24, else 0.5, falls by 40 %", At: chromatic, Remaining: 0.6, Chooser: ByTheBook},
		{Scenario: "noise 0.8 grows by 67 %", At: even(0.8), Remaining: 1 / 0.6, Chooser: ByTheBook},
	} {
		for _, adaptive := range []bool{false, true} {
			t.Adaptive = adaptive
			list = append(list, t)
		}
	}
	return list
}

// Measure lets so many of them practise.
func (t Trend) Measure(sheet *tabs.Sheet, p Plan) (TrendRow, error) {
	row := TrendRow{Trend: t, Runs: p.Runs}
	tests := make([]trend.Monotone, p.Runs)
	ends := make([][2]float64, p.Runs)
	err := p.each(func(run int) error {
		rng := rand.New(rand.NewPCG(p.Seed, uint64(run)))
		kind := &history.Kind{ID: exercises.ValueFirst}
		var experience []exercises.Outcome
		for sitting := range trendSittings {
			s := exercises.Setup{Kind: exercises.ValueFirst, Count: trendAnswers, Seed: rng.Uint64(), Sheet: sheet, Adaptive: t.Adaptive, Experience: experience}
			r, err := exercises.NewRun(s)
			if err != nil {
				return err
			}
			now := math.Pow(t.Remaining, float64(sitting)/(trendSittings-1))
			in := &history.Sitting{Sitting: scoring.Sitting{Setup: s}}
			for {
				trial, ok := r.Next()
				if !ok {
					break
				}
				who := t.At(trial.Target.Lab())
				who.Noise, who.BiasL = who.Noise*now, who.BiasL*now
				a := t.Chooser.Take(trial, sheet, who, rng)
				r.Take(trial, a)
				in.Take(scoring.Attempt{At: time.Unix(0, 0), Trial: trial, Answer: a})
				if t.Adaptive {
					experience = append(experience, exercises.Outcome{Target: trial.Target, Difference: in.Judged[len(in.Judged)-1].D})
				}
			}
			kind.Sittings = append(kind.Sittings, in)
		}
		means, _ := history.Typicals(kind)
		tests[run] = trend.MannKendall(means)
		ends[run] = [2]float64{kind.Sittings[0].Median(), kind.Sittings[trendSittings-1].Median()}
		return nil
	})
	if err != nil {
		return row, err
	}
	for run, test := range tests {
		switch history.TrendWord(test).Key {
		case "rising":
			row.Worse += 1 / float64(p.Runs)
		case "falling":
			row.Better += 1 / float64(p.Runs)
		}
		row.MedianFirst += ends[run][0] / float64(p.Runs)
		row.MedianLast += ends[run][1] / float64(p.Runs)
	}
	return row, nil
}

func (r TrendRow) String() string {
	how := "even"
	if r.Adaptive {
		how = "adaptive"
	}
	return fmt.Sprintf("%s, %s: worse %.3f, better %.3f, median %.2f to %.2f", r.Scenario, how, r.Worse, r.Better, r.MedianFirst, r.MedianLast)
}
