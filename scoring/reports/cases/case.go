// Package cases judges restorations that were made: a prescribed colour and
// the colour delivered, both measured with any instrument, one pair a case.
package cases

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring"
)

// Case is one measured pair.
type Case struct {
	ID                    string
	Prescribed, Delivered colour.Lab
}

// Verdict is what a case came to. Signs are those of delivered minus prescribed.
type Verdict struct {
	Case
	Difference colour.Difference
	Band       scoring.Band
	Whiter     float64 // ΔWI_D; > 0: delivered whiter
	Advice     string
}

// Judge compares delivered with prescribed.
func Judge(c Case) Verdict {
	v := Verdict{Case: c, Difference: colour.Compare(c.Prescribed, c.Delivered, colour.Unit)}
	v.Band = scoring.BandOf(v.Difference.E)
	v.Whiter = scoring.Whiter(c.Prescribed, c.Delivered)
	v.Advice = advice(v)
	return v
}

// part is one attribute of a difference with the words that undo it.
type part struct {
	size               float64
	tooMuch, tooLittle string // what to do when the part is above, below 0
}

// advice says what to change, the largest part first, and names only as many
// attributes as bring the rest within perceptibility: with the parts left out
// no larger than that together, nobody would see them go.
func advice(v Verdict) string {
	pt := scoring.Perceptibility.Value
	if v.Difference.E <= pt {
		return "nothing to change"
	}
	more, less := hueWords(v.Prescribed, v.Delivered)
	parts := []part{
		{size: v.Difference.L, tooMuch: "value down", tooLittle: "value up"},
		{size: v.Difference.C, tooMuch: "chroma less", tooLittle: "chroma more"},
		{size: v.Difference.H, tooMuch: less, tooLittle: more},
	}
	slices.SortStableFunc(parts, func(a, b part) int {
		switch x, y := math.Abs(a.size), math.Abs(b.size); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	var steps []string
	for i, p := range parts {
		rest := 0.0
		for _, left := range parts[i:] {
			rest += left.size * left.size
		}
		if i > 0 && math.Sqrt(rest) <= pt {
			break
		}
		word := p.tooMuch
		if p.size < 0 {
			word = p.tooLittle
		}
		steps = append(steps, fmt.Sprintf("%s by %.1f", word, math.Abs(p.size)))
	}
	todo := strings.Join(steps, ", ")
	if v.Band == scoring.Acceptable {
		return "acceptable; to come closer: " + todo
	}
	return todo
}

// hueWords says how the hue is to change, towards larger and smaller angles.
func hueWords(a, b colour.Lab) (larger, smaller string) {
	say := func(word string) string {
		if strings.Contains(word, "hue") {
			return word
		}
		return "hue " + word
	}
	larger, smaller = scoring.HueWords(a, b)
	return say(larger), say(smaller)
}
