package trend

import (
	"math"

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
// the person and not for these sittings only, and asks less of the model. Where the
// likelihood (by its profile, within 6 ΔE00) does not bound the bias, the estimate is
// the bound that it has, and the interval has no other end.
//
// Measured coverage: README.md of scoring/reports/history.
func BiasOfChoices(sittings [][]scoring.Taken, level float64) Choices {
	var all []scoring.Taken
	for _, s := range sittings {
		all = append(all, s...)
	}
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
		i := 0
		for _, s := range sittings {
			list := make([]float64, len(s))
			for n := range s {
				list[n] = f.at[k] + f.says[i][k]
				i++
			}
			c.Parts[a] = append(c.Parts[a], list)
		}
		e := MeanOverSittings(c.Parts[a], level)
		c.Bias[a] = f.bounded(k, e, level)
		if n := len(f.of); n < fewAnswers && c.Bias[a].HasInterval() {
			c.Bias[a] = c.Bias[a].Warn("fewer than 20 answers: the interval is rough")
		}
	}
}

// fewAnswers is from how few answers down the interval is called rough: it is that of many.
const fewAnswers = 20

const (
	choiceLapses              = 0.02
	usualSeen, seenSD         = 0.9, 0.7 // of the scatter, and SD of its logarithm
	leastSeen, mostSeen       = 0.25, 4.0
	mostChoiceBias, looksOpen = 6.0, 4.0 // ΔE00
)

// seenFit is a fit of one or two axes. Its parameters are the biases, then the
// logarithms of the scatters.
type seenFit struct {
	axes int
	of   []scoring.Taken
	one  func(t *scoring.Taken, at, score []float64) (logP float64)
	at   []float64
	top  float64
	says [][]float64 // by answer, by parameter
}

func fitSeen(one func(*scoring.Taken, []float64, []float64) float64, axes int, of []scoring.Taken) *seenFit {
	f := &seenFit{axes: axes, of: of, one: one, at: make([]float64, 2*axes), says: make([][]float64, len(of))}
	for k := range axes {
		f.at[axes+k] = math.Log(usualSeen)
	}
	f.top = f.climb(f.at, -1)
	f.influence()
	return f
}

// likelihood is that of all answers with the prior, and fills in the scores and the
// sum of their squares.
func (f *seenFit) likelihood(at []float64, total []float64, squares *mat.SymDense) float64 {
	n := len(at)
	score := make([]float64, n)
	for i := range total {
		total[i] = 0
	}
	if squares != nil {
		squares.Zero()
	}
	sum := 0.0
	for i := range f.of {
		sum += f.one(&f.of[i], at, score)
		for a := range n {
			total[a] += score[a]
			if squares != nil {
				for b := a; b < n; b++ {
					squares.SetSym(a, b, squares.At(a, b)+score[a]*score[b])
				}
			}
		}
	}
	for k := f.axes; k < n; k++ {
		z := (at[k] - math.Log(usualSeen)) / seenSD
		sum -= z * z / 2
		total[k] -= z / seenSD
		if squares != nil {
			squares.SetSym(k, k, squares.At(k, k)+1/(seenSD*seenSD))
		}
	}
	return sum
}

// climb goes up by the method of E. R. Berndt, B. H. Hall, R. E. Hall and J. A. Hausman
// (Ann Econ Soc Meas 3 (1974) 653–665, from memory), which takes the squares of the
// scores for the information; the parameter held, if any, stays where it is.
func (f *seenFit) climb(at []float64, held int) float64 {
	n := len(at)
	total, squares := make([]float64, n), mat.NewSymDense(n, nil)
	next, step := make([]float64, n), mat.NewVecDense(n, nil)
	nextTotal, nextSquares := make([]float64, n), mat.NewSymDense(n, nil)
	now := f.likelihood(at, total, squares)
	for range 60 {
		if held >= 0 {
			total[held] = 0
			for b := range n {
				squares.SetSym(held, b, 0)
			}
			squares.SetSym(held, held, 1)
		}
		for a := range n {
			squares.SetSym(a, a, squares.At(a, a)*(1+1e-6)+1e-6)
		}
		var chol mat.Cholesky
		if !chol.Factorize(squares) || chol.SolveVecTo(step, mat.NewVecDense(n, total)) != nil {
			break
		}
		gained := 0.0
		for size := 1.0; size > 1e-3; size /= 2 {
			for a := range n {
				next[a] = at[a] + size*math.Max(-1, math.Min(1, step.AtVec(a)))
				if a < f.axes {
					next[a] = math.Max(-mostChoiceBias, math.Min(mostChoiceBias, next[a]))
				} else {
					next[a] = math.Max(math.Log(leastSeen), math.Min(math.Log(mostSeen), next[a]))
				}
			}
			if then := f.likelihood(next, nextTotal, nextSquares); then > now {
				gained = then - now
				now = then
				copy(at, next)
				total, nextTotal = nextTotal, total
				squares, nextSquares = nextSquares, squares
				break
			}
		}
		if gained < 1e-7*float64(len(f.of)) {
			break
		}
	}
	return now
}

