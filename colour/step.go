package colour

import "math"

// Direction is a direction of difference: shares of lightness, chroma and hue in
// ΔE00 units, signed as in [Difference]. Only the direction counts, not the
// length.
type Direction struct{ L, C, H float64 }

// The six pure directions.
var (
	Lighter    = Direction{L: 1}
	Darker     = Direction{L: -1}
	MoreChroma = Direction{C: 1}
	LessChroma = Direction{C: -1}
	LargerHue  = Direction{H: 1}  // for teeth: yellower
	SmallerHue = Direction{H: -1} // for teeth: redder
)

// Direction is the direction of a difference; the zero Direction for equal
// colours.
func (d Difference) Direction() Direction { return Direction{d.L, d.C, d.H}.unit() }

// Opposite is the direction turned round.
func (d Direction) Opposite() Direction { return Direction{-d.L, -d.C, -d.H} }

// Angle is the angle between two directions in degrees, 0–180. With a zero
// direction it is NaN: there is no such angle.
func (d Direction) Angle(e Direction) float64 {
	d, e = d.unit(), e.unit()
	if d == (Direction{}) || e == (Direction{}) {
		return math.NaN()
	}
	// The arctangent keeps its digits near 0° and 180°, where an arccosine loses
	// half of them.
	apart := Direction{d.L - e.L, d.C - e.C, d.H - e.H}.length()
	along := Direction{d.L + e.L, d.C + e.C, d.H + e.H}.length()
	return 2 * math.Atan2(apart, along) * 180 / math.Pi
}

func (d Direction) length() float64 { return math.Sqrt(d.L*d.L + d.C*d.C + d.H*d.H) }

func (d Direction) unit() Direction {
	n := d.length()
	if !(n > 0) || math.IsInf(n, 0) {
		return Direction{}
	}
	return Direction{d.L / n, d.C / n, d.H / n}
}

// Step finds the colour that lies e ΔE00 from a colour in the given direction:
// the inverse of [Compare]. Where none exists (chroma would fall below 0, a grey
// cannot turn its hue, the direction is zero) reached is false and the colour is
// the nearest that could be made.
func Step(from Lab, e float64, d Direction) (to Lab, reached bool) {
	d = d.unit()
	if d == (Direction{}) || !(e >= 0) || !from.Finite() {
		return from, false
	}
	// The weighting functions belong to the mean of both ends, so they are found
	// by repetition; each round gains about one digit or more.
	to, size := from, e
	var got Difference
	for range 40 {
		to = stepWith(from, to, size, d)
		got = Compare(from, to, Unit)
		miss := math.Abs(got.E-e) + e*math.Abs(got.L/size-d.L) + e*math.Abs(got.C/size-d.C) + e*math.Abs(got.H/size-d.H)
		if miss <= 1e-10*e || e == 0 {
			return to, true
		}
		if got.E > 0 { // the rotation term makes E differ from the length of the parts
			size *= math.Sqrt(e / got.E)
		}
	}
	return to, got.Direction().Angle(d) < 1e-3 && math.Abs(got.E-e) < 1e-5*e
}

// stepWith solves for the far end with the weighting functions of the last
// guess.
func stepWith(from, guess Lab, size float64, d Direction) Lab {
	c1, c2 := from.Chroma(), guess.Chroma()
	g := 0.5 * (1 - math.Sqrt(saturation((c1+c2)/2)))
	a1, a2 := (1+g)*from.A, (1+g)*guess.A
	cp1, cp2 := math.Hypot(a1, from.B), math.Hypot(a2, guess.B)
	h1, h2 := hueDegrees(a1, from.B), hueDegrees(a2, guess.B)
	sl, sc, sh := weighting((from.L+guess.L)/2, (cp1+cp2)/2, meanHue(h1, h2, cp1*cp2 == 0))
	cp := math.Max(0, cp1+size*d.C*sc)
	h := h1
	if root := math.Sqrt(cp1 * cp); root > 0 {
		sine := size * d.H * sh / (2 * root)
		h += 2 * math.Asin(math.Max(-1, math.Min(1, sine))) * 180 / math.Pi
	}
	sin, cos := math.Sincos(radians(h))
	return Lab{from.L + size*d.L*sl, cp * cos / (1 + g), cp * sin}
}
