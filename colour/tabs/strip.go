package tabs

import (
	"math"

	"shadedrill/colour"
)

// layStrip gives each value group the patch that stands for it in the first step.
func (s *Sheet) layStrip() {
	groups := make([][]colour.Lab, len(s.groups))
	for g := range groups {
		groups[g] = s.colours(s.groups[g].Tabs)
	}
	for g, shown := range EvenStrip(groups) {
		s.groups[g].strip, s.groups[g].Shown = true, shown
	}
}

// EvenStrip is a patch for each of some groups of colours, with the mean lightness of
// each and all of one hue angle and one chroma, so that the strip varies in lightness
// alone: if each group were shown by a colour of its own, a khaki beside an
// orange-brown would be told apart by what the step is not about. The common hue and
// chroma are those of the mean of all colours, the chroma held within what the colours
// of every group span, where there is such a chroma: at the light end strong ones are
// no tooth's. A group whose lightness the display cannot show with that chroma has
// the strongest that it can.
func EvenStrip(groups [][]colour.Lab) []colour.SRGB {
	var common colour.Lab
	n, least, most := 0.0, 0.0, math.Inf(1)
	for _, g := range groups {
		lo, hi := math.Inf(1), 0.0
		for _, c := range g {
			common.A, common.B, n = common.A+c.A, common.B+c.B, n+1
			lo, hi = min(lo, c.Chroma()), max(hi, c.Chroma())
		}
		least, most = max(least, lo), min(most, hi)
	}
	common.A, common.B = common.A/n, common.B/n
	if c := common.Chroma(); least <= most && c > 0 {
		common = common.Mix(colour.Lab{}, 1-min(most, max(least, c))/c)
	}
	strip := make([]colour.SRGB, len(groups))
	for i, g := range groups {
		common.L = meanLight(g)
		strip[i] = steady(fitting(common))
	}
	return strip
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

// colours are those of some tabs, as shown.
func (s *Sheet) colours(of []int) []colour.Lab {
	list := make([]colour.Lab, len(of))
	for k, i := range of {
		list[k] = s.labs[i]
	}
	return list
}

func meanLight(of []colour.Lab) (l float64) {
	for _, c := range of {
		l += c.L
	}
	return l / float64(len(of))
}
