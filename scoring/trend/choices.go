package trend

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"shadedrill/scoring"
)

// Choices are the bias and the scatter behind answers that were chosen from what was on
// offer. The three axes are value, chroma and hue.
type Choices struct {
	Bias    [3]scoring.Estimate
	Scatter [3]float64 // standard deviation of what is seen, ΔE00; NaN where there is no fit
	// Parts are what each answer says of the bias, sitting by sitting as they came: its
	// influence on the estimate, so that their mean is the estimate. What is asked of
	// the signed errors of answers is asked of these.
	Parts [3][][]float64
}

// BiasOfChoices estimates which way somebody sees colours wrong from what they took.
// Answer minus target would do where the library goes on to all sides; at its border it
// falls short, since nobody can answer lighter than the lightest tab. So the model is of
// the seeing: a target is seen with a bias b and a scatter σ along each axis, both in
// ΔE00, and what is nearest to that is taken,
//
//	P(group) = Φ((lightest − b)/σ) − Φ((darkest − b)/σ)
//	P(tab)   = ∫ φ((x − b)/σ)/σ · [Φ((yellowest(x) − b')/σ') − Φ((reddest(x) − b')/σ')] dx
//
// with b, σ along chroma and b', σ' along hue, over the cell of [scoring.Taken]: an
// interval-censored normal (grouped data; after A. C. Tallis, Biometrika 54 (1967)
// 599–606, from memory). A share of lapses is fixed at 2 %. The scatters have weak
// log-normal priors, the biases none.
//
// The interval is that of [biasOverSittings] over what each answer says of the bias,
// A⁻¹·sᵢ with the score sᵢ of the answer and the observed information A (the sandwich
// of P. J. Huber, Proc. 5th Berkeley Symp. 1 (1967) 221–233, from memory): it holds for
// the person and not for these sittings only, and asks less of the model. From one sitting
// it is at least as wide as the likelihood's ([seenFit.withinOne]), and that of a large bias
// is moved outwards ([seenFit.outward]). Where the
// likelihood (by its profile, within 6 ΔE00) does not bound the bias, the estimate is
// the bound that it has, and the interval has no other end.
//
// Measured coverage: README.md of scoring/reports/history.
func BiasOfChoices(sittings [][]scoring.Taken, level float64) Choices {
	all := slices.Concat(sittings...)
	c := Choices{Scatter: [3]float64{math.NaN(), math.NaN(), math.NaN()}}
	if !(level > 0 && level < 1) || len(all) == 0 {
		for a := range c.Bias {
			c.Bias[a] = scoring.Undefined(len(all), "no attempts")
		}
		return c
	}
	c.take(0, fitSeen(valueOf, 1, all), sittings, level)
	c.take(1, fitSeen(planeOf, 2, all), sittings, level)
	return c
}

// take lays a fit of some axes, from the first, out by sitting.
func (c *Choices) take(first int, f *seenFit, sittings [][]scoring.Taken, level float64) {
	for k := range f.axes {
		a := first + k
		c.Scatter[a] = math.Exp(f.at[f.axes+k])
		i, some := 0, 0
		for _, s := range sittings {
			if len(s) > 0 {
				some++
			}
			list := make([]float64, len(s))
			for n := range s {
				list[n] = f.at[k] + f.says[i][k]
				i++
			}
			c.Parts[a] = append(c.Parts[a], list)
		}
		e := MeanOverSittings(c.Parts[a], level)
		if some == 1 {
			e = f.withinOne(k, e, level)
		}
		ownWay := a == 0 || f.few() // a: value, or chroma and hue
		c.Bias[a] = f.outward(k, f.bounded(k, e, level), some, level, ownWay)
	}
}

const (
	choiceLapses              = 0.02
	usualSeen, seenSD         = 0.9, 0.7 // of the scatter, and SD of its logarithm
	prior                     = 1 / (seenSD * seenSD)
	leastSeen, mostSeen       = 0.25, 4.0
	mostChoiceBias, looksOpen = 6.0, 4.0 // ΔE00
)

