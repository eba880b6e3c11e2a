package threshold

import (
	"math"

	"shadedrill/exercises/psychometric"
)

// hill is the objective at one place together with its slope and its curvature
// along the logarithm of the threshold, the logarithm of the Weibull exponent, the
// guess rate and the lapse rate. Only the lower half of curvature is filled in.
type hill struct {
	height    float64
	slope     [4]float64
	curvature [4][4]float64
}

// shift is what the threshold's target adds to the exponent, as it depends on
// guesses and lapses; see [fitter.hill].
type shift struct {
	value                           float64
	guess, lapse                    float64 // first derivatives
	guessGuess, guessLapse, lapses2 float64 // second ones
}

// shiftOf is ln(−ln(1 − u)), where F is u at the threshold.
func shiftOf(target psychometric.Target, p psychometric.Parameters) (s shift, ok bool) {
	u, span := target.P(), 1-p.Guess-p.Lapse
	if !target.Corrected() {
		u = (u - p.Guess) / span
	}
	if !(u > 0 && u < 1) {
		return s, false
	}
	q := -math.Log1p(-u)
	s.value = math.Log(q)
	if target.Corrected() {
		return s, true
	}
	// ds/du and d²s/du², then the chain rule.
	first := 1 / ((1 - u) * q)
	second := (q - 1) * first * first
	uGuess, uLapse := (u-1)/span, u/span
	s.guess, s.lapse = first*uGuess, first*uLapse
	s.guessGuess = second*uGuess*uGuess + first*2*(u-1)/(span*span)
	s.guessLapse = second*uGuess*uLapse + first*(2*u-1)/(span*span)
	s.lapses2 = second*uLapse*uLapse + first*2*u/(span*span)
	return s, true
}

// hill is the objective of a Weibull with its derivatives, worked out by hand from
//
//	ψ = γ + (1 − γ − λ)(1 − exp(−exp(z))),  z = β(ln x − ln t) + ln(−ln(1 − u))
//
// where t is the threshold and u what F is there. A test compares them with
// differences of the objective. A place that is no higher than another, above, has no
// derivatives, and its height may be −∞.
func (f *fitter) hill(target psychometric.Target, p psychometric.Parameters, above float64) hill {
	h := hill{height: math.Inf(-1)}
	s, ok := shiftOf(target, p)
	if !ok || !(p.Threshold > 0) || !(p.Slope > 0) {
		return h
	}
	logThreshold, span := math.Log(p.Threshold), 1-p.Guess-p.Lapse
	f.looks = f.looks[:0]
	height := sumAbove(above)
	for i, n := range f.counts {
		l := look{survival: 1}
		if n.Level > 0 {
			l.z = p.Slope * (f.logs[i] - logThreshold)
			l.e = math.Exp(l.z + s.value)
			l.survival = math.Exp(-l.e)
		}
		l.seen = 1 - l.survival
		if l.e < 1e-3 { // where that would lose digits
			l.seen = -math.Expm1(-l.e)
		}
		l.yes, l.no = p.Guess+span*l.seen, p.Lapse+span*l.survival
		height.add(l.yes, n.Yes)
		height.add(l.no, n.N-n.Yes)
		if height.lost() {
			return h
		}
		f.looks = append(f.looks, l)
	}
	h.height = height.value()
	prior, off := f.model.SlopePrior, 0.0
	if prior.SD > 0 {
		off = (math.Log(p.Slope) - prior.Mean) / prior.SD
		h.height -= off * off / 2
	}
	if math.IsNaN(h.height) {
		h.height = math.Inf(-1)
	}
	if !(h.height > above) {
		return h
	}
	h.derive(f.looks, f.counts, p, s)
	if prior.SD > 0 {
		h.slope[1] -= off / prior.SD
		h.curvature[1][1] -= 1 / (prior.SD * prior.SD)
	}
	return h
}

// look is the curve at one level: z without what the target adds, exp(z), F and what it
// leaves, and the probabilities of either answer.
type look struct{ z, e, seen, survival, yes, no float64 }