// influence works out what each answer says of each parameter.
func (f *seenFit) influence() {
	n := len(f.at)
	const h = 1e-4
	info := mat.NewDense(n, n, nil)
	total, up, at := make([]float64, n), make([]float64, n), make([]float64, n)
	f.likelihood(f.at, total, nil)
	for a := range n {
		copy(at, f.at)
		at[a] += h
		f.likelihood(at, up, nil)
		for b := range n {
			info.Set(a, b, -(up[b]-total[b])/h)
		}
	}
	var inverse mat.Dense
	solved := inverse.Inverse(info) == nil
	for i := range f.of {
		score, says := make([]float64, n), make([]float64, n)
		f.one(&f.of[i], f.at, score)
		for a := range n {
			for b := range n {
				if !solved {
					says[a] = math.Inf(1)
					break
				}
				// The prior's part, the rest of the total, is shared out evenly.
				says[a] += inverse.At(a, b) * (score[b] - total[b]/float64(len(f.of))) * float64(len(f.of))
			}
		}
		f.says[i] = says
	}
}

// bounded gives the estimate where the likelihood bounds the bias along an axis on both
// sides, and the bound that there is where it has one only.
func (f *seenFit) bounded(k int, e scoring.Estimate, level float64) scoring.Estimate {
	n := len(f.of)
	if n < 2 {
		return e
	}
	t := studentQuantile(level, float64(max(1, n-1)))
	least := f.top - t*t/2
	open := func(side float64) bool {
		if end := max(side*e.Value, side*e.Lo, side*e.Hi); end < looksOpen { // NaN is not
			return false
		}
		return f.profile(k, side*mostChoiceBias) > least
	}
	up, down := open(1), open(-1)
	const ends = "the library ends: beyond this, no answer could tell"
	switch {
	case up && down:
		return scoring.Undefined(n, "the library offers too little to tell")
	case up:
		return scoring.AtLeast(f.end(k, -1, least), level, n, ends)
	case down:
		return scoring.AtMost(f.end(k, 1, least), level, n, ends)
	}
	return e
}

// profile is the likelihood of a bias, all else as suits it best.
func (f *seenFit) profile(k int, bias float64) float64 {
	at := append([]float64(nil), f.at...)
	at[k] = bias
	return f.climb(at, k)
}

// end is where the profile falls to least, on a side of the best bias.
func (f *seenFit) end(k int, side, least float64) float64 {
	in, out := f.at[k], side*mostChoiceBias
	for math.Abs(in-out) > 0.01 {
		if middle := (in + out) / 2; f.profile(k, middle) > least {
			in = middle
		} else {
			out = middle
		}
	}
	return (in + out) / 2
}

// valueOf is the probability of the group that was taken.
func valueOf(t *scoring.Taken, at, score []float64) float64 {
	s := math.Exp(at[1])
	p, db, ds := between((t.Darkest-at[0])/s, (t.Lightest-at[0])/s)
	whole := (1-choiceLapses)*p + choiceLapses/float64(t.Groups)
	score[0] = (1 - choiceLapses) * db / s / whole
	score[1] = (1 - choiceLapses) * ds / whole
	return math.Log(whole)
}

// planeOf is the probability of the choice that was taken from the group.
func planeOf(t *scoring.Taken, at, score []float64) float64 {
	sc, sh := math.Exp(at[2]), math.Exp(at[3])
	var p, dc, dh, dsc, dsh float64
	for _, s := range t.Cell {
		x := (s.Chroma - at[0]) / sc
		if x < -6 || x > 6 {
			continue
		}
		q, db, ds := between((s.Reddest-at[1])/sh, (s.Yellowest-at[1])/sh)
		d, _ := normalAt(x)
		w := scoring.StripWidth * d / sc
		p += w * q
		dc += w * q * x
		dsc += w * q * (x*x - 1)
		dh += w * db
		dsh += w * ds
	}
	whole := (1-choiceLapses)*p + choiceLapses/float64(t.Choices)
	share := (1 - choiceLapses) / whole
	score[0], score[1], score[2], score[3] = share*dc/sc, share*dh/sh, share*dsc, share*dsh
	return math.Log(whole)
}

// between is the normal probability of an interval, and its derivatives by the bias
// (times σ) and by the logarithm of σ.
func between(lo, hi float64) (p, byBias, byScatter float64) {
	dl, pl := normalAt(lo)
	dh, ph := normalAt(hi)
	if dl > 0 {
		byScatter += lo * dl
	}
	if dh > 0 {
		byScatter -= hi * dh
	}
	return ph - pl, dl - dh, byScatter
}

// The normal density and distribution, tabled, since a fit asks for them thousands of
// times. Between two places of the table they are a Taylor series of four terms, whose
// error is less than 1e−8.
const (
	normalEnd  = 8.0
	normalStep = 1.0 / 32
)

var normalTable = func() (table [2*normalEnd/normalStep + 1][2]float64) {
	for i := range table {
		z := float64(i)*normalStep - normalEnd
		table[i] = [2]float64{density(z), normal(z)}
	}
	return table
}()

// normalAt is the density and the distribution at z.
func normalAt(z float64) (d, p float64) {
	switch {
	case z <= -normalEnd:
		return 0, 0
	case z >= normalEnd:
		return 0, 1
	}
	i := int((z+normalEnd)/normalStep + 0.5)
	at := &normalTable[i]
	z0 := float64(i)*normalStep - normalEnd
	h := z - z0
	second, third := (z0*z0-1)/2, (3-z0*z0)*z0/6 // He₂/2!, −He₃/3!
	d = at[0] * (1 + h*(-z0+h*(second+h*third)))
	p = at[1] + at[0]*h*(1+h*(-z0/2+h*(second/3+h*third/4)))
	return d, p
}

func density(z float64) float64 {
	return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
}

func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