// seenFit is a fit of one or two axes. Its parameters are the biases, then the
// logarithms of the scatters.
type seenFit struct {
	axes int
	of   []scoring.Taken
	one  func(t *scoring.Taken, from *seeing, score *parameters, bend *curvature) (probability float64)
	at   parameters
	top  float64
	says []parameters // by answer
	// from and heights are room for looks, used again by every climb.
	from    seeing
	heights [2]height
	// covariance is what the curvature says of the parameters' errors.
	covariance curvature
}

// parameters are up to two biases and two scatters, curvature the second derivatives,
// of which the upper triangle is used.
type (
	parameters [4]float64
	curvature  [4][4]float64
)

// height is the likelihood of all answers with the prior, its slope and curvature, and
// what each answer adds to the slope.
type height struct {
	value  float64
	slope  parameters
	bend   curvature // the second derivatives
	scores []parameters
}

// squares are those of the scores, whose sum is expected to be the second derivatives but
// for the sign.
func (h *height) squares(axes int) (m curvature) {
	for i := range h.scores {
		score := &h.scores[i]
		for a := range 2 * axes {
			for b := a; b < 2*axes; b++ {
				m[a][b] += score[a] * score[b]
			}
		}
	}
	for k := axes; k < 2*axes; k++ {
		m[k][k] += prior
	}
	return m
}

func fitSeen(one func(*scoring.Taken, *seeing, *parameters, *curvature) float64, axes int, of []scoring.Taken) *seenFit {
	f := &seenFit{axes: axes, of: of, one: one}
	f.start()
	best := f.climb(&f.at, -1)
	f.top = best.value
	f.influence(best)
	return f
}

// start begins where the answers lie: at the median of the middles of what each was taken
// from, with a scatter that would have half of the middles as near to it as they are. What
// is taken is wider than a point, so the middles scatter more than what was seen: by about
// a third (of the observers of scoring/simulate).
func (f *seenFit) start() {
	var middles [2][]float64
	for k := range f.axes {
		middles[k] = make([]float64, len(f.of))
	}
	for i := range f.of {
		m := middleOf(&f.of[i], f.axes)
		for k := range f.axes {
			middles[k][i] = m[k]
		}
	}
	const half = 0.9 // 0.67 standard deviations, and the third
	for k, list := range middles[:f.axes] {
		centre := middleOfAny(list)
		for i, m := range list {
			list[i] = math.Abs(m - centre)
		}
		f.at[k] = max(-looksOpen, min(looksOpen, centre))
		f.at[f.axes+k] = math.Log(max(usualSeen/3, min(3*usualSeen, middleOfAny(list)/half)))
	}
}

// middleOf is the middle of what an answer was taken from, along value or along chroma
// and hue. Where that has no end, the largest bias that is looked for stands for it.
func middleOf(t *scoring.Taken, axes int) (m [2]float64) {
	between := func(lo, hi float64) float64 {
		lo, hi = max(lo, min(hi, mostChoiceBias)-1), min(hi, max(lo, -mostChoiceBias)+1)
		return max(-mostChoiceBias, min(mostChoiceBias, (lo+hi)/2))
	}
	if axes == 1 {
		m[0] = between(t.Darkest, t.Lightest)
		return m
	}
	for i := range t.Cell {
		s := &t.Cell[i]
		m[0] += s.Chroma / float64(len(t.Cell))
		m[1] += between(s.Reddest, s.Yellowest) / float64(len(t.Cell))
	}
	return m
}

// look works out the height at some parameters.
func (f *seenFit) look(at *parameters, h *height) {
	n := 2 * f.axes
	if h.scores == nil {
		h.scores = make([]parameters, len(f.of))
	}
	h.value, h.slope, h.bend = 0, parameters{}, curvature{}
	f.from.look(at, f.axes)
	product := 1.0 // of probabilities, so that there are few logarithms to take
	for i := range f.of {
		score := &h.scores[i]
		product *= f.one(&f.of[i], &f.from, score, &h.bend)
		if product < 1e-200 {
			h.value += math.Log(product)
			product = 1
		}
		for a := range n {
			h.slope[a] += score[a]
		}
	}
	h.value += math.Log(product)
	for k := f.axes; k < n; k++ {
		z := at[k] - math.Log(usualSeen)
		h.value -= prior * z * z / 2
		h.slope[k] -= prior * z
		h.bend[k][k] -= prior
	}
}

