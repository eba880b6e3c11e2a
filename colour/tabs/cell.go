package tabs

import (
	"math"
	"sync"

	"shadedrill/colour"
)

// Strip is a part of a cell: around ΔC' = Chroma, in a width of Width along it, hues from
// Reddest to Yellowest (ΔH'), all measured from a target in the parts of CIEDE2000, in
// ΔE00 units.
type Strip struct{ Chroma, Width, Reddest, Yellowest float64 }

const (
	// stripWidth is how wide a strip is at most, in ΔE00. Those of one cell are of one
	// width, so that the first begins where the cell does and the last ends there.
	stripWidth = 0.5
	// narrowings is how often the place where a cell ends is halved, from a strip's width.
	narrowings = 6
	// farthest is how far from the target anything seen can lie: a bias of 3 and four
	// standard deviations of an unpractised observer.
	farthest = 9.0
)

// Cell is the part of the plane of chroma and hue that is nearer to one choice of a
// group, the one numbered own among its first so many, than to any other of those: in
// strips, seen from a target. Choices at the border of a group have cells without an end.
//
// A cell is laid out once for all targets that lie together, from a colour among them,
// and remembered. From each target it is then measured anew.
func (s *Sheet) Cell(group, own, among int, target colour.Lab) []Strip {
	from, key := frameNear(target, group, own, among)
	to := from.place(target)
	cell := s.cells.of(key, func() []turns { return cellOf(from, s.Choices(group)[:among], own) })
	strips := make([]Strip, 0, len(cell))
	for _, part := range cell {
		scale := 2 * math.Sqrt(to.chroma*part.chroma) / stepSH((to.chroma+part.chroma)/2)
		strips = append(strips, Strip{
			Chroma:  (part.chroma - to.chroma) / (1 + weightSC/2*(part.chroma+to.chroma)),
			Width:   part.width,
			Reddest: turned(part.reddest-to.turn, scale), Yellowest: turned(part.yellowest-to.turn, scale),
		})
	}
	return strips
}

// cells are those laid out so far; the zero value is ready.
type cells struct {
	sync.RWMutex
	known map[cellKey][]turns
}

// cellKey is a choice, how many it is one of, and where the target lies.
type cellKey struct{ group, own, among, a, b int32 }

// mostCells are remembered, so that a hostile book fills no memory.
const mostCells = 1 << 15

// of returns a cell, which lay lays out where it is not known.
func (c *cells) of(key cellKey, lay func() []turns) []turns {
	c.RLock()
	cell, known := c.known[key]
	c.RUnlock()
	if known {
		return cell
	}
	cell = lay()
	c.Lock()
	defer c.Unlock()
	if c.known == nil {
		c.known = map[cellKey][]turns{}
	}
	if len(c.known) < mostCells {
		c.known[key] = cell
	}
	return cell
}

// frame is a colour from which others are measured by chroma and hue.
type frame struct {
	colour.Lab
	chroma float64
}

// apart is how far in a* and b* targets lie apart that share a frame. CIEDE2000 stretches
// a* by chroma, so that a cell looks a little otherwise from each target; with frames so
// far apart hardly more colours are told plainly wrong than with one for each target, 57 of
// 16,000 and 49 (TestCellHoldsWhatIsNearest).
const apart = 2.0

// frameNear is the frame that a target shares, and by what its cells are remembered.
func frameNear(target colour.Lab, group, own, among int) (frame, cellKey) {
	a, b := math.Round(target.A/apart), math.Round(target.B/apart)
	f := frame{Lab: colour.Lab{L: flatL, A: a * apart, B: b * apart}}
	f.chroma = max(f.Chroma(), 1e-6)
	return f, cellKey{int32(group), int32(own), int32(among), int32(a), int32(b)}
}

// at is the chroma that lies ΔC' = x from the frame's.
func (f frame) at(x float64) float64 {
	return (f.chroma*(1+weightSC/2*x) + x) / (1 - weightSC/2*x)
}

// bearing is a colour seen from a frame: ΔC' = x, its chroma, and half of the angle by which
// its hue lies off.
type bearing struct{ x, chroma, turn float64 }

// place sees a colour from the frame.
func (f frame) place(c colour.Lab) bearing {
	x, h := colour.ChromaHue(f.Lab, c)
	chroma := max(f.at(x), 1e-6)
	return bearing{x, chroma, math.Asin(max(-1, min(1, h*stepSH((f.chroma+chroma)/2)/(2*math.Sqrt(f.chroma*chroma)))))}
}

// turns are a strip of a cell in its frame: its chroma, its width along ΔC', and the halves
// of the hue angles.
type turns struct{ chroma, width, reddest, yellowest float64 }

// cellOf is the cell of one choice among all. A strip holds what has one chroma C, at
// hue angles that lie 2φ from the frame's. A choice (C₁, φ₁) lies off it by
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
func cellOf(f frame, choices []Choice, own int) []turns {
	var some [64]bearing
	places := some[:0] // of all but the one taken, from the weakest chroma
	var taken bearing
	for k := range choices {
		p := f.place(choices[k].flat)
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
	off := func(p *bearing, c float64) (square, q float64) {
		sum := p.chroma + c
		d, sh := (p.chroma-c)/(1+weightSC/2*sum), stepSH(sum/2)
		return d * d, 4 * c * p.chroma / (sh * sh)
	}
	near := 0 // the first place beyond the chroma of the strip before
	strip := func(x float64) (turns, bool) {
		c := f.at(x)
		if c <= 0 {
			return turns{}, false
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
				return turns{}, false
			case b > 0:
				yellowest = min(yellowest, e/(b+math.Sqrt(d)))
			default:
				reddest = max(reddest, e/(b-math.Sqrt(d)))
			}
			if reddest >= yellowest {
				return turns{}, false
			}
			far := max(yellowest-taken.turn, taken.turn-reddest)
			farthestOwn = square + q*far*far
		}
		return turns{chroma: c, reddest: reddest, yellowest: yellowest}, true
	}
	// The cell hangs together, around the choice.
	around := max(-farthest, min(farthest, taken.x))
	if !holds(strip, around) {
		return nil
	}
	end := func(by float64) float64 {
		within, beyond := around, around+by
		for {
			if math.Abs(beyond) >= farthest {
				beyond = math.Copysign(farthest, by)
			}
			if !holds(strip, beyond) {
				break
			}
			if within = beyond; math.Abs(within) == farthest {
				return within
			}
			beyond += by
		}
		for range narrowings {
			if middle := (within + beyond) / 2; holds(strip, middle) {
				within = middle
			} else {
				beyond = middle
			}
		}
		return (within + beyond) / 2
	}
	from, to := end(-stripWidth), end(stripWidth)
	n := max(1, math.Ceil((to-from)/stripWidth))
	cell := make([]turns, 0, int(n))
	for i := range int(n) {
		if s, some := strip(from + (float64(i)+0.5)*(to-from)/n); some {
			s.width = (to - from) / n
			cell = append(cell, s)
		}
	}
	return cell
}

func holds(strip func(float64) (turns, bool), x float64) bool {
	_, some := strip(x)
	return some
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
