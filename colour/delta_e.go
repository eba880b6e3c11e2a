package colour

import "math"

// DeltaE00 is the CIEDE2000(1:1:1) difference of two colours, the E of [Compare]
// to within 1e-9 of its size. Symmetric; never NaN for coordinates up to ±1e6.
// Valid for small differences (ΔE00 < 5) under the reference conditions of CIE
// 142:2001; larger values order colours but are not to scale.
func DeltaE00(a, b Lab) float64 {
	l, c, h, rotation, ok := parts(a, b)
	if !ok {
		if a.A == 0 && a.B == 0 && b.A == 0 && b.B == 0 { // two greys: value groups are compared so
			return math.Abs(Lightness(a.L, b.L))
		}
		return Compare(a, b, Unit).E
	}
	return math.Sqrt(math.Max(0, l*l+c*c+h*h+rotation))
}

// Differ is [Compare] with the weights [Unit] for a third of its cost: E and the
// signed parts to within 1e-9 of 1 + E, the rotation to that of its square. Its E is that of [DeltaE00] to the last bit
// but for two greys.
func Differ(from, to Lab) Difference {
	l, c, h, rotation, ok := parts(from, to)
	if !ok {
		return Compare(from, to, Unit)
	}
	return Difference{E: math.Sqrt(math.Max(0, l*l+c*c+h*h+rotation)), L: l, C: c, H: h, Rotation: rotation}
}

// Lightness is the part L of [Differ] for the step from one lightness L* to another: it
// does not depend on chroma and hue.
func Lightness(from, to float64) float64 {
	offset := (from + to) / 2
	offset = (offset - 50) * (offset - 50)
	return (to - from) / (1 + 0.015*offset/math.Sqrt(20+offset))
}

// ChromaHue are the parts C and H of [Differ], which do not depend on lightness.
func ChromaHue(from, to Lab) (c, h float64) {
	c, h, _, ok := plane(from, to)
	if !ok {
		d := Compare(from, to, Unit)
		c, h = d.C, d.H
	}
	return c, h
}

// parts are the signed parts of a difference and its rotation term.
//
// Searches call this hundreds of thousands of times, so it takes no angle where
// a vector will do. Write uᵢ = (a'ᵢ, bᵢ)/C'ᵢ for the two hue directions. Then
//
//	ΔH' = 2√(C'₁C'₂)·sin(Δh'/2) = (a'₁b₂ − a'₂b₁) / √((C'₁C'₂ + a'₁a'₂ + b₁b₂)/2)
//
// and the mean hue is the direction of u₁ + u₂, because equation (14) always
// halves the smaller of the two arcs. The four cosines of T follow from cos h̄'
// and sin h̄' by the double- and triple-angle identities. What this cannot reach
// (hues almost opposite, a mean hue of 0° where equation (16) jumps, a colour
// without chroma) is left to [Compare]: ok is false. The two are fuzzed against
// each other.
func parts(a, b Lab) (l, c, h, rotated float64, ok bool) {
	c, h, rotated, ok = plane(a, b)
	return Lightness(a.L, b.L), c, h, rotated, ok
}

// plane is parts without lightness.
func plane(a, b Lab) (c, h, rotated float64, ok bool) {
	c1 := math.Sqrt(a.A*a.A + a.B*a.B)
	c2 := math.Sqrt(b.A*b.A + b.B*b.B)
	g := 0.5 * (1 - math.Sqrt(saturation((c1+c2)/2)))
	a1, a2 := (1+g)*a.A, (1+g)*b.A
	cp1 := math.Sqrt(a1*a1 + a.B*a.B)
	cp2 := math.Sqrt(a2*a2 + b.B*b.B)
	product := cp1 * cp2
	facing := product + a1*a2 + a.B*b.B // C'₁C'₂(1 + cos Δh')
	if !(facing > opposite*product) || product < 1e-12 {
		return 0, 0, 0, false
	}
	root := math.Sqrt(2 * facing)
	dH := 2 * (a1*b.B - a2*a.B) / root
	// |u₁ + u₂| = √(2(1 + cos Δh')), so this is a unit vector.
	scale := 1 / (math.Sqrt(product) * root)
	cos := (a1*cp2 + a2*cp1) * scale
	sin := (a.B*cp2 + b.B*cp1) * scale
	if cos > 0 && math.Abs(sin) < 1e-9 {
		return 0, 0, 0, false
	}

	meanC := (cp1 + cp2) / 2
	cos2, sin2 := cos*cos-sin*sin, 2*sin*cos
	cos3, sin3 := cos2*cos-sin2*sin, sin2*cos+cos2*sin
	cos4, sin4 := cos2*cos2-sin2*sin2, 2*sin2*cos2
	t := 1 - 0.17*(cos*cos30+sin*sin30) + 0.24*cos2 +
		0.32*(cos3*cos6-sin3*sin6) - 0.20*(cos4*cos63+sin4*sin63)
	c = (cp2 - cp1) / (1 + 0.045*meanC)
	h = dH / (1 + 0.015*meanC*t)
	// The rotation term dies away from blue: for mean hues of 0–150° it is below
	// 2e-11 of the rest, so teeth never pay for its exponential.
	if sin < 0 || cos < cos150 {
		rotated = rotation(sin, cos, meanC) * c * h
	}
	return c, h, rotated, true
}

// rotation is RT of equations (16), (17) and (21).
func rotation(sin, cos, meanC float64) float64 {
	q := (hueDegrees(cos, sin) - 275) / 25
	return -math.Sin(radians(60*math.Exp(-q*q))) * 2 * math.Sqrt(saturation(meanC))
}

// opposite is 1 + cos Δh' below which two hues count as opposite; the vectors
// then cancel too far for nine digits.
const opposite = 1e-6

const cos150 = -0.8660254037844386

var (
	sin30, cos30 = math.Sincos(radians(30))
	sin6, cos6   = math.Sincos(radians(6))
	sin63, cos63 = math.Sincos(radians(63))
)

// DeltaE00Floor is a number that ΔE00 never falls below, for a small part of its
// cost: a search for the nearest colour skips every candidate whose floor
// exceeds the best so far. It is close to ΔE00 when lightness differs most.
//
// Proof. With x = |L̄'−50|, SL = 1 + 0.015x²/√(20+x²) ≤ 1 + 0.015x. T ≤ 1 + 0.17 +
// 0.24 + 0.32 + 0.20 = 1.93, so SH ≤ 1 + 0.02895C̄' < SC = 1 + 0.045C̄'; and G ≤
// 0.5 gives C̄' ≤ 1.5C̄ ≤ 0.75(|a₁|+|b₁|+|a₂|+|b₂|). ΔC'² + ΔH'² is the squared
// distance of (a'₁, b₁) and (a'₂, b₂), at least Δa² + Δb². Where both b* ≥ 0 the
// mean hue lies in 0–180°, there |RT| < 1.2e-6, and |RT·C·H| ≤ |RT|(C²+H²)/2.
// Elsewhere only lightness is counted: C² + H² + RT·C·H ≥ 0 since |RT| ≤ 2.
func DeltaE00Floor(a, b Lab) float64 {
	l := (b.L - a.L) / (1 + 0.015*math.Abs((a.L+b.L)/2-50))
	sum := l * l
	if a.B >= 0 && b.B >= 0 {
		s := 1 + 0.03375*(math.Abs(a.A)+a.B+math.Abs(b.A)+b.B)
		da, db := b.A-a.A, b.B-a.B
		sum += (da*da + db*db) / (s * s)
	}
	return math.Sqrt(sum) * (1 - 1e-6)
}
