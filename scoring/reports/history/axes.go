package history

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring"
)

// Size is the error in ΔE00.
func Size(j Judged) float64 { return j.D.E }

func value(j Judged) float64 { return signedPart(j.D.L, j.Free.L) }

func chroma(j Judged) float64 { return signedPart(j.D.C, j.Free.C) }

// hue is the signed error along hue; NaN where it could run one way only.
func hue(j Judged) float64 { return signedPart(j.D.H, j.Free.H) }

// signedPart leaves out errors that could run one way only: their mean shows a
// bias that is not the person's.
func signedPart(x float64, open bool) float64 {
	if !open {
		return math.NaN()
	}
	return x
}

// Axes are the three attributes with the words for a bias along them.
var Axes = []struct {
	Key, Title   string
	Of           func(Judged) float64 // NaN where the error could run one way only
	Part         func(colour.Difference) float64
	Above, Below string
}{
	{"bias_L", "value (ΔL')", value, func(d colour.Difference) float64 { return d.L }, "too light", "too dark"},
	{"bias_C", "chroma (ΔC')", chroma, func(d colour.Difference) float64 { return d.C }, "too chromatic", "too weak in chroma"},
	{"bias_H", "hue (ΔH')", hue, func(d colour.Difference) float64 { return d.H }, "too yellow", "too red"},
}

// BiasWord names the direction of a bias that is beyond chance, or "".
func BiasWord(e scoring.Estimate, above, below string) string {
	switch {
	case !e.Defined() || !Tells(e) || e.Covers(0):
		return ""
	case e.Value > 0:
		return above
	}
	return below
}

// Tells says whether an interval tells of chance: one without width, of answers that are
// all alike, does not.
func Tells(e scoring.Estimate) bool { return e.HasInterval() && e.Lo < e.Hi }

// What is said where no bias is named: chance can be told from a bias, and shows none, or
// there are too few answers to tell.
const (
	NoBias     = "none beyond chance"
	UntoldBias = "cannot be told yet"
)

// BiasWords names the biases that are beyond chance, each as say has it, nil for the bare
// word; where there is none it says so, or that it cannot be told.
func BiasWords(biases [3]scoring.Estimate, say func(word string, e scoring.Estimate) string) string {
	var words []string
	told := false
	for i, e := range biases {
		told = told || Tells(e)
		w := BiasWord(e, Axes[i].Above, Axes[i].Below)
		switch {
		case w == "":
		case say != nil:
			words = append(words, say(w, e))
		default:
			words = append(words, w)
		}
	}
	switch {
	case len(words) > 0:
		return strings.Join(words, ", ")
	case told:
		return NoBias
	}
	return UntoldBias
}

// BySize says how large a bias is: "by about 1.2", or, where the library ends, "by at
// least 2.6".
func BySize(e scoring.Estimate) string {
	by := "by about"
	if e.Open() != 0 {
		by = "by at least"
	}
	return fmt.Sprintf("%s %.1f", by, math.Abs(e.Value))
}
