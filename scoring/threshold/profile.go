package threshold

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// profile is the interval of a parameter by profile likelihood: every value at
// which the best curve that has it is less than half a χ² quantile (1 degree of
// freedom, times the model's Inflation) below the best of all in log-likelihood. An
// end that is not found within the model's range is open: for the threshold lo is
// then −∞, or 0 when the range lies above 0, and hi +∞; for the others it is the
// range's own end. Where a false-alarm rate of one half is likely enough there is no
// lower end of the plain threshold: such a curve passes one half wherever one likes.
//
// level is the coverage wanted, 0.95 as a rule. Both ends are NaN for a parameter
// that was not estimated.
func (f Fit) profile(of parameter, level float64) (lo, hi float64) {
	if f.fitter == nil || of < ofThreshold || of > ofLapse || f.fitter.axes[of].fixed() || !(level > 0 && level < 1) {
		return math.NaN(), math.NaN()
	}
	limit := distuv.ChiSquared{K: 1}.Quantile(level) / 2 * f.Model.Inflation.at(f.Parameters.Slope)
	axis := f.fitter.axes[of]
	lo, found := f.descend(of, limit, -1)
	if !found && of == ofThreshold {
		lo = math.Inf(-1)
		if axis.log {
			lo = 0
		}
	}
	hi, found = f.descend(of, limit, +1)
	if !found && of == ofThreshold {
		hi = math.Inf(1)
	}
	return lo, hi
}

// descend walks from the maximum in one direction until the profile has fallen by
// limit, then closes in on the place.
func (f Fit) descend(of parameter, limit, direction float64) (end float64, found bool) {
	a := f.fitter.axes[of]
	toScale := func(t float64) float64 { return t }
	fromScale := toScale
	step := (a.Hi - a.Lo) / 100
	if a.log {
		toScale, fromScale, step = math.Log, math.Exp, 0.05
	}
	top := toScale(pointOf(f.Parameters)[of])
	bound := toScale(a.Lo)
	if direction > 0 {
		bound = toScale(a.Hi)
	}
	fall := func(s float64, from point) (float64, point) {
		from[of] = fromScale(s)
		if math.IsInf(f.fitter.objective(from.parameters()), -1) {
			from = f.fitter.start(of, from[of])
		}
		v, height := f.fitter.maximise(from, of, coarse)
		return f.top - height - limit, v
	}
	inside, insideFall, insideAt := top, -limit, pointOf(f.Parameters)
	var outside, outsideFall float64
	for {
		if inside == bound {
			return fromScale(bound), false
		}
		outside = inside + direction*step
		if direction*(outside-bound) >= 0 {
			outside = bound
		}
		var at point
		outsideFall, at = fall(outside, insideAt)
		if outsideFall >= 0 {
			break
		}
		inside, insideFall, insideAt = outside, outsideFall, at
		step *= 1.8
	}
	// The fall is about quadratic in the distance: interpolate its square root,
	// halving when that does not close in.
	for i := 0; i < 40 && math.Abs(outside-inside) > 1e-5*max(1, math.Abs(top)); i++ {
		between := (inside + outside) / 2
		if i%3 < 2 && !math.IsInf(outsideFall, 0) {
			r := math.Sqrt(max(0, insideFall+limit))
			share := (math.Sqrt(limit) - r) / (math.Sqrt(outsideFall+limit) - r)
			between = inside + (outside-inside)*min(max(share, 0.02), 0.98)
		}
		d, at := fall(between, insideAt)
		if math.Abs(d) < 1e-4 {
			return fromScale(between), true
		}
		if d < 0 {
			inside, insideFall, insideAt = between, d, at
		} else {
			outside, outsideFall = between, d
		}
	}
	return fromScale((inside + outside) / 2), true
}
