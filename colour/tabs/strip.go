package tabs

import (
	"math"

	"shadedrill/colour"
)

// In the first step a value group is shown by one patch, and all groups' patches
// have one hue angle and one chroma, so that the strip varies in lightness alone:
// if each group were shown by a tab of its own, a khaki beside an orange-brown would
// be told apart by what the step is not about. The common hue and chroma are those of
// the mean of all tabs as shown, the chroma held within what the tabs of every
// group span, where there is such a chroma: at the light end strong ones are no
// tooth's. A group whose lightness the display cannot show with that chroma has
// the strongest that it can.
func (s *Sheet) layStrip() {
	var a, b float64
	least, most := 0.0, math.Inf(1)
	for _, g := range s.groups {
		lo, hi := math.Inf(1), 0.0
		for _, i := range g.Tabs {
			a, b = a+s.labs[i].A/float64(len(s.labs)), b+s.labs[i].B/float64(len(s.labs))
			lo, hi = min(lo, s.labs[i].Chroma()), max(hi, s.labs[i].Chroma())
		}
		least, most = max(least, lo), min(most, hi)
	}
	common := colour.Lab{A: a, B: b}
	if c := common.Chroma(); least <= most && c > 0 {
		common = common.Mix(colour.Lab{}, 1-min(most, max(least, c))/c)
	}
	for g := range s.groups {
		common.L = meanShown(s.groups[g].Tabs, s.labs)
		s.groups[g].strip = true
		s.groups[g].Shown = steady(fitting(common))
	}
}

// fitting is the colour of the given lightness and hue whose chroma comes nearest to
// that asked for and that can be shown. Greys can always be.
func fitting(c colour.Lab) colour.Lab {
	if _, fits := c.SRGB(); fits {
		return c
	}
	grey := colour.Lab{L: c.L}
	low, high := 0.0, 1.0 // shares of the chroma that fit and that do not
	for range 20 {
		middle := (low + high) / 2
		if _, fits := grey.Mix(c, middle).SRGB(); fits {
			low = middle
		} else {
			high = middle
		}
	}
	return grey.Mix(c, low)
}

// steady gives a colour the bytes that keep hue and chroma best. Rounding each byte by itself lets a* stray by 0.5, which is seen from patch
// to patch sooner than as much in lightness.
func steady(wanted colour.Lab) colour.SRGB {
	shown, _ := wanted.SRGB()
	best, least := shown, math.Inf(1)
	for k := range 125 {
		r, g, b := int(shown.R)+k%5-2, int(shown.G)+k/5%5-2, int(shown.B)+k/25-2
		if min(r, g, b) < 0 || max(r, g, b) > 255 {
			continue
		}
		next := colour.SRGB{R: uint8(r), G: uint8(g), B: uint8(b)}
		c := next.Lab()
		if e := math.Hypot(c.A-wanted.A, c.B-wanted.B) + math.Abs(c.L-wanted.L)/4; e < least {
			best, least = next, e
		}
	}
	return best
}

func meanShown(of []int, labs []colour.Lab) (l float64) {
	for _, i := range of {
		l += labs[i].L
	}
	return l / float64(len(of))
}
