package history

import (
	"math"

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
	case !e.Defined() || !e.HasInterval() || e.Covers(0):
		return ""
	case e.Value > 0:
		return above
	}
	return below
}
