package scoring

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// WrongPairs is the measure of how far apart the tabs of wrong pairs are.
const WrongPairs = "difference of wrong pairs"

func init() {
	register(exercises.Bench, Rules{Mark: markBench, Singly: true, Together: benchTogether,
		TogetherWords: "Pairs of one round hang together, since whoever takes one tab for another errs twice; the interval allows for it."})
}

// benchTogether: whoever takes one tab for another errs twice, which alone would make
// it 2. Simulated observers that find 58 to 97 % of 6 or 16 pairs show 1.3 to 1.8;
// source: own simulation, which a test in scoring/reports/history repeats.
const benchTogether = 1.7

// markBench checks each pair of a round. The size of a mistake is known only where
// the user's own library says what the tabs measure.
//
// The pairs of a round are not independent, since whoever errs errs at least
// twice; a share over them takes its interval from ShareClustered in scoring/trend.
func markBench(t exercises.Trial, a exercises.Answer, sheet *tabs.Sheet) Mark {
	l, err := exercises.LayoutOf(t)
	if err != nil || len(a.Order) == 0 {
		return Mark{}
	}
	own := exercises.BenchLibrary(sheet)
	names, _ := l.Names(sheet)
	var m Mark
	right, wrong, sum := 0, 0, 0.0
	for place, tab := range l.A {
		taken, ok := l.Taken(a.Order, place)
		c := Check{Name: "pair", Right: ok && taken == tab}
		switch partner, _ := (exercises.Layout{A: []int{taken}, B: []int{taken}}).Names(sheet); {
		case c.Right:
			right++
			c.Why = names[place] + " found"
		case !ok:
			c.Why = names[place] + " left without a pair"
		case own == nil || tab >= own.Len() || taken >= own.Len():
			c.Why = fmt.Sprintf("%s taken for %s", partner[0], names[place])
		default:
			e := colour.DeltaE00(own.Measured(tab), own.Measured(taken))
			wrong++
			sum += e
			c.Why = fmt.Sprintf("%s taken for %s, %.1f ΔE00 apart", partner[0], names[place], e)
		}
		m.Checks = append(m.Checks, c)
	}
	n := len(l.A)
	m.Measures = []Measure{
		{Name: "pairs right", Value: float64(right), Unit: fmt.Sprintf("of %d; chance gives 1", n)},
		{Name: "as many by chance alone", Value: 100 * ByChance(n, right), Unit: "% of tries"},
	}
	if wrong > 0 {
		m.Measures = append(m.Measures, Measure{Name: WrongPairs, Value: sum / float64(wrong), Unit: "ΔE00, mean"})
	}
	return m
}

// ByChance is the probability that whoever pairs two sets of n tabs at random has
// at least so many pairs right. A random permutation of n has exactly j fixed
// points with probability (1/j!)·Σ(−1)^i/i! for i = 0 … n−j; on average it has
// one, whatever n is.
func ByChance(n, atLeast int) float64 {
	var p float64
	for j := max(0, atLeast); j <= n; j++ {
		exactly, term := 0.0, 1.0
		for i := 0; i <= n-j; i++ {
			exactly += term
			term /= -float64(i + 1)
		}
		for i := 2; i <= j; i++ {
			exactly /= float64(i)
		}
		p += exactly
	}
	return p
}

// BenchChance says what a result must beat.
func BenchChance(n int) string {
	return fmt.Sprintf("Chance alone finds 1 pair of %d on average; 4 or more in %.1f %% of tries. One wrong pair cannot be: whoever errs, errs twice.", n, 100*ByChance(n, 4))
}
