package colour

import (
	"math"
	"sync"
)

// A screen colour has no spectrum. To show what a lamp does to a tooth, one is
// simulated: smooth, tooth-like, strictly within 0..1, and matching the wished
// colour exactly under D65. It says how a tooth of that colour may behave, not
// how a given tooth does; fluorescence and translucency are left out.

// toothShapes are the three ways in which the simulated reflectance may vary, on
// the scale of its logit ln(R/(1−R)), which keeps it within 0..1: lighter or
// darker, the fall towards blue that makes a tooth yellow, and a broad band in
// the green that makes it redder or greener. The fall has the place and width of
// the one measured on teeth, half way at about 490 nm and some 45 nm wide.
// (House choice: no published basis was at hand.)
var toothShapes = [3]gridded{
	sampled(func(float64) float64 { return 1 }),
	sampled(func(nm float64) float64 { return 1/(1+math.Exp(-(nm-490)/45)) - 0.5 }),
	sampled(func(nm float64) float64 { return bump(nm, 550, 50) }),
}

func bump(nm, centre, width float64) float64 {
	d := (nm - centre) / width
	return math.Exp(-d * d / 2)
}

// daylightWeights turn a reflectance into tristimulus values under D65, adapted
// to the display's white.
var daylightWeights = sync.OnceValue(func() *weights { return D65().displayed() })

// toothReflectance solves for the three shares by Newton's method. It takes three
// or four rounds as a rule.
func toothReflectance(lab Lab) (r gridded, found bool) {
	if !lab.Finite() || lab.L <= 0 || lab.L > 100 {
		return r, false
	}
	const closeEnough = 1e-4 // of Y = 1; what is left is taken up without another exponential
	target := lab.xyz()
	w := daylightWeights()
	share := [3]float64{math.Log(target.Y/math.Max(1-target.Y, 0.01)) - lab.B/50, lab.B / 12, 0}
	var step [3]float64
	var slope gridded
	miss := math.Inf(1)
	for range 60 {
		var got XYZ
		var jacobian matrix3
		for i := range r {
			b1, b2 := toothShapes[1][i], toothShapes[2][i]
			v := 1 / (1 + math.Exp(-share[0]-share[1]*b1-share[2]*b2))
			r[i], slope[i] = v, v*(1-v)
			for axis := range w {
				weight := w[axis][i] * slope[i]
				jacobian[axis][0] += weight
				jacobian[axis][1] += weight * b1
				jacobian[axis][2] += weight * b2
			}
			got.X += w[0][i] * v
			got.Y += w[1][i] * v
			got.Z += w[2][i] * v
		}
		lack := XYZ{target.X - got.X, target.Y - got.Y, target.Z - got.Z}
		now := math.Abs(lack.X) + math.Abs(lack.Y) + math.Abs(lack.Z)
		if !(now < miss) { // overshot: go back half way
			for k := range share {
				step[k] /= 2
				share[k] -= step[k]
			}
			continue
		}
		miss = now
		change := jacobian.inverse().times(lack)
		if now < closeEnough {
			// The match is linear in R, so this step makes it exact. The slope keeps
			// R within 0..1.
			for i := range r {
				r[i] += slope[i] * (change.X + change.Y*toothShapes[1][i] + change.Z*toothShapes[2][i])
			}
			return r, true
		}
		step = [3]float64{change.X, change.Y, change.Z}
		for k := range share {
			share[k] += step[k]
		}
	}
	return r, false
}

// ToothReflectance is a smooth tooth-like reflectance, 380–780 nm, that has the
// wished colour exactly under D65. Found is false where the shape cannot reach
// the colour. Every colour with L* 55–90, C* 2–35 and h 70–105° is reached, and
// up to L* 95 every one that an sRGB display can show; the rest of that corner
// is too bright and orange for any surface.
func ToothReflectance(lab Lab) (reflectance Spectrum, found bool) {
	r, found := toothReflectance(lab)
	if !found {
		return Spectrum{}, false
	}
	return r.spectrum(), true
}

// Under is what a tooth of the given daylight colour looks like under the light,
// as a colour for the display, to an observer adapted to the light. Where no tooth
// reflectance can be found, found is false and the colour is returned as it is.
func (l Light) Under(lab Lab) (seen Lab, found bool) {
	r, found := toothReflectance(lab)
	if !found {
		return lab, false
	}
	return l.displayed().xyz(&r).lab(), true
}
