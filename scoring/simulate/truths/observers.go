// Package truths lets observers practise whose biases and abilities are known, many
// times over, and says how near the truth comes what is told of them: the tables of
// scoring/trend and scoring/reports/history. Nobody's results.
package truths

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
)

// Plan is how often everything is simulated.
type Plan struct {
	Runs     int
	Seed     uint64
	Progress func(done int) // may be nil
	Stopped  func() error
}

// each works through the runs, side by side.
func (p Plan) each(do func(run int) error) error {
	var (
		mu    sync.Mutex
		next  int
		first error
		all   sync.WaitGroup
	)
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for {
				mu.Lock()
				if first == nil && p.Stopped != nil {
					first = p.Stopped()
				}
				run := next
				next++
				stop := first != nil || run >= p.Runs
				if !stop && p.Progress != nil {
					p.Progress(run)
				}
				mu.Unlock()
				if stop {
					return
				}
				if err := do(run); err != nil {
					mu.Lock()
					first = err
					mu.Unlock()
					return
				}
			}
		})
	}
	all.Wait()
	return first
}

// Chooser is how an observer comes from what was seen to an answer.
type Chooser struct {
	Name  string
	Words string
	Take  func(exercises.Trial, *tabs.Sheet, observer.Observer, *rand.Rand) exercises.Answer
	// guesses is the share of answers that have nothing to do with what was seen.
	guesses float64
}

// The choosers. Only the first shares the program's model.
var (
	// ByTheBook takes the group by lightness, then what is nearest by chroma and hue.
	ByTheBook = Chooser{Name: "as-taught", Words: "They answer as the exercise teaches: the group by lightness, then the nearest by chroma and hue.", Take: func(t exercises.Trial, sheet *tabs.Sheet, who observer.Observer, rng *rand.Rand) exercises.Answer {
		seen := who.Perceive(t.Target.Lab(), rng)
		c := sheet.NearestChoice(sheet.NearestGroup(seen), seen)
		return exercises.TakeTab(sheet, c.I, c.J)
	}}
	// atOnce looks at every tab and every middle of all groups and takes what differs
	// least as a whole, in CIE76 with lightness halved: no groups, another measure.
	atOnce = Chooser{Name: "at-once", Words: "They look at every tab and middle of all groups at once, by a measure of their own (CIE76, lightness halved), and know no groups.", Take: func(t exercises.Trial, sheet *tabs.Sheet, who observer.Observer, rng *rand.Rand) exercises.Answer {
		seen := who.Perceive(t.Target.Lab(), rng)
		var best tabs.Choice
		least := math.Inf(1)
		for g := range sheet.Groups() {
			for _, c := range sheet.Choices(g) {
				if e := plainly(seen, c.Shown.Lab(), 0.5); e < least {
					best, least = c, e
				}
			}
		}
		return exercises.TakeTab(sheet, best.I, best.J)
	}}
	// tabsOnly sees value, chroma and hue in three looks of their own, takes the group
	// whose tab of the nearest chroma is nearest in lightness, and never answers between
	// two.
	tabsOnly = Chooser{Name: "tabs-only", Words: "They look twice, take the group by the tab of the nearest chroma in it, and never answer between two.", Take: func(t exercises.Trial, sheet *tabs.Sheet, who observer.Observer, rng *rand.Rand) exercises.Answer {
		value, rest := who.Perceive(t.Target.Lab(), rng), who.Perceive(t.Target.Lab(), rng)
		group, least := 0, math.Inf(1)
		for g, list := range sheet.Groups() {
			like, off := list.Tabs[0], math.Inf(1)
			for _, i := range list.Tabs {
				if d := math.Abs(sheet.Lab(i).Chroma() - value.Chroma()); d < off {
					like, off = i, d
				}
			}
			if d := math.Abs(sheet.Lab(like).L - value.L); d < least {
				group, least = g, d
			}
		}
		best, least := 0, math.Inf(1)
		for _, i := range sheet.Groups()[group].Tabs {
			same := sheet.Lab(i)
			same.L = rest.L
			if e := colour.DeltaE00(rest, same); e < least {
				best, least = i, e
			}
		}
		return exercises.TakeTab(sheet, best, -1)
	}}
)

// Guesses answers at random and looks at nothing.
var Guesses = guessing(1)

// Choosers are all of them.
var Choosers = []Chooser{ByTheBook, atOnce, tabsOnly, Guesses}

// guessing answers a share of the items at random, the others as taught.
func guessing(share float64) Chooser {
	return Chooser{Name: "guesses", Words: "They answer at random.", guesses: share,
		Take: func(t exercises.Trial, sheet *tabs.Sheet, who observer.Observer, rng *rand.Rand) exercises.Answer {
			if rng.Float64() < share {
				return guess(sheet, rng)
			}
			return ByTheBook.Take(t, sheet, who, rng)
		}}
}

func guess(sheet *tabs.Sheet, rng *rand.Rand) exercises.Answer {
	return exercises.TakeTab(sheet, rng.IntN(sheet.Len()), -1)
}

// plainly is CIE76 with a weight of lightness.
func plainly(a, b colour.Lab, weight float64) float64 {
	return math.Hypot(weight*(a.L-b.L), math.Hypot(a.A-b.A, a.B-b.B))
}
