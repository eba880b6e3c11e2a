package scoring

import (
	"math"

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

// cellOf is the cell of one choice among all. In a strip everything has one chroma C,
// and a choice (c, h) lies off it by
//
//	X = (c − C)/SC along chroma    and    r·(y − y₀) along hue
//
// with y₀ its hue seen from the target as if its chroma were C, and r what a step of
// hue counts at C against what it counts between the target and C, both by CIEDE2000
// equations (8), (11), (20) and (21) for SC and SH. So it is nearer than another where
//
//	2(y₀' − y₀)·y ≤ X'²/r² − X²/r² + y₀'² − y₀²
func cellOf(target colour.Lab, choices []tabs.Choice, own int) []Strip {
	from := target.Chroma()
	at := func(x float64) float64 { // the chroma that lies x from the target's
		return (from*(1+weightSC/2*x) + x) / (1 - weightSC/2*x)
	}
	// hue is for a chroma of 1, without SH
	layout := func(c tabs.Choice) (x, chroma, hue float64) {
		flat, same := c.Flat(), target
		same.L = flat.L
		d := colour.Differ(same, flat)
		chroma = at(d.C)
		return d.C, chroma, d.H * stepSH((from+chroma)/2) / math.Sqrt(max(chroma, 1e-6))
	}
	ownX, ownChroma, ownHue := layout(choices[own])
	type rival struct{ chroma, hue float64 }
	rivals := make([]rival, 0, len(choices))
	for k, c := range choices {
		if k == own {
			continue
		}
		if _, chroma, hue := layout(c); chroma != ownChroma || hue != ownHue {
			rivals = append(rivals, rival{chroma, hue})
		}
	}
	strip := func(x float64) (Strip, bool) {
		c := at(x)
		if c <= 0 {
			return Strip{}, false
		}
		scale := math.Sqrt(c) / stepSH((from+c)/2)
		r := math.Sqrt(c/max(from, 1e-6)) * stepSH((from+c)/2) / stepSH(c)
		square := func(chroma float64) float64 {
			d := (chroma - c) / (r * (1 + weightSC/2*(chroma+c)))
			return d * d
		}
		hue := ownHue * scale
		mine := square(ownChroma) + hue*hue
		reddest, yellowest := math.Inf(-1), math.Inf(1)
		for _, p := range rivals {
			hue2 := p.hue * scale
			rest := square(p.chroma) + hue2*hue2 - mine
			switch d := 2 * (hue2 - hue); {
			case d > 0:
				if y := rest / d; y < yellowest {
					yellowest = y
				}
			case d < 0:
				if y := rest / d; y > reddest {
					reddest = y
				}
			case rest < 0:
				yellowest = math.Inf(-1)
			}
		}
		return Strip{Chroma: x, Reddest: reddest, Yellowest: yellowest}, reddest < yellowest
	}
	// The cell hangs together, around the choice.
	var cell []Strip
	grow := func(from, by float64) {
		for x := from; math.Abs(x) < farthest; x += by {
			s, some := strip(x)
			if !some {
				return
			}
			cell = append(cell, s)
		}
	}
	first := (math.Floor(max(-farthest, min(farthest-StripWidth, ownX))/StripWidth) + 0.5) * StripWidth
	grow(first, StripWidth)
	grow(first-StripWidth, -StripWidth)
	return cell
}

// weightSC is CIEDE2000's 0.045 of SC = 1 + 0.045·C̄'.
const weightSC = 0.045

// stepSH is SH = 1 + 0.015·C̄'·T with T as it is on average over the hues of teeth, from
// 0.58 at 76° to 0.75 at 102° [computed from equation (15)]. Only its ratios between
// chromas count here.
func stepSH(chroma float64) float64 { return 1 + 0.015*0.65*chroma }
