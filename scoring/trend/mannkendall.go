package trend

import "shadedrill/scoring"

// Monotone is the outcome of the Mann–Kendall test for a monotone trend.
type Monotone struct {
	S         int64   // rising minus falling pairs; negative when values fall
	VarianceS float64 // of S under no trend, corrected for ties
	Z         float64 // standardised S with correction for continuity
	P         float64 // two-sided; see Concordance.P
	// TauA divides S by all pairs, TauB by the pairs that are not tied (Kendall's
	// τ-b). They differ only when values repeat.
	TauA, TauB scoring.Estimate
}

// MannKendall tests whether values, in the order of time, rise or fall (Mann 1945,
// Econometrica 13:245–259; Kendall 1970). Values must be independent: give one a
// sitting. When it cannot be computed both taus say why and P is 1.
func MannKendall(ys []float64) Monotone {
	if why := objection(ys, 0.95); why != "" {
		undefined := scoring.Undefined(len(ys), why)
		return Monotone{P: 1, TauA: undefined, TauB: undefined}
	}
	c := concord(ordinals(len(ys)), ys)
	m := Monotone{S: c.s(), VarianceS: c.varianceOfS(), Z: c.z(), P: c.P(), TauA: c.tauA(), TauB: c.tauB()}
	if c.N < 4 { // with 3 values even a perfect order has p = 1/3
		const few = "needs at least 4 values before any trend could stand out from chance"
		m.TauA, m.TauB = m.TauA.Warn(few), m.TauB.Warn(few)
	}
	return m
}

func ordinals(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = float64(i)
	}
	return x
}
