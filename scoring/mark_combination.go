package scoring

import (
	"fmt"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { register(exercises.Combination, Rules{Mark: markCombination}) }

var combinationVerdicts = []verdict{{exercises.Blends, "it blends"}, {exercises.Acceptable, "it is acceptable"}, {exercises.Redo, "it is better to redo the crown"}}

// markCombination marks the tooth taken against the best of the stock, and the
// verdict against that tooth, which is what was asked: one slip is one mark.
//
// It measures no bias. The stock is so sparse, and crowns are drawn so near to
// its teeth or so far from all of them, that a biased observer mostly takes the
// same tooth as one without bias: of a simulated bias of 1 ΔE00, with noise 0.7 and the
// library "natural", answer minus target showed 0.5 in value, 0.4 in chroma and 0.0
// in hue (means of 6,000 answers), and answer minus best tooth no more.
func markCombination(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	m := markColour(t, a, nil)
	m.Free = exercises.Axes{}
	stock := exercises.Stock(t)
	target := t.Target.Lab()
	best, least := exercises.NearestStock(stock, target)
	if best < 0 || !m.HasColour {
		return m
	}
	m.Sparse = true
	if !slices.ContainsFunc(stock, func(s exercises.StockTooth) bool { return s.Name == a.Tab && s.Colour == *a.Colour }) {
		return m // a tooth that was not in the stock
	}
	e := colour.DeltaE00(target, a.Colour.Lab())
	m.HasSheet = true
	m.Best = tabs.Answer{I: best, J: -1, Colour: stock[best].Colour, E: least}
	m.Excess = max(0, e-least)
	for _, s := range stock {
		if colour.DeltaE00(target, s.Colour.Lab()) < e {
			m.nearer++
		}
	}
	m.Nearest = m.nearer == 0
	tooth := Check{Name: "nearest tooth", Right: m.Excess <= Perceptibility.Value}
	switch {
	case m.Excess < 0.005:
		tooth.Why = fmt.Sprintf("no stock tooth is nearer than %s", a.Tab)
	case tooth.Right:
		tooth.Why = fmt.Sprintf("%s is nearest with ΔE00 %.1f, and yours hardly farther with %.1f", stock[best].Name, least, e)
	default:
		tooth.Why = fmt.Sprintf("%s is nearest with ΔE00 %.1f; yours is farther off by %.1f", stock[best].Name, least, m.Excess)
	}
	verdict, measures := markVerdict("verdict", combinationVerdicts, a.Choice, verdictOf(e),
		fmt.Sprintf("the tooth you took differs by %s ΔE00, %s", Figure(e), BandOf(e).Words()))
	m.Checks, m.Measures = []Check{tooth, verdict}, measures
	return m
}
