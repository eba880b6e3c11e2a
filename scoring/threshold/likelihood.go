package threshold

import (
	"math"

	"shadedrill/exercises/psychometric"
)

// logLikelihood is Σ k·ln ψ + (n − k)·ln(1 − ψ). A fit with its intervals asks for
// it several thousand times, so the two curves of this package's own models have
// what does not depend on the parameters, or not on the level, taken out of the sum;
// a test holds them to the plain form. A value that is not above the one given may be
// −∞ instead.
func (f *fitter) logLikelihood(p psychometric.Parameters, above float64) float64 {
	switch c := f.model.Curve.(type) {
	case psychometric.Sigmoid:
		if c.Family == psychometric.Weibull {
			return f.weibull(c, p, above)
		}
	case psychometric.Detector:
		if !c.HalfYes {
			return f.detector(p)
		}
	}
	return f.plain(p)
}

func (f *fitter) plain(p psychometric.Parameters) float64 {
	return psychometric.LogLikelihood(func(x float64) float64 { return f.model.Curve.P(x, p) }, f.counts)
}

// weibull writes ψ = γ + (1 − γ − λ)(1 − S) and 1 − ψ = λ + (1 − γ − λ)S with
// S = exp(−exp(β(ln x − ln α))).
func (f *fitter) weibull(c psychometric.Sigmoid, p psychometric.Parameters, above float64) float64 {
	curve, ok := c.Function(p)
	if !ok || !(curve.Location > 0) {
		return math.NaN()
	}
	span := 1 - p.Guess - p.Lapse
	// The search for a start asks for one curve with several rates of guesses.
	if f.survivals == nil || f.location != curve.Location || f.slope != p.Slope {
		f.survivals, f.location, f.slope = f.survivals[:0], curve.Location, p.Slope
	}
	logLocation := math.Log(curve.Location)
	sum := sumAbove(above)
	for i, n := range f.counts {
		if i == len(f.survivals) {
			survival := 1.0
			if n.Level > 0 {
				survival = math.Exp(-math.Exp(p.Slope * (f.logs[i] - logLocation)))
			}
			f.survivals = append(f.survivals, survival)
		}
		survival := f.survivals[i]
		sum.add(p.Guess+span*(1-survival), n.Yes)
		sum.add(p.Lapse+span*survival, n.N-n.Yes)
		if sum.lost() {
			return math.Inf(-1)
		}
	}
	return sum.value()
}

// detector is Φ((x/t)^m − k) with lapses of any key.
func (f *fitter) detector(p psychometric.Parameters) float64 {
	k := -psychometric.Normal.Inverse(p.Guess, 0, 1)
	if !(p.Threshold > 0) || !(p.Slope > 0) || math.IsInf(k, 0) || math.IsNaN(k) {
		return math.NaN()
	}
	logThreshold := math.Log(p.Threshold)
	var sum float64
	for i, n := range f.counts {
		dPrime := 0.0
		if n.Level > 0 {
			dPrime = math.Exp(p.Slope * (f.logs[i] - logThreshold))
		}
		miss := 0.5 * math.Erfc((dPrime-k)/math.Sqrt2)
		if n.Yes > 0 {
			sum += float64(n.Yes) * math.Log(p.Lapse/2+(1-p.Lapse)*(1-miss))
		}
		if n.Yes < n.N {
			sum += float64(n.N-n.Yes) * math.Log(p.Lapse/2+(1-p.Lapse)*miss)
		}
	}
	return sum
}
