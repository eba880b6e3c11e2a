package threshold

import (
	"math"

	"shadedrill/exercises/psychometric"
)

// climb finds the top near a point by Newton's method, one parameter held or
// none: a step goes to the top of the parabola that has the objective's slope and
// curvature here. Where it does not rise, or the curvature is no hilltop's, the
// step is shortened towards the steepest way (Levenberg 1944, Q Appl Math 2:164–168;
// Marquardt 1963, SIAM J Appl Math 11:431–441). A parameter at an end of its range
// that pulls outwards stays there for the step. With a parameter held only the height
// matters, and the last step, which would gain less than the precision, is not taken: its
// gain is added instead.
//
// arrived is false where there are no derivatives, or no rise although the slope
// promises one; the simplex then goes on from top.
func (f *fitter) climb(from point, hold parameter, precision float64) (top point, height float64, arrived bool) {
	curve, ok := f.model.Curve.(psychometric.Sigmoid)
	if !ok || curve.Family != psychometric.Weibull || !f.axes[0].log {
		return from, f.objective(from.parameters()), false
	}
	at := place(from)
	var low, high point
	for i, a := range f.axes {
		low[i], high[i] = a.Lo, a.Hi
	}
	low, high = place(low), place(high)
	for i := range at {
		if parameter(i) != hold {
			at[i] = min(max(at[i], low[i]), high[i])
		}
	}
	whole := func() point { // without the rounding of logarithms where nothing moved
		v := at.pointOf()
		for i, a := range f.axes {
			switch {
			case parameter(i) == hold:
				v[i] = from[i]
			case at[i] == low[i]:
				v[i] = a.Lo
			case at[i] == high[i]:
				v[i] = a.Hi
			}
		}
		return v
	}
	h := f.hill(curve.Target, at.parametersOf(), math.Inf(-1))
	if math.IsInf(h.height, -1) {
		return from, h.height, false
	}
	damping := 0.0
	for range 200 {
		var free []int
		room := [4]int{}
		for i, a := range f.axes {
			if a.fixed() || parameter(i) == hold || at[i] <= low[i] && h.slope[i] <= 0 || at[i] >= high[i] && h.slope[i] >= 0 {
				continue
			}
			free = append(room[:len(free)], i)
		}
		step, rise := h.step(free, damping)
		if !(rise >= 0) {
			damping = harder(damping)
			if damping > mostDamping {
				return whole(), h.height, false
			}
			continue
		}
		if rise < precision && damping == 0 && hold != none {
			return whole(), h.height + rise, true
		}
		next, cut := at, false
		for i := range next {
			next[i] += step[i]
			if step[i] != 0 && !(next[i] >= low[i] && next[i] <= high[i]) {
				next[i], cut = min(max(next[i], low[i]), high[i]), true
			}
		}
		there := f.hill(curve.Target, next.parametersOf(), h.height)
		enough := rise < precision && damping == 0 && !cut
		if !(there.height > h.height) {
			if enough || next == at {
				return whole(), h.height, true
			}
			if damping = harder(damping); damping > mostDamping {
				return whole(), h.height, rise < precision
			}
			continue
		}
		at, h = next, there
		if enough {
			return whole(), h.height, true
		}
		if damping /= 10; damping < leastDamping {
			damping = 0
		}
	}
	return whole(), h.height, false
}

// The damping of steps, as a share of the curvature.
const (
	leastDamping = 1e-3
	mostDamping  = 1e12
)

func harder(damping float64) float64 { return max(leastDamping, 10*damping) }

// place is a point where thresholds and slopes count by their logarithm.
func place(v point) point {
	return point{math.Log(v[0]), math.Log(v[1]), v[2], v[3]}
}

func (v point) pointOf() point { return point{math.Exp(v[0]), math.Exp(v[1]), v[2], v[3]} }

func (v point) parametersOf() psychometric.Parameters { return v.pointOf().parameters() }

// step solves (damping·D − curvature)·step = slope for the free parameters, D
// being the sizes on the curvature's diagonal, and says by how much the parabola
// rises; NaN where it has no top.
func (h *hill) step(free []int, damping float64) (step point, rise float64) {
	// Cholesky's decomposition, L·Lᵀ; then L·y = slope and Lᵀ·step = y.
	var l [4][4]float64
	var y [4]float64
	for a, i := range free {
		for b, j := range free[:a+1] {
			sum := -h.curvature[i][j]
			if a == b {
				sum += damping * max(math.Abs(h.curvature[i][i]), 1e-6)
			}
			for k := range b {
				sum -= l[a][k] * l[b][k]
			}
			if a > b {
				l[a][b] = sum / l[b][b]
				continue
			}
			if !(sum > 1e-12*math.Abs(h.curvature[i][i])) || math.IsInf(sum, 1) {
				return step, math.NaN()
			}
			l[a][a] = math.Sqrt(sum)
		}
		sum := h.slope[i]
		for k := range a {
			sum -= l[a][k] * y[k]
		}
		y[a] = sum / l[a][a]
		rise += y[a] * y[a] / 2
	}
	for a := len(free) - 1; a >= 0; a-- {
		sum := y[a]
		for k := a + 1; k < len(free); k++ {
			sum -= l[k][a] * step[free[k]]
		}
		step[free[a]] = sum / l[a][a]
	}
	return step, rise
}