// step is the way to the top as the curvature has it (Newton's method), where that is a
// hill, or as the squares of the scores have it (E. R. Berndt, B. H. Hall, R. E. Hall and
// J. A. Hausman, Ann Econ Soc Meas 3 (1974) 653–665, from memory). Some parameters stay.
// gain is what the whole of it should bring.
func (f *seenFit) step(h *height, stays [4]bool, newton bool) (step parameters, gain float64, ok bool) {
	n := 2 * f.axes
	m, sign := h.bend, -1.0
	if !newton {
		m, sign = h.squares(f.axes), 1
	}
	for a := range n {
		for b := a; b < n; b++ {
			m[a][b] *= sign
			m[b][a] = m[a][b]
		}
		m[a][a] = m[a][a]*(1+1e-9) + 1e-9
	}
	// Gauss and Jordan's elimination: it is a hill where all pivots are above 0.
	way := h.slope
	for k := range n {
		if stays[k] {
			continue
		}
		if !(m[k][k] > 0) {
			return step, 0, false
		}
		for a := range n {
			if a == k || stays[a] {
				continue
			}
			by := m[a][k] / m[k][k]
			for b := k; b < n; b++ {
				m[a][b] -= by * m[k][b]
			}
			way[a] -= by * way[k]
		}
	}
	for a := range n {
		if !stays[a] {
			whole := way[a] / m[a][a]
			gain += whole * h.slope[a] / 2
			step[a] = math.Max(-1, math.Min(1, whole))
		}
	}
	return step, gain, true
}

// ends are where a parameter's range ends.
func (f *seenFit) ends(a int) (least, most float64) {
	if a < f.axes {
		return -mostChoiceBias, mostChoiceBias
	}
	return math.Log(leastSeen), math.Log(mostSeen)
}

// converged is a gain of likelihood not worth another step: it moves a bias by a
// thousandth of its standard error.
const converged = 5e-7

// climb goes up from some parameters, which it takes along; held, where it is one, stays.
// So does, for a step, a parameter at an end of its range that pulls outwards. What it
// returns holds until the next climb.
func (f *seenFit) climb(at *parameters, held int) *height {
	now, then := &f.heights[0], &f.heights[1]
	f.look(at, now)
	newton := true
	for range 60 {
		var stays [4]bool
		for a := range 2 * f.axes {
			least, most := f.ends(a)
			stays[a] = a == held || at[a] <= least && now.slope[a] < 0 || at[a] >= most && now.slope[a] > 0
		}
		gained := 0.0
		step, expected, ok := f.step(now, stays, newton)
		if ok && newton && expected < converged {
			break
		}
		if ok {
			for size := 1.0; size > 1e-3; size /= 2 {
				next := *at
				for a := range 2 * f.axes {
					least, most := f.ends(a)
					next[a] = math.Max(least, math.Min(most, next[a]+size*step[a]))
				}
				if f.look(&next, then); then.value > now.value {
					gained = then.value - now.value
					*at = next
					now, then = then, now
					break
				}
			}
		}
		if gained < converged && !newton {
			break
		}
		newton = gained >= converged
	}
	return now
}

// influence works out what each answer says of each parameter.
func (f *seenFit) influence(top *height) {
	n := 2 * f.axes
	info := mat.NewDense(n, n, nil)
	for a := range n {
		for b := a; b < n; b++ {
			info.Set(a, b, -top.bend[a][b])
			info.Set(b, a, -top.bend[a][b])
		}
	}
	var inverse mat.Dense
	solved := inverse.Inverse(info) == nil
	for a := range n {
		for b := range n {
			f.covariance[a][b] = math.Inf(1)
			if solved {
				f.covariance[a][b] = inverse.At(a, b)
			}
		}
	}
	f.says = make([]parameters, len(f.of))
	answers := float64(len(f.of))
	for i := range f.of {
		var own parameters // the prior's part, the rest of the total, is shared out evenly
		for b := range n {
			own[b] = top.scores[i][b]*answers - top.slope[b]
		}
		for a := range n {
			if !solved {
				f.says[i][a] = math.Inf(1)
				continue
			}
			for b := range n {
				f.says[i][a] += f.covariance[a][b] * own[b]
			}
		}
	}
}
