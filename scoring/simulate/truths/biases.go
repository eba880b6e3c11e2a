package truths

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
)

// Bias is a line of the table of biases: an observer whose bias along one axis is known.
type Bias struct {
	Library string
	Chooser Chooser
	Axis    int // 0 value, 1 chroma, 2 hue
	Bias    float64
	Noise   float64
}

const (
	biasSittings = 5
	biasAnswers  = 20 // a sitting
)

// BiasRow is what was measured of it.
type BiasRow struct {
	Bias
	Runs    int
	Mean    float64 // of the estimates, over runs whose bias is bounded
	Covered float64 // share of runs whose interval, or bound, holds the truth
	Leak    float64 // the largest mean along another axis, with its sign
	AtLeast float64 // share of runs told as a bound
}

// axes are what the axes are called in tables.
var axes = [3]string{"value", "chroma", "hue"}

// Measure lets the observer sit so many times, and holds what is told against the truth.
func (b Bias) Measure(sheet *tabs.Sheet, p Plan) (BiasRow, error) {
	row := BiasRow{Bias: b, Runs: p.Runs}
	who := observer.Observer{Noise: b.Noise}
	*[]*float64{&who.BiasL, &who.BiasC, &who.BiasH}[b.Axis] = b.Bias
	var sum [3]float64
	var bounded [3]int
	covered, open := 0, 0
	results := make([][3]scoring.Estimate, p.Runs)
	shown, err := targetsOf(sheet, p.Seed)
	if err != nil {
		return row, err
	}
	err = p.each(func(run int) error {
		rng := rand.New(rand.NewPCG(p.Seed, uint64(run)<<8|uint64(b.Axis)))
		var sittings [][]history.Judged
		for range biasSittings {
			var list []history.Judged
			for range biasAnswers {
				trial := shown[rng.IntN(len(shown))]
				a := b.Chooser.Take(trial, sheet, who, rng)
				list = append(list, history.Judge(scoring.Attempt{Trial: trial, Answer: a}, scoring.Mark{}, sheet))
			}
			sittings = append(sittings, list)
		}
		results[run] = history.BiasOf(sittings).Estimates
		return nil
	})
	if err != nil {
		return row, err
	}
	for _, all := range results {
		for a, e := range all {
			if a == b.Axis && e.Open() != 0 {
				open++
			} else if e.Defined() {
				sum[a], bounded[a] = sum[a]+e.Value, bounded[a]+1
			}
		}
		if all[b.Axis].Covers(b.Bias) {
			covered++
		}
	}
	row.Mean = sum[b.Axis] / float64(bounded[b.Axis])
	row.Covered, row.AtLeast = float64(covered)/float64(p.Runs), float64(open)/float64(p.Runs)
	for a := range sum {
		if m := sum[a] / float64(bounded[a]); a != b.Axis && math.Abs(m) > math.Abs(row.Leak) {
			row.Leak = m
		}
	}
	return row, nil
}

// stock is how many targets are drawn as a drill would draw them; runs take theirs from
// these by lot, which costs half as much as drawing for each.
const stock = 20000

var (
	stocksMu sync.Mutex
	stocks   = map[string][]exercises.Trial{}
)

// targetsOf are the targets that all runs over a sheet take theirs from.
func targetsOf(sheet *tabs.Sheet, seed uint64) ([]exercises.Trial, error) {
	stocksMu.Lock()
	defer stocksMu.Unlock()
	key := fmt.Sprintf("%s %d", sheet.Fingerprint(), seed)
	if list, made := stocks[key]; made {
		return list, nil
	}
	var list []exercises.Trial
	for batch := range uint64(stock / exercises.MostTrials) {
		r, err := exercises.NewRun(exercises.Setup{Kind: exercises.ValueFirst, Count: exercises.MostTrials, Seed: seed<<8 | batch + 1, Sheet: sheet})
		if err != nil {
			return nil, err
		}
		for trial, more := r.Next(); more; trial, more = r.Next() {
			r.Take(trial, exercises.Answer{})
			list = append(list, trial)
		}
	}
	stocks[key] = list
	return list, nil
}

func (r BiasRow) String() string {
	return fmt.Sprintf("%-8s %-8s %-6s %+.1f %.1f  mean %+.3f covered %.3f leak %+.3f at least %.3f", r.Library, r.Chooser.Name, axes[r.Axis], r.Bias.Bias, r.Noise, r.Mean, r.Covered, r.Leak, r.AtLeast)
}
