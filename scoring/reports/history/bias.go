package history

import (
	"slices"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Judge holds an answer that stood for a colour, as biases and sizes are taken from it.
func Judge(a scoring.Attempt, m scoring.Mark, sheet *tabs.Sheet) Judged { return judge(&a, &m, sheet) }

func judge(a *scoring.Attempt, m *scoring.Mark, sheet *tabs.Sheet) Judged {
	j := Judged{Target: a.Trial.Target, D: m.Difference, Free: m.Free, Weight: 1}
	at, placed := m.Place() // of no pair, no stock, and nothing that is no longer of its sheet
	if !m.HasColour {
		at, placed = scoring.PlaceOf(a.Answer, sheet)
	}
	if placed {
		j.sheet, j.at = sheet, at
	}
	return j
}

// Biases are somebody's biases along value, chroma and hue, and what each answer says of
// them, a list for each sitting.
type Biases struct {
	Estimates [3]scoring.Estimate
	Parts     [3][][]float64
}

// fewForMiddles is how many answers without one "between these two" show that somebody
// chooses among tabs alone: of observers who take middles, half the answers are some.
const fewForMiddles = 10

// BiasOf estimates the biases behind answers that come in sittings, or in items that
// were answered several times. Every page takes them from here: where a sheet was
// chosen from, by [trend.BiasOfChoices]; elsewhere the signed errors stand for
// themselves, if they could run either way.
func BiasOf(sittings [][]Judged) Biases {
	chosen, between := 0, 0
	for _, list := range sittings {
		for _, j := range list {
			if j.sheet == nil {
				continue
			}
			chosen++
			if j.at.J >= 0 {
				between++
			}
		}
	}
	middles := between > 0 || chosen < fewForMiddles
	taken, told := make([][]scoring.Taken, len(sittings)), 0
	var plain [3][][]float64
	others := false
	for a := range plain {
		plain[a] = make([][]float64, len(sittings))
	}
	for i, list := range sittings {
		taken[i] = make([]scoring.Taken, 0, len(list))
		for _, j := range list {
			if j.sheet != nil {
				if t, ok := scoring.TakenAt(j.sheet, j.Target.Lab(), j.at, middles); ok {
					taken[i], told = append(taken[i], t), told+1
					continue
				}
			}
			for a, axis := range Axes {
				if x := axis.Of(j); x == x {
					plain[a][i], others = append(plain[a][i], x), true
				}
			}
		}
	}
	var b Biases
	if told == 0 { // no sheet, or choices that no colour at all is nearest to
		for a := range b.Estimates {
			b.Parts[a], b.Estimates[a] = plain[a], Mean(plain[a])
		}
		return b
	}
	c := trend.BiasOfChoices(taken, Level)
	b.Estimates, b.Parts = c.Bias, c.Parts
	if !others {
		return b
	}
	for a := range b.Estimates {
		for i := range sittings {
			b.Parts[a][i] = append(b.Parts[a][i], plain[a][i]...)
		}
		if c.Bias[a].Open() == 0 {
			b.Estimates[a] = Mean(b.Parts[a])
		}
	}
	return b
}

// A bias is that of now: people learn, and it is the latest answers that say what to
// correct. So many pin it down to about 0.1 ΔE00, and a sitting more or less changes
// little. Both numbers are house rules.
const (
	answersForBias  = 240
	sittingsForBias = 6
)

// BiasOfKinds is that of exercises pooled, from the latest sittings that hold enough
// answers, oldest first.
func BiasOfKinds(kinds []*Kind) Biases {
	var all []*Sitting
	for _, k := range kinds {
		all = append(all, k.Sittings...)
	}
	slices.SortStableFunc(all, func(a, b *Sitting) int { return a.First.Compare(b.First) })
	from, answers := len(all), 0
	for n := 0; from > 0 && (answers < answersForBias || n < sittingsForBias); from-- {
		if m := len(all[from-1].Judged); m > 0 {
			answers, n = answers+m, n+1
		}
	}
	var sittings [][]Judged
	for _, s := range all[from:] {
		sittings = append(sittings, s.Judged)
	}
	return BiasOf(sittings)
}

// BiasBySitting is what the answers of each sitting of an exercise say of the bias
// along value, chroma and hue.
func BiasBySitting(k *Kind) [3][][]float64 {
	var sittings [][]Judged
	for _, s := range k.Sittings {
		sittings = append(sittings, s.Judged)
	}
	return BiasOf(sittings).Parts
}

// BiasNote says how to read a table of biases.
const BiasNote = "Bias in ΔE00 units: above 0 is too light, too chromatic, too yellow. It is named where its interval leaves 0 out. " +
	"Where the library ends nobody can answer further; that is allowed for. Where it ends too soon to tell, it says \"at least\" or \"at most\"."

// BiasOfNow says of a bias over a long practice which answers it is of.
const BiasOfNow = "It is that of now: of the latest 240 answers or a few more."
