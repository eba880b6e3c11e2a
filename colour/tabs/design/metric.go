package design

import (
	"math"

	"shadedrill/colour"
)

// place is a colour with what a quick ΔE00 needs: v, its lightness measured in
// ΔE00 along the lightness axis; a*, b* and C*; and C' and the T of the formula,
// each at the colour itself. The search compares billions of pairs, and the
// full formula costs ten times as much; the finished library is measured with
// the real one.
type place struct{ v, a, b, chroma, cPrime, t float64 }

const degree = math.Pi / 180

func newPlace(x colour.Lab) place {
	p := place{v: valueOf(x.L), a: x.A, b: x.B, chroma: x.Chroma()}
	a := (1 + stretch(p.chroma)) * x.A
	h := math.Atan2(x.B, a)
	p.cPrime = math.Hypot(a, x.B)
	p.t = 1 - 0.17*math.Cos(h-30*degree) + 0.24*math.Cos(2*h) + 0.32*math.Cos(3*h+6*degree) - 0.20*math.Cos(4*h-63*degree)
	return p
}

// largestSC2 is above the square of SC for every pair that lies in the region.
const largestSC2 = 7

// distance2 is the square of ΔE00, right to about 1 % between neighbours: G is
// taken at the mean chroma as in the formula, T as the mean of the two, and the
// rotation term, which vanishes for the hues of teeth, is left out. It gives up
// with +Inf where the square is plainly larger than limit.
func (p *place) distance2(q *place, limit float64) float64 {
	dV, dC := p.v-q.v, p.cPrime-q.cPrime
	rest := 1.2*limit - dV*dV
	if dC*dC > largestSC2*rest {
		return math.Inf(1)
	}
	g := 1 + stretch((p.chroma+q.chroma)/2)
	a1, a2 := g*p.a, g*q.a
	c1, c2 := math.Sqrt(a1*a1+p.b*p.b), math.Sqrt(a2*a2+q.b*q.b)
	dC = c1 - c2
	dH2 := (a1-a2)*(a1-a2) + (p.b-q.b)*(p.b-q.b) - dC*dC
	sum := c1 + c2
	sc := 1 + 0.0225*sum
	sh := 1 + 0.00375*sum*(p.t+q.t)
	return dV*dV + dC*dC/(sc*sc) + dH2/(sh*sh)
}

// stretch is the G of CIEDE2000 at a chroma C* below 50, by linear interpolation.
func stretch(c float64) float64 {
	at := c * 8
	i := int(at)
	return stretches[i] + (at-float64(i))*(stretches[i+1]-stretches[i])
}

var stretches = func() (g [402]float64) {
	for i := range g {
		c7 := math.Pow(float64(i)/8, 7)
		g[i] = 0.5 * (1 - math.Sqrt(c7/(c7+math.Pow(25, 7))))
	}
	return g
}()

// valueOf measures lightness in ΔE00 from L* 0, by linear interpolation.
func valueOf(l float64) float64 {
	at := l * 8
	i := min(int(at), 799)
	return values[i] + (at-float64(i))*(values[i+1]-values[i])
}

var values = func() (v [801]float64) {
	for i := 1; i < len(v); i++ {
		v[i] = v[i-1] + colour.DeltaE00(lightness(float64(i-1)/8), lightness(float64(i)/8))
	}
	return v
}()

// The three axes along which lengths are measured in ΔE00.

func lightness(l float64) colour.Lab { return colour.Lab{L: l} }

func chromaAt(l, h float64) func(float64) colour.Lab {
	return func(c float64) colour.Lab { return colour.LCh{L: l, C: c, H: h}.Lab() }
}

func hueAt(l, c float64) func(float64) colour.Lab {
	return func(h float64) colour.Lab { return colour.LCh{L: l, C: c, H: h}.Lab() }
}
