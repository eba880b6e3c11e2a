package design

import (
	"math"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// place is a colour with what a quick ΔE00 needs: v, its lightness measured in
// ΔE00 along the lightness axis; a*, b* and C*; and h' of the formula at the colour
// itself. The search compares billions of pairs, and the full formula costs ten
// times as much; the finished library is measured with the real one.
type place struct{ v, a, b, chroma, hue float64 }

const degree = math.Pi / 180

func newPlace(x colour.Lab) place {
	p := place{v: valueOf(x.L), a: x.A, b: x.B, chroma: x.Chroma()}
	p.hue = math.Atan2(x.B, (1+stretch(p.chroma))*x.A)
	return p
}

// largestSC2 is above the square of SC for every pair that lies in the region.
const largestSC2 = 7

// beyond is a distance that no two colours of a search have.
const beyond = 1e9

// distance2 is the square of ΔE00, right to 0.3 % between neighbours of a region
// of tooth colours: G is taken at the mean chroma as in the formula, T at the mean
// of the two h', and the rotation term, which vanishes for the hues of teeth, is
// left out. It gives up with a large number where the square is plainly larger
// than limit.
func (p *place) distance2(q *place, limit float64) float64 {
	dV, dC := p.v-q.v, p.chroma-q.chroma
	if dC*dC > largestSC2*(1.2*limit-dV*dV) {
		return beyond
	}
	dC, dH := p.plane(q)
	return dV*dV + dC*dC + dH*dH
}

// plane returns the differences q minus p in chroma and hue, ΔC'/SC and ΔH'/SH.
func (p *place) plane(q *place) (dC, dH float64) {
	g := 1 + stretch((p.chroma+q.chroma)/2)
	a1, a2 := g*p.a, g*q.a
	c1, c2 := math.Sqrt(a1*a1+p.b*p.b), math.Sqrt(a2*a2+q.b*q.b)
	chroma := (c1 + c2) / 2
	// ΔH'² = 2·(C₁'·C₂' − a₁'·a₂' − b₁·b₂), and its sign is that of the cross product.
	dH = math.Sqrt(max(0, 2*(c1*c2-a1*a2-p.b*q.b)))
	if a1*q.b < a2*p.b {
		dH = -dH
	}
	return (c2 - c1) / (1 + 0.045*chroma), dH / (1 + 0.015*chroma*weightT((p.hue+q.hue)/2))
}

// weightT is the T of CIEDE2000 at a hue angle of 0 to 180°, in radians, by linear
// interpolation.
func weightT(h float64) float64 {
	at := max(0, h) / (degree / 2)
	i := min(int(at), len(weights)-2)
	return weights[i] + (at-float64(i))*(weights[i+1]-weights[i])
}

var weights = func() (t [362]float64) {
	for i := range t {
		h := float64(i) / 2 * degree
		t[i] = 1 - 0.17*math.Cos(h-30*degree) + 0.24*math.Cos(2*h) + 0.32*math.Cos(3*h+6*degree) - 0.20*math.Cos(4*h-63*degree)
	}
	return t
}()

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

// lightnessOf is the L* that valueOf measures as v.
func lightnessOf(v float64) float64 {
	i, _ := slices.BinarySearch(values[1:800], v)
	return (float64(i) + (v-values[i])/(values[i+1]-values[i])) / 8
}

var values = func() (v [801]float64) {
	for i := 1; i < len(v); i++ {
		v[i] = v[i-1] + colour.DeltaE00(lightness(float64(i-1)/8), lightness(float64(i)/8))
	}
	return v
}()

// units returns how much chroma C* and how many degrees of hue make one ΔE00 at a
// colour.
func units(x colour.LCh) (chroma, hue float64) {
	c := max(x.C, 1)
	return 1 + 0.045*c, (1 + 0.015*c*weightT(x.H*degree)) / c / degree
}

// The axes along which lengths are measured in ΔE00.

func lightness(l float64) colour.Lab { return colour.Lab{L: l} }

func chromaAt(r tabs.Region, l float64) func(float64) colour.Lab {
	return func(c float64) colour.Lab { return colour.LCh{L: l, C: c, H: r.MiddleHue(l, c)}.Lab() }
}

func hueAt(l, c float64) func(float64) colour.Lab {
	return func(h float64) colour.Lab { return colour.LCh{L: l, C: c, H: h}.Lab() }
}
