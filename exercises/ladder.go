package exercises

import (
	"math"

	"shadedrill/colour"
)

// LadderStep is the size of a step of the whiteness ladder in WI_D: 2½ times the
// 0.72 that half of observers see (ΔWI_D perceptibility, Pérez et al. 2019, Dent
// Mater 35:292–297, figure from memory). House choice: plain to see, and a usual
// course at home is then some five or six steps. Steps are this ladder's own: those
// of another ladder have another size.
const LadderStep = 1.8

// The ladder runs from a dark, yellow natural tooth along the direction that
// whitening takes: L* up, b* down, a* slightly down. Published studies agree on the
// signs; the shares are a house choice.
const ladderSteps = 25

var (
	ladderFoot = colour.Lab{L: 70, A: 4, B: 30}
	whiteningL = 2.0
	whiteningA = -0.5
	whiteningB = -3.0
)

// along is the colour that lies a ΔE*ab distance along the whitening direction
// from another, the direction's parts each stretched by a factor.
func alongWhitening(from colour.Lab, eab float64, stretch [3]float64) colour.Lab {
	l, a, b := whiteningL*stretch[0], whiteningA*stretch[1], whiteningB*stretch[2]
	n := eab / math.Sqrt(l*l+a*a+b*b)
	return colour.Lab{L: from.L + n*l, A: from.A + n*a, B: from.B + n*b}
}

var unstretched = [3]float64{1, 1, 1}

// whitenessPerEab is how much WI_D a ΔE*ab along the whitening direction gains.
var whitenessPerEab = colour.WhitenessIndex(alongWhitening(ladderFoot, 1, unstretched)) - colour.WhitenessIndex(ladderFoot)

// Ladder is a row of colours by rising whiteness: the rungs, darkest first.
type Ladder struct {
	Rungs   []colour.SRGB
	heights []float64 // WI_D of the rungs as shown
}

// ladderOf is the ladder in daylight: 26 colours, whiter by 1.8 ΔWI_D from one to the next
// to within 0.15; with steps so many times as large, which are fewer; under a lamp, if not
// nil, the same surfaces, whose steps have other sizes there.
func ladderOf(wide float64, lamp func(colour.Lab) colour.Lab) Ladder {
	var rungs []colour.SRGB
	for i := range int(ladderSteps/wide) + 1 {
		on := alongWhitening(ladderFoot, float64(i)*wide*LadderStep/whitenessPerEab, unstretched)
		if lamp != nil {
			on = lamp(on)
		}
		rungs = append(rungs, rung(on))
	}
	return newLadder(rungs)
}

func newLadder(rungs []colour.SRGB) Ladder {
	l := Ladder{Rungs: rungs}
	for _, r := range rungs {
		l.heights = append(l.heights, colour.WhitenessIndex(r.Lab()))
	}
	return l
}

// rung is the displayable colour nearest to one of those whose whiteness is
// right to 0.15. Plain rounding would be off by up to one.
func rung(c colour.Lab) colour.SRGB {
	const tolerance, around = 0.15, 3
	wanted := colour.WhitenessIndex(c)
	middle, _ := c.SRGB()
	best, least := middle, math.Inf(1)
	for r := -around; r <= around; r++ {
		for g := -around; g <= around; g++ {
			for b := -around; b <= around; b++ {
				shown := colour.SRGB{R: moved(middle.R, r), G: moved(middle.G, g), B: moved(middle.B, b)}
				if math.Abs(colour.WhitenessIndex(shown.Lab())-wanted) > tolerance {
					continue
				}
				if e := colour.DeltaE00(c, shown.Lab()); e < least {
					best, least = shown, e
				}
			}
		}
	}
	return best
}

func moved(code uint8, by int) uint8 { return uint8(max(0, min(255, int(code)+by))) }

// LadderOf is the ladder that a trial shows.
func LadderOf(t Trial) Ladder { return newLadder(t.PatchesOf("rung")) }

// last is the place of the whitest rung.
func (l Ladder) last() float64 { return float64(len(l.Rungs) - 1) }

// Place is where a colour belongs on the ladder by its whiteness: 0 at the
// darkest rung, 1.5 half way from the second to the third; beyond the ends it goes
// on with the last step. A ladder of fewer than two rungs gives NaN.
func (l Ladder) Place(c colour.Lab) float64 {
	i, w := 0, colour.WhitenessIndex(c)
	if len(l.heights) < 2 {
		return math.NaN()
	}
	for i < len(l.heights)-2 && w > l.heights[i+1] {
		i++
	}
	return float64(i) + (w-l.heights[i])/(l.heights[i+1]-l.heights[i])
}

// Whiteness is the WI_D at a place of the ladder: the inverse of Place.
func (l Ladder) Whiteness(place float64) float64 {
	if len(l.heights) < 2 {
		return math.NaN()
	}
	i := int(math.Max(0, math.Min(math.Floor(place), float64(len(l.heights)-2))))
	return l.heights[i] + (place-float64(i))*(l.heights[i+1]-l.heights[i])
}
