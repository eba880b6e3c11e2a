package colour

import "math"

// Weights are the parametric factors kL:kC:kH of CIEDE2000. The zero value is
// not usable; take [Unit].
type Weights struct{ L, C, H float64 }

// Unit is CIEDE2000(1:1:1), the reference conditions.
var Unit = Weights{1, 1, 1}

// Difference is a CIEDE2000 colour difference with the parts it is made of.
// The parts are weighted and signed, in ΔE00 units, for second colour minus
// first: L > 0 is lighter, C > 0 more chromatic, H > 0 turned towards larger hue
// angles (for teeth: yellower; H < 0 redder).
//
// E² = L² + C² + H² + Rotation, where Rotation = RT·C·H; for tooth hues RT is
// nearly 0.
type Difference struct {
	E        float64 // ΔE00, ≥ 0
	L        float64 // ΔL'/(kL·SL)
	C        float64 // ΔC'/(kC·SC)
	H        float64 // ΔH'/(kH·SH)
	Rotation float64 // RT·C·H
}

// Compare computes CIEDE2000 and its signed parts for the step from one colour
// to another, after G. Sharma, W. Wu and E. N. Dalal, "The CIEDE2000
// color-difference formula: implementation notes, supplementary test data, and
// mathematical observations", Color Research and Application 30 (2005) 21–30.
// The equation numbers are theirs.
func Compare(from, to Lab, k Weights) Difference {
	// Equations (2)–(7): chroma and hue with a* stretched for near-neutrals.
	c1, c2 := from.Chroma(), to.Chroma()
	g := 0.5 * (1 - math.Sqrt(saturation((c1+c2)/2)))
	a1, a2 := (1+g)*from.A, (1+g)*to.A
	cp1, cp2 := math.Hypot(a1, from.B), math.Hypot(a2, to.B)
	h1, h2 := hueDegrees(a1, from.B), hueDegrees(a2, to.B)

	// Equations (8)–(11): the three differences.
	dL := to.L - from.L
	dC := cp2 - cp1
	achromatic := cp1*cp2 == 0
	var dh float64
	if !achromatic {
		dh = h2 - h1
		if dh > halfTurn {
			dh -= 360
		} else if dh < -halfTurn {
			dh += 360
		}
	}
	dH := 2 * math.Sqrt(cp1*cp2) * math.Sin(radians(dh/2))

	// Equations (12)–(14): the means.
	meanL := (from.L + to.L) / 2
	meanC := (cp1 + cp2) / 2
	meanH := meanHue(h1, h2, achromatic)

	// Equations (15)–(21): the weighting functions.
	sl, sc, sh := weighting(meanL, meanC, meanH)
	q := (meanH - 275) / 25
	theta := 30 * math.Exp(-q*q)
	rc := 2 * math.Sqrt(saturation(meanC))
	rt := -math.Sin(radians(2*theta)) * rc

	// Equation (22).
	d := Difference{L: dL / (k.L * sl), C: dC / (k.C * sc), H: dH / (k.H * sh)}
	d.Rotation = rt * d.C * d.H
	// The sum can fall below 0 by rounding only; a square root of that is NaN.
	d.E = math.Sqrt(math.Max(0, d.L*d.L+d.C*d.C+d.H*d.H+d.Rotation))
	return d
}

// meanHue is equation (14): half way along the smaller arc.
func meanHue(h1, h2 float64, achromatic bool) float64 {
	switch {
	case achromatic:
		return h1 + h2
	case math.Abs(h1-h2) <= halfTurn:
		return (h1 + h2) / 2
	case h1+h2 < 360:
		return (h1 + h2 + 360) / 2
	default:
		return (h1 + h2 - 360) / 2
	}
}

// weighting is SL, SC and SH, equations (15) and (18)–(20).
func weighting(meanL, meanC, meanH float64) (sl, sc, sh float64) {
	t := 1 - 0.17*math.Cos(radians(meanH-30)) + 0.24*math.Cos(radians(2*meanH)) +
		0.32*math.Cos(radians(3*meanH+6)) - 0.20*math.Cos(radians(4*meanH-63))
	offset := (meanL - 50) * (meanL - 50)
	return 1 + 0.015*offset/math.Sqrt(20+offset), 1 + 0.045*meanC, 1 + 0.015*meanC*t
}

// halfTurn is 180° with room for the last bit of atan2: at exactly 180° two
// mathematically equal spellings fall on different sides, and pairs 10 and 14
// of the published table come out wrong by 0.05.
const halfTurn = 180 + 1e-9

func hueDegrees(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 0
	}
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}

func radians(degrees float64) float64 { return degrees * math.Pi / 180 }

// saturation is C⁷/(C⁷+25⁷), written so that no chroma overflows: 0 at C = 0,
// 1 far above 25.
func saturation(c float64) float64 {
	r := 25 / c
	r3 := r * r * r
	return 1 / (1 + r3*r3*r)
}

// DeltaEab is the CIE 1976 difference ΔE*ab, the plain distance in CIELAB.
func DeltaEab(a, b Lab) float64 {
	return math.Hypot(math.Hypot(a.L-b.L, a.A-b.A), a.B-b.B)
}
