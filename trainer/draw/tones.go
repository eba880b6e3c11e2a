package draw

import (
	"math"

	"shadedrill/colour"
)

// Tones are the greys in which everything but the swatches is drawn. They are
// neutral, so that nothing on the screen adapts the eye to a hue; what matters
// most stands out by contrast alone.
type Tones struct {
	Ground colour.SRGB
	Faint  colour.SRGB // what may be overlooked: counters, captions
	Plain  colour.SRGB // text
	Strong colour.SRGB // the selection, keys, results
}

// The contrast ratios wished for, as WCAG 2.2 defines them (relative luminance
// plus 0.05 over the same); 4.5 is its least for text. A middle grey cannot
// give all of them; there the greatest contrast possible is taken.
const (
	faintContrast  = 4.5
	plainContrast  = 6.2
	strongContrast = 9.5
)

// tonesOn chooses the greys that are legible on a ground.
func tonesOn(ground colour.SRGB) Tones {
	y := ground.XYZ().Y
	lighter := 1.05/(y+0.05) >= (y+0.05)/0.05
	grey := func(contrast float64) colour.SRGB {
		wanted := contrast*(y+0.05) - 0.05
		if !lighter {
			wanted = (y+0.05)/contrast - 0.05
		}
		wanted = math.Max(0, math.Min(1, wanted))
		// Rounding goes towards more contrast.
		best := uint8(0)
		if lighter {
			best = 255
		}
		for code := 0; code < 256; code++ {
			g := colour.Grey(uint8(code))
			if lighter && g.XYZ().Y >= wanted-1e-9 {
				return g
			}
			if !lighter && g.XYZ().Y <= wanted+1e-9 {
				best = uint8(code)
			}
		}
		return colour.Grey(best)
	}
	return Tones{Ground: ground, Faint: grey(faintContrast), Plain: grey(plainContrast), Strong: grey(strongContrast)}
}