// derive fills in slope and curvature. By ψ the objective has the slope k/ψ − (n − k)/(1 − ψ)
// and the curvature −k/ψ² − (n − k)/(1 − ψ)² at each level. ψ depends on the parameters by
// way of z, whose derivatives are −β, z without what the target adds, and those of the
// shift, and on guesses and lapses directly. Of z's derivatives only the second is another
// at every level; so sums over the levels are taken with it and without.
func (h *hill) derive(looks []look, counts []psychometric.Count, p psychometric.Parameters, s shift) {
	span := 1 - p.Guess - p.Lapse
	var byZ, byZZ, guessZ, lapseZ moments // of the objective, twice by z, by guesses and z, by lapses and z
	var guess, lapse, guess2, guessLapse, lapse2 float64
	for i, n := range counts {
		l := &looks[i]
		var first, second float64
		if yes := float64(n.Yes); yes > 0 {
			share := yes / l.yes
			first, second = share, share/l.yes
		}
		if no := float64(n.N - n.Yes); no > 0 {
			share := no / l.no
			first, second = first-share, second+share/l.no
		}
		guess += first * l.survival
		lapse -= first * l.seen
		guess2 -= second * l.survival * l.survival
		guessLapse += second * l.survival * l.seen
		lapse2 -= second * l.seen * l.seen
		if n.Level == 0 || l.survival == 0 {
			continue
		}
		dSeen := l.survival * l.e // by z
		rise := span * dSeen
		byZ.add(first*rise, l.z)
		byZZ.add(first*rise*(1-l.e)-second*rise*rise, l.z)
		guessZ.add(-first*dSeen-second*rise*l.survival, l.z)
		lapseZ.add(-first*dSeen+second*rise*l.seen, l.z)
	}
	b := -p.Slope
	h.slope = [4]float64{b * byZ.sum, byZ.withZ, guess + s.guess*byZ.sum, lapse + s.lapse*byZ.sum}
	h.curvature = [4][4]float64{
		{b * b * byZZ.sum},
		{b * (byZZ.withZ + byZ.sum), byZZ.withZZ + byZ.withZ},
		{b * (s.guess*byZZ.sum + guessZ.sum), s.guess*byZZ.withZ + guessZ.withZ,
			s.guess*(s.guess*byZZ.sum+2*guessZ.sum) + s.guessGuess*byZ.sum + guess2},
		{b * (s.lapse*byZZ.sum + lapseZ.sum), s.lapse*byZZ.withZ + lapseZ.withZ,
			s.guess*(s.lapse*byZZ.sum+lapseZ.sum) + s.lapse*guessZ.sum + s.guessLapse*byZ.sum + guessLapse,
			s.lapse*(s.lapse*byZZ.sum+2*lapseZ.sum) + s.lapses2*byZ.sum + lapse2},
	}
}

// moments are a sum over levels, the same with z as a factor, and with its square.
type moments struct{ sum, withZ, withZZ float64 }

func (m *moments) add(v, z float64) {
	m.sum += v
	v *= z
	m.withZ += v
	m.withZZ += v * z
}

// logSum adds up logarithms of probabilities. Those of few answers are multiplied
// instead, and the logarithm of the product is taken now and then, since a
// logarithm takes as long as many products.
type logSum struct {
	sum, product float64
	above, least float64 // least: where the product takes the whole down to above
}

// sumAbove is an empty sum that is of interest only while it is above a value.
func sumAbove(above float64) logSum {
	l := logSum{product: 1, above: above}
	l.take(0)
	return l
}

// add adds n·ln p; nothing for n = 0, whatever p.
func (l *logSum) add(p float64, n int) {
	const small, many = 1e-60, 4
	if n == 0 {
		return
	}
	if n > many || !(p > small) {
		l.take(float64(n) * math.Log(p))
		return
	}
	for range n {
		l.product *= p
	}
	if l.product < small {
		product := l.product
		l.product = 1
		l.take(math.Log(product))
	}
}

func (l *logSum) take(logarithm float64) {
	const rounding = 1e-9
	l.sum += logarithm
	l.least = math.Exp(l.above - l.sum - rounding)
}

// lost reports whether the sum has fallen below its value, for good: logarithms of
// probabilities only take away.
func (l *logSum) lost() bool { return l.product < l.least }

func (l *logSum) value() float64 { return l.sum + math.Log(l.product) }
