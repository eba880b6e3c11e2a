package scoring

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/colour"
)

// PartsInWords says the signed parts of a difference plainly, value first: "2.1
// lighter, a little yellower". A part is left out below half of perceptibility,
// where hardly anybody sees it, "a little" up to perceptibility, and has its size
// in ΔE00 beyond. The colours of both ends decide how hue is named.
func PartsInWords(d colour.Difference, from, to colour.Lab) string {
	yellower, redder := HueWords(from, to)
	var words []string
	for _, p := range []struct {
		size       float64
		more, less string
	}{
		{d.L, "lighter", "darker"},
		{d.C, "more chromatic", "less chromatic"},
		{d.H, yellower, redder},
	} {
		word := p.more
		if p.size < 0 {
			word = p.less
		}
		switch size := math.Abs(p.size); {
		case size <= Perceptibility.Value/2:
		case size <= Perceptibility.Value:
			words = append(words, "a little "+word)
		default:
			words = append(words, fmt.Sprintf("%.1f %s", size, word))
		}
	}
	switch {
	case len(words) > 0:
		return strings.Join(words, ", ")
	case d.E == 0:
		return "exactly the same"
	case d.E <= Perceptibility.Value:
		return "no difference to speak of"
	}
	return "a little off in everything"
}

// HueWords names the two directions of hue, towards larger and smaller angles.
// Teeth turn yellower and redder; those words hold between red and the yellow
// side of green, and elsewhere the angle is named.
func HueWords(a, b colour.Lab) (larger, smaller string) {
	if warm(a.LCh()) && warm(b.LCh()) {
		return "yellower", "redder"
	}
	return "larger in hue angle", "smaller in hue angle"
}

func warm(c colour.LCh) bool { return c.HasHue() && c.H >= 20 && c.H <= 130 }
