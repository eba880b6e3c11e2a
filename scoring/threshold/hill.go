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
// differences of the objective. Of a place that is no higher than another, above, only
// the height is worked out.
func (f *fitter) hill(target psychometric.Target, p psychometric.Parameters, above float64) hill {
	h := hill{height: math.Inf(-1)}
	s, ok := shiftOf(target, p)
	if !ok || !(p.Threshold > 0) || !(p.Slope > 0) {
		return h
	}
	logThreshold, span := math.Log(p.Threshold), 1-p.Guess-p.Lapse
	f.looks = f.looks[:0]
	var height logSum
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

// derive fills in slope and curvature. With A = ∂ψ/∂z and B = ∂²ψ/∂z² all derivatives of
// ψ are of A, B, F and 1 − F at a level times powers of z and what is the same at all
// levels: the latter are taken out of the sums.
func (h *hill) derive(looks []look, counts []psychometric.Count, p psychometric.Parameters, s shift) {
	span := 1 - p.Guess - p.Lapse
	// Weighed by the slope of the logarithm of an answer's probability by ψ:
	var a, az, b, bz, bzz, survival, seen float64
	// Weighed by its curvature, products of first derivatives, F and 1 − F being r and q:
	var aa, aaz, aazz, aq, aqz, ar, arz, qq, qr, rr float64
	for i, n := range counts {
		l := &looks[i]
		var first, second float64
		if n.Yes > 0 {
			first = float64(n.Yes) / l.yes
			second = first / l.yes
		}
		if n.Yes < n.N {
			no := float64(n.N-n.Yes) / l.no
			first, second = first-no, second+no/l.no
		}
		survival += first * l.survival
		seen += first * l.seen
		q, r := second*l.survival, second*l.seen
		qq += q * l.survival
		qr += q * l.seen
		rr += r * l.seen
		if !(l.survival > 0) || l.e == 0 {
			continue // flat
		}
		A := span * l.survival * l.e
		fa := first * A
		fb := fa * (1 - l.e)
		a += fa
		az += fa * l.z
		b += fb
		bz += fb * l.z
		bzz += fb * l.z * l.z
		sa := second * A * A
		aa += sa
		aaz += sa * l.z
		aazz += sa * l.z * l.z
		q, r = q*A, r*A
		aq += q
		aqz += q * l.z
		ar += r
		arz += r * l.z
	}
	z, g, m := -p.Slope, s.guess, s.lapse // ∂z by ln t, γ and λ; by ln β it is z itself
	h.slope = [4]float64{z * a, az, survival + g*a, -seen + m*a}
	c := &h.curvature
	c[0][0] = z * z * (b - aa)
	c[1][0] = z * (bz + a - aaz)
	c[1][1] = bzz + az - aazz
	c[2][0] = z * (g*b - a/span - aq - g*aa)
	c[2][1] = g*bz - az/span - aqz - g*aaz
	c[2][2] = g*g*b + s.guessGuess*a - 2*g*a/span - qq - 2*g*aq - g*g*aa
	c[3][0] = z * (m*b - a/span + ar - m*aa)
	c[3][1] = m*bz - az/span + arz - m*aaz
	c[3][2] = g*m*b + s.guessLapse*a - (g+m)*a/span + qr + g*ar - m*aq - g*m*aa
	c[3][3] = m*m*b + s.lapses2*a - 2*m*a/span - rr + 2*m*ar - m*m*aa
}

// logSum adds up logarithms of probabilities. Those of few answers are multiplied
// instead, and the logarithm of the product is taken now and then, since a
// logarithm takes as long as many products. The zero value is ready.
type logSum struct {
	sum, product float64
	some         bool
}

// add adds n·ln p; nothing for n = 0, whatever p.
func (l *logSum) add(p float64, n int) {
	const small, many = 1e-60, 4
	switch {
	case n == 0:
		return
	case n > many || !(p > small):
		l.sum += float64(n) * math.Log(p)
		return
	case !l.some:
		l.product, l.some = 1, true
	}
	for range n {
		l.product *= p
	}
	if l.product < small {
		l.sum += math.Log(l.product)
		l.product = 1
	}
}

func (l *logSum) value() float64 {
	if !l.some {
		return l.sum
	}
	return l.sum + math.Log(l.product)
}
