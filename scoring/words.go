package scoring

import (
	"fmt"
	"math"
	"strconv"
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

// InWords says where a colour lies from another as one would say it to a colleague, value
// first: "a little darker, with much more chroma, redder". Parts below half of
// perceptibility are left out: hardly anybody sees them. "A little" goes up to
// perceptibility, "much" begins at twice acceptability (house rule).
func InWords(d colour.Difference, from, to colour.Lab) string {
	yellower, redder := HueWords(from, to)
	var words []string
	for _, p := range []struct {
		size       float64
		more, less string
	}{{d.L, "lighter", "darker"}, {d.C, "stronger in chroma", "weaker in chroma"}, {d.H, yellower, redder}} {
		word := p.more
		if p.size < 0 {
			word = p.less
		}
		switch size := math.Abs(p.size); {
		case size <= Perceptibility.Value/2:
		case size <= Perceptibility.Value:
			words = append(words, "a little "+word)
		case size <= 2*Acceptability.Value:
			words = append(words, word)
		default:
			words = append(words, "much "+word)
		}
	}
	return and(words)
}

// and joins words as in a sentence.
func and(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// Noticed says what a difference in ΔE00 would mean beside each other in the mouth.
// At 0.8 half of observers see it and at 1.8 half accept it (50:50 %).
func Noticed(e float64) string {
	switch pt, at := Perceptibility.Value, Acceptability.Value; {
	case e == 0:
		return "Nobody can see a difference"
	case e <= pt/2:
		return "Hardly anybody would see it"
	case e <= pt:
		return "Fewer than half would see it"
	case e <= at:
		return "Most would see it, more than half would accept it"
	case e <= 2*at:
		return "Most would see it, fewer than half would accept it"
	}
	return "Everybody would see it, hardly anybody accept it"
}

// NoticedSource says where those words come from.
const NoticedSource = "\"Hardly anybody\" below half of the first limit and beyond twice the second: from memory."

// Figure writes a ΔE00 with as many digits as it takes to see on which side of the
// limits it lies: 0.8 beside a limit of 0.8 decides nothing.
func Figure(e float64) string {
	return fmt.Sprintf("%.*f", Digits(e, 1, Perceptibility.Value, Acceptability.Value), e)
}

// Digits is how many digits behind the point a number needs, and at least has, for people
// to see on which side of each limit it lies.
func Digits(v float64, least int, limits ...float64) int {
	clear := func(x float64) float64 { return math.Round(x*1e9) / 1e9 } // of what 100 times a share adds
	v = clear(v)
	for digits := least; digits < mostDigits; digits++ {
		shown, err := strconv.ParseFloat(strconv.FormatFloat(v, 'f', digits, 64), 64)
		decided := err == nil
		for _, l := range limits {
			l = clear(l)
			decided = decided && (shown > l) == (v > l) && (shown != l || v == l)
		}
		if decided {
			return digits
		}
	}
	return mostDigits
}

const mostDigits = 6 // digits behind the point that anybody is shown

// FarFrom says how far an error is from the two limits.
func FarFrom(e float64) string {
	pt, at := Perceptibility.Value, Acceptability.Value
	left := func(limit float64) string { return fmt.Sprintf("%.*f", Digits(e-limit, 1, 0), e-limit) }
	switch {
	case e <= pt:
		return fmt.Sprintf("That is within %.1f: fewer than half would see it.", pt)
	case e <= at:
		return fmt.Sprintf("That is within %.1f, which half of people accept; still %s to go to %.1f, which half do not see.", at, left(pt), pt)
	}
	return fmt.Sprintf("Still %s to go to %.1f, which half of people accept, and %s to %.1f, which half do not see.", left(at), at, left(pt), pt)
}
