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

// derive fills in slope and curvature.
func (h *hill) derive(looks []look, counts []psychometric.Count, p psychometric.Parameters, s shift) {
	span := 1 - p.Guess - p.Lapse
	for i, n := range counts {
		l := &looks[i]
		yes, no := float64(n.Yes), float64(n.N-n.Yes)
		var z [4]float64
		if n.Level > 0 {
			z = [4]float64{-p.Slope, l.z, s.guess, s.lapse}
		}
		var dSeen, bend float64 // of seen, by z
		if l.survival > 0 {
			dSeen = l.survival * l.e
			bend = dSeen * (1 - l.e)
		}
		d := [4]float64{span * dSeen * z[0], span * dSeen * z[1], l.survival + span*dSeen*z[2], -l.seen + span*dSeen*z[3]}
		var first, second float64
		if n.Yes > 0 {
			first, second = yes/l.yes, yes/(l.yes*l.yes)
		}
		if n.Yes < n.N {
			first, second = first-no/l.no, second+no/(l.no*l.no)
		}
		zz := [4][4]float64{1: {z[0], z[1]}, 2: {2: s.guessGuess}, 3: {2: s.guessLapse, 3: s.lapses2}}
		if n.Level == 0 {
			zz = [4][4]float64{}
		}
		for a := range 4 {
			h.slope[a] += first * d[a]
			for b := range a + 1 {
				dd := span * (bend*z[a]*z[b] + dSeen*zz[a][b])
				if a >= 2 {
					dd -= dSeen * z[b]
				}
				if b >= 2 {
					dd -= dSeen * z[a]
				}
				h.curvature[a][b] += first*dd - second*d[a]*d[b]
			}
		}
	}
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
