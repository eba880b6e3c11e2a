package threshold

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/exercises/psychometric"
)

// profile is the interval of a parameter by profile likelihood: every value at
// which the best curve that has it is less than half a χ² quantile (1 degree of
// freedom, times the model's Inflation) below the best of all in log-likelihood. An
// end that is not found within the model's range is open: for the threshold lo is
// then −∞, or 0 when the range lies above 0, and hi +∞; for the others it is the
// range's own end. Where a false-alarm rate of one half is likely enough there is no
// lower end of the plain threshold; see [Fit.passesAnywhere].
//
// level is the coverage wanted, 0.95 as a rule. Both ends are NaN for a parameter
// that was not estimated.
func (f Fit) profile(of parameter, level float64) (lo, hi float64) {
	if f.fitter == nil || of < ofThreshold || of > ofLapse || f.fitter.axes[of].fixed() || !(level > 0 && level < 1) {
		return math.NaN(), math.NaN()
	}
	limit := distuv.ChiSquared{K: 1}.Quantile(level) / 2 * f.Model.Inflation.at(f.Parameters.Slope)
	axis := f.fitter.axes[of]
	found := false
	if of != ofThreshold || !f.passesAnywhere(limit) {
		lo, found = f.descend(of, limit, -1)
	}
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

// passesAnywhere reports whether a curve is likely enough that starts at the very
// proportion which the threshold stands for: half "different" of identical pairs, for a
// 50 % point. With a few less false alarms it passes one half as far down as one likes, and
// hardly differs. A walk down would come upon such curves by luck only: they lie where the
// rate of guesses ends that a curve with a threshold may have, nearer to it than numbers
// can say.
func (f Fit) passesAnywhere(limit float64) bool {
	curve, ok := f.Model.Curve.(psychometric.Sigmoid)
	if !ok || curve.Target.Corrected() || f.Model.Guess.fixed() || f.Model.Guess.Hi < curve.Target.P() {
		return false
	}
	at := psychometric.Sigmoid{Family: curve.Family, Target: psychometric.Core(0.5)} // such curves have a point there
	from, ok := curve.At(at.Target, f.Parameters)
	if !ok {
		return false
	}
	from.Guess = curve.Target.P()
	model := f.Model
	model.Curve = at
	flat := fitter{model: model, counts: f.fitter.counts, logs: f.fitter.logs, axes: f.fitter.axes}
	_, height := flat.maximise(pointOf(from), ofGuess, coarse)
	return f.top-height < limit
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
	inside, outside, insideAt := top, top, pointOf(f.Parameters)
	walked := footsteps{{0, top}}
	fallAt := func(s float64) (float64, point) {
		from := insideAt
		from[of] = fromScale(s)
		at, height := f.fitter.maximise(from, of, coarse)
		walked.add(f.top-height, s)
		return f.top - height - limit, at
	}
	for {
		if inside == bound {
			return fromScale(bound), false
		}
		outside = inside + direction*step
		if direction*(outside-bound) >= 0 {
			outside = bound
		}
		fall, at := fallAt(outside)
		if fall >= 0 {
			break
		}
		inside, insideAt = outside, at
		step *= 1.8
	}
	// Interpolation, and halving where that leads out or does not close in.
	within := func(s float64) bool { return direction*(s-inside) > 0 && direction*(outside-s) > 0 }
	for i := 0; i < 40 && math.Abs(outside-inside) > 1e-5*max(1, math.Abs(top)); i++ {
		between := walked.at(limit)
		if !within(between) || i%4 == 3 {
			between = (inside + outside) / 2
		}
		fall, at := fallAt(between)
		if fall < 0 {
			inside, insideAt = between, at
		} else {
			outside = between
		}
		if math.Abs(fall) < 1e-4 {
			if nearer := walked.at(limit); within(nearer) {
				between = nearer
			}
			return fromScale(between), true
		}
	}
	return fromScale((inside + outside) / 2), true
}

// footsteps are the last three places of a walk down a profile, each with the root of how
// far the profile has fallen there.
type footsteps []struct{ root, place float64 }

func (w *footsteps) add(fall, place float64) {
	if math.IsInf(fall, 0) {
		return
	}
	*w = append(*w, struct{ root, place float64 }{math.Sqrt(max(0, fall)), place})
	*w = (*w)[max(0, len(*w)-3):]
}

// at is where the profile should have fallen so far. It falls about as the square of the
// distance, so the place is nearly a straight line over the root; the parabola through the
// footsteps (Lagrange's) is nearer. It is no number where two have the same root.
func (w footsteps) at(fall float64) (place float64) {
	root := math.Sqrt(fall)
	for i, one := range w {
		weight := 1.0
		for j, other := range w {
			if i != j {
				weight *= (root - other.root) / (one.root - other.root)
			}
		}
		place += weight * one.place
	}
	return place
}
