package scoring

import (
	"math"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// Taken is what an answer from a sheet says of what was seen: not the colour that was
// taken but the range of colours for which nothing on offer would have been nearer.
// Where the library ends the range has no end either, so that an answer at its border
// is not read as if more could have been said.
//
// All is measured from the target in the parts of CIEDE2000, in ΔE00 units. Value is
// chosen by groups, so its range lies between the lightnesses half way to the next
// groups. Chroma and hue are chosen together among the group's tabs and middles: the
// cell of the one taken is the part of their plane that is nearer to it than to any
// other, laid out in strips of equal chroma.
type Taken struct {
	Darkest, Lightest float64 // ΔL', ±Inf beyond the last group
	Groups            int     // how many there were
	Cell              []Strip
	Choices           int // how many the group offered
}

// Strip is a part of a cell: at ΔC' = Chroma, hues from Reddest to Yellowest (ΔH').
type Strip struct{ Chroma, Reddest, Yellowest float64 }

const (
	// StripWidth is how wide a strip is along ΔC', in ΔE00: a third of the steadiest
	// observer's scatter or less.
	StripWidth = 0.25
	// farthest is how far from the target anything seen can lie: a bias of 3 and four
	// standard deviations of an unpractised observer.
	farthest = 9.0
)

// Place is an answer's place in its sheet: tab I, or between I and J where J is not −1,
// of a value group.
type Place struct{ Group, I, J int }

// PlaceOf finds it; false where the answer is none of the sheet's.
func PlaceOf(a exercises.Answer, sheet *tabs.Sheet) (Place, bool) {
	if sheet == nil {
		return Place{}, false
	}
	i, found := sheet.IndexOf(a.Tab)
	if !found {
		return Place{}, false
	}
	p := Place{I: i, J: -1}
	if a.Neighbour != "" {
		if p.J, found = sheet.IndexOf(a.Neighbour); !found {
			return Place{}, false
		}
	}
	p.Group, found = groupNamed(sheet, a.Group, i)
	return p, found
}

// TakenAt says what it takes to answer a target in a place of the sheet; without
// middles, for somebody who chooses among tabs alone. It is false where the sheet does
// not offer that.
func TakenAt(sheet *tabs.Sheet, target colour.Lab, at Place, middles bool) (Taken, bool) {
	groups, group := sheet.Groups(), at.Group
	if group < 0 || group >= len(groups) {
		return Taken{}, false
	}
	choices, i, j := sheet.Choices(group), at.I, at.J
	if !middles {
		choices = choices[:len(groups[group].Tabs)] // the tabs come first
	}
	own := -1
	for k, c := range choices {
		if c.I == i && c.J == j || c.I == j && c.J == i && j >= 0 {
			own = k
			break
		}
	}
	if own < 0 {
		return Taken{}, false
	}
	t := Taken{Darkest: math.Inf(-1), Lightest: math.Inf(1), Groups: len(groups), Choices: len(choices)}
	half := func(a, b int) float64 {
		c := target
		c.L = (groups[a].Lightness + groups[b].Lightness) / 2
		return colour.Differ(target, c).L
	}
	if group > 0 { // groups go from light to dark
		t.Lightest = half(group-1, group)
	}
	if group < len(groups)-1 {
		t.Darkest = half(group, group+1)
	}
	t.Cell = cellOf(target, choices, own)
	return t, len(t.Cell) > 0
}

// cellOf is the cell of one choice among all. A strip holds what has one chroma C, at
// hue angles that lie 2φ from the target's. A choice (C₁, φ₁) lies off it by
//
//	X = (C₁ − C)/SC along chroma    and    √q·(φ₁ − φ), √q = 2√(C·C₁)/SH, along hue
//
// by CIEDE2000 equations (8), (11), (20) and (21), with sin(φ₁ − φ) taken as φ₁ − φ. So
// another (X', q', φ₂) is farther where
//
//	(q' − q)·φ² − 2(q'φ₂ − qφ₁)·φ + X'² − X² + q'φ₂² − qφ₁² > 0,
//
// up to that root which goes on from the straight line's as q' − q vanishes; the other
// lies beyond all teeth.
func cellOf(target colour.Lab, choices []tabs.Choice, own int) []Strip {
	type place struct{ x, chroma, turn float64 } // x is ΔC', turn is φ
	var some [64]place
	places := some[:0] // of all but the one taken, from the weakest chroma
	var taken place
	from := max(target.Chroma(), 1e-6)
	at := func(x float64) float64 { // the chroma that lies x from the target's
		return (from*(1+weightSC/2*x) + x) / (1 - weightSC/2*x)
	}
	for k := range choices {
		x, h := colour.ChromaHue(target, choices[k].Flat())
		c := max(at(x), 1e-6)
		p := place{x, c, math.Asin(max(-1, min(1, h*stepSH((from+c)/2)/(2*math.Sqrt(from*c)))))}
		if k == own {
			taken = p
			continue
		}
		at := len(places)
		for places = append(places, p); at > 0 && places[at-1].chroma > p.chroma; at-- {
			places[at] = places[at-1]
		}
		places[at] = p
	}
	// off is how far a choice lies from chroma c, squared, and q of the formula above.
	off := func(p *place, c float64) (square, q float64) {
		sum := p.chroma + c
		d, sh := (p.chroma-c)/(1+weightSC/2*sum), stepSH(sum/2)
		return d * d, 4 * c * p.chroma / (sh * sh)
	}
	near := 0 // the first place beyond the chroma of the strip before
	strip := func(x float64) (Strip, bool) {
		c := at(x)
		if c <= 0 {
			return Strip{}, false
		}
		square, q := off(&taken, c)
		reddest, yellowest := math.Inf(-1), math.Inf(1)
		farthestOwn := math.Inf(1) // square of the distance from the choice to the farthest end
		for near < len(places) && places[near].chroma < c {
			near++
		}
		for near > 0 && places[near-1].chroma >= c {
			near--
		}
		// Each place takes away what is nearer to it, from the one nearest in chroma on, to both
		// sides; until one is so far off in chroma alone that it takes nothing, and those beyond
		// it take less.
		for k, by := near, 1; ; k += by {
			if k == len(places) && by > 0 {
				k, by = near-1, -1
			}
			if k < 0 {
				break
			}
			p := &places[k]
			if *p == taken {
				continue
			}
			square2, q2 := off(p, c)
			if square2 > farthestOwn {
				if by < 0 {
					break
				}
				k, by = near, -1
				continue
			}
			a, b := q2-q, q2*p.turn-q*taken.turn
			e := square2 - square + q2*p.turn*p.turn - q*taken.turn*taken.turn
			end := yellowest
			if b < 0 {
				end = reddest
			}
			if !math.IsInf(end, 0) && (a*end-2*b)*end+e > 0 {
				continue
			}
			switch d := b*b - a*e; {
			case d <= 0 && e > 0:
				continue
			case d <= 0 || b == 0:
				return Strip{}, false
			case b > 0:
				yellowest = min(yellowest, e/(b+math.Sqrt(d)))
			default:
				reddest = max(reddest, e/(b-math.Sqrt(d)))
			}
			if reddest >= yellowest {
				return Strip{}, false
			}
			far := max(yellowest-taken.turn, taken.turn-reddest)
			farthestOwn = square + q*far*far
		}
		scale := 2 * math.Sqrt(from*c) / stepSH((from+c)/2)
		return Strip{Chroma: x, Reddest: turned(reddest, scale), Yellowest: turned(yellowest, scale)}, true
	}
	// The cell hangs together, around the choice.
	var room [2 * farthest / StripWidth]Strip
	cell := room[:0]
	grow := func(from, by float64) {
		for x := from; math.Abs(x) < farthest; x += by {
			s, some := strip(x)
			if !some {
				return
			}
			cell = append(cell, s)
		}
	}
	first := (math.Floor(max(-farthest, min(farthest-StripWidth, taken.x))/StripWidth) + 0.5) * StripWidth
	grow(first, StripWidth)
	grow(first-StripWidth, -StripWidth)
	return slices.Clone(cell)
}

// turned is the ΔH' of a turn φ; nothing turns farther than a right angle.
func turned(turn, scale float64) float64 {
	if math.Abs(turn) >= math.Pi/2 {
		return math.Inf(int(math.Copysign(1, turn)))
	}
	return scale * math.Sin(turn)
}

// weightSC is CIEDE2000's 0.045 of SC = 1 + 0.045·C̄'.
const weightSC = 0.045

// stepSH is SH = 1 + 0.015·C̄'·T with T as it is on average over the hues of teeth, from
// 0.58 at 76° to 0.75 at 102° [computed from equation (15)]. Only its ratios between
// chromas count here.
func stepSH(chroma float64) float64 { return 1 + 0.015*0.65*chroma }
