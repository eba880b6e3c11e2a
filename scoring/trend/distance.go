package trend

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// distanceBlocks is into how many blocks answers fall for the interval of a distance.
const distanceBlocks = 8

// mostUncertain is how wide an interval may be, on the logarithm to either side: a factor of
// two and a half. Beyond it the number would be the prior's and not the answers'.
var mostUncertain = math.Log(2.5)

// DistanceOfChoices is the ΔE00 within which half of what somebody sees lies from what is
// there: the median length of bias and scatter along the three axes, as
// [BiasOfChoices] has them.
//
// Its interval is one on the logarithm. Two errors are worked out by the delta method and
// the larger is taken: what blocks of answers, as they came, say of the distance (the
// infinitesimal jackknife, L. A. Jaeckel, Bell Laboratories Memorandum 72-1215-11 (1972),
// from memory), which needs no model; and the curvature of likelihood and prior. Where
// the choices lie far apart beside the scatter, answers hardly tell it, and the first
// alone would take the prior for knowledge.
//
// Measured coverage: README.md.
func DistanceOfChoices(taken []scoring.Taken, level float64) scoring.Estimate {
	n := len(taken)
	if n < distanceBlocks || !(level > 0 && level < 1) {
		return scoring.Undefined(n, "too few answers to tell")
	}
	fits := [2]*seenFit{fitSeen(valueOf, 1, taken), fitSeen(planeOf, 2, taken)}
	at := [2]parameters{fits[0].at, fits[1].at}
	value := seenDistance(at)
	var blocks [distanceBlocks]float64
	variance := 0.0
	for k, f := range fits {
		var slope parameters // of the logarithm of the distance
		for a := range 2 * f.axes {
			const h = 0.02
			up, down := at, at
			up[k][a], down[k][a] = up[k][a]+h, down[k][a]-h
			slope[a] = math.Log(seenDistance(up)/seenDistance(down)) / (2 * h)
		}
		for a := range 2 * f.axes {
			for b := range 2 * f.axes {
				variance += slope[a] * slope[b] * f.covariance[a][b]
			}
			for i := range f.of {
				blocks[i*distanceBlocks/n] += slope[a] * f.says[i][a] / float64(n)
			}
		}
	}
	spread := 0.0
	for _, b := range blocks {
		spread += b * b * distanceBlocks / (distanceBlocks - 1)
	}
	half := max(StudentQuantile(level, distanceBlocks-1)*math.Sqrt(spread), normalQuantile(level)*math.Sqrt(variance))
	if !(half < mostUncertain) {
		return scoring.Undefined(n, "the tabs on offer lay too far apart to tell")
	}
	return scoring.Interval(value, value*math.Exp(-half), value*math.Exp(half), level, n)
}

// seenPlaces are equally likely places along an axis, in standard deviations.
var seenPlaces = func() (z [31]float64) {
	for i := range z {
		z[i] = distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(len(z)))
	}
	return z
}()

// seenDistance is the median length of what is seen, from the parameters along value and
// along chroma and hue: where half lies within, by bisection. Chroma and hue lie at places,
// value is exact.
func seenDistance(at [2]parameters) float64 {
	value, sd := at[0][0], math.Exp(at[0][1])
	var plane []float64 // squares of what is seen along chroma and hue
	for _, c := range seenPlaces {
		for _, h := range seenPlaces {
			x, y := at[1][0]+math.Exp(at[1][2])*c, at[1][1]+math.Exp(at[1][3])*h
			plane = append(plane, x*x+y*y)
		}
	}
	lo, hi := 0.0, 40.0
	for hi-lo > 1e-4 {
		d := (lo + hi) / 2
		within := 0.0
		for _, square := range plane {
			if rest := d*d - square; rest > 0 {
				root := math.Sqrt(rest)
				_, most := normalAt((root - value) / sd)
				_, least := normalAt((-root - value) / sd)
				within += most - least
			}
		}
		if within < 0.5*float64(len(plane)) {
			lo = d
		} else {
			hi = d
		}
	}
	return (lo + hi) / 2
}
