package exercises

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"shadedrill/colour"
	"shadedrill/exercises/adaptive"
)

// What a threshold can be measured with is what an 8-bit screen can show: near
// perceptibility a colour has a handful of neighbours in a pure direction, at
// irregular distances. So the pairs are found first, and their true ΔE00 are the
// levels that the method chooses among.
//
//	standards × two senses × wished levels ──colour.Around──> pairs of bytes
//	     pairs within pureWithin of the direction ──> one track's levels

// pureWithin is how far, in degrees, a pair may lie off its direction. At 20° the
// wanted attribute makes up at least 88 % of the difference's square. House choice.
const pureWithin = 20

// levelTolerance is how close in ΔE00 pairs are taken to be one level, among which
// chance chooses: a tenth of the smallest step that can be shown.
const levelTolerance = 0.02

// tracks are the directions measured, each in both senses and around three
// standards: a light, a middle and a dark tooth colour. Each direction has
// standards of its own, those of the region of natural teeth around which a screen
// has many small steps in it: near hue 94° one code of blue is chroma alone,
// 0.24 ΔE00, where at hue 84° the smallest pure step of chroma is 0.6.
var tracks = []struct {
	attribute string
	senses    [2]colour.Direction
	standards [3]colour.LCh
}{
	{AttributeValue, [2]colour.Direction{colour.Lighter, colour.Darker},
		[3]colour.LCh{{L: 82, C: 18, H: 84}, {L: 74, C: 20, H: 86}, {L: 68, C: 22, H: 84}}},
	{AttributeChroma, [2]colour.Direction{colour.MoreChroma, colour.LessChroma},
		[3]colour.LCh{{L: 78, C: 28, H: 94}, {L: 76, C: 27, H: 94}, {L: 70, C: 26, H: 94}}},
	{AttributeHue, [2]colour.Direction{colour.LargerHue, colour.SmallerHue},
		[3]colour.LCh{{L: 84, C: 25, H: 86}, {L: 79, C: 20, H: 88}, {L: 70, C: 21, H: 88}}},
}

// thresholdPairs are the pairs of one track, the smallest difference first.
type thresholdPairs []colour.Pair

// around returns a pair at the level, drawn among those that share it.
func (p thresholdPairs) around(level float64, rng *rand.Rand) colour.Pair {
	lo, _ := slices.BinarySearchFunc(p, level-levelTolerance, byLevel)
	hi, _ := slices.BinarySearchFunc(p, level+levelTolerance, byLevel)
	if lo == hi { // the level is not one of ours: the nearest
		nearest := min(lo, len(p)-1)
		if lo > 0 && level-p[lo-1].E < math.Abs(p[nearest].E-level) {
			nearest = lo - 1
		}
		return p[nearest]
	}
	return p[lo+rng.IntN(hi-lo)]
}

func byLevel(p colour.Pair, level float64) int { return cmp.Compare(p.E, level) }

// highestLevel is the largest difference shown, in ΔE00: well above any published
// acceptability, so that the curve's upper end is seen.
const highestLevel = 7.5

// pairsOf returns the pairs of each track in the order of tracks. They depend on
// nothing but sRGB and CIEDE2000, so they are found once.
var pairsOf = sync.OnceValue(func() []thresholdPairs {
	all := make([]thresholdPairs, len(tracks))
	for i, track := range tracks {
		seen := map[[2]colour.SRGB]bool{}
		for _, at := range track.standards {
			standard, _ := at.Lab().SRGB()
			for _, sense := range track.senses {
				for level := 0.15; level <= highestLevel; level *= 1.08 {
					pair := colour.Around(standard, level, sense)
					key := [2]colour.SRGB{pair.Standard, pair.Sample}
					if pair.Standard == pair.Sample || !(pair.Angle <= pureWithin) || seen[key] {
						continue
					}
					seen[key] = true
					all[i] = append(all[i], pair)
				}
			}
		}
		slices.SortStableFunc(all[i], func(a, b colour.Pair) int { return cmp.Compare(a.E, b.E) })
	}
	return all
})

// ThresholdLevels are the differences along an attribute, in ΔE00, that this
// exercise chooses among: what an 8-bit screen can show, thinned to levels at least
// levelTolerance and 3 % apart, for a method gains nothing from choosing between 3.00
// and 3.02. There are none for attributes other than value, chroma and hue.
func ThresholdLevels(attribute string) adaptive.Levels {
	var kept adaptive.Levels
	for i, track := range tracks {
		if track.attribute != attribute {
			continue
		}
		for _, pair := range pairsOf()[i] {
			if n := len(kept); n == 0 || pair.E-kept[n-1] >= max(levelTolerance, 0.03*pair.E) {
				kept = append(kept, pair.E)
			}
		}
	}
	return kept
}

// SmallestStep is the smallest difference along an attribute that this exercise
// can show, in ΔE00; no threshold below it can be measured on such a screen.
// For attributes other than value, chroma and hue it is the largest of the three.
func SmallestStep(attribute string) float64 {
	largest := 0.0
	for i, track := range tracks {
		smallest := pairsOf()[i][0].E
		if track.attribute == attribute {
			return smallest
		}
		largest = max(largest, smallest)
	}
	return largest
}
