package tabs

import (
	"math"
	"math/rand/v2"

	"shadedrill/colour"
)

// Region is a body of colours: a range of lightness, a range of chroma that
// depends on lightness, and a range of hue angle that depends on both.
type Region struct {
	Name               string
	Darkest, Lightest  float64 // L*
	Reddest, Yellowest float64 // hue angle in degrees that nothing lies beyond
	least, most        outline // chroma C* against lightness
	green, red         outline // least and greatest a* against lightness; empty for none
}

// outline is a piecewise linear bound; beyond its ends it is constant.
type outline []struct{ l, bound float64 }

func (o outline) at(l float64) float64 {
	if l <= o[0].l {
		return o[0].bound
	}
	for i := 1; i < len(o); i++ {
		if l <= o[i].l {
			t := (l - o[i-1].l) / (o[i].l - o[i-1].l)
			return o[i-1].bound + t*(o[i].bound-o[i-1].bound)
		}
	}
	return o[len(o)-1].bound
}

// The colours of teeth. Published means lie at L* 73–84, C* 15–26, h 88–93°, and
// lightness, chroma and hue go together: README.md lists the studies and says
// which bound follows from what. The overall range, about L* 55–90, C* 5–37,
// h 75–105°, is remembered from reviews and is a house choice here. Light teeth
// are not strongly chromatic, so the region narrows from L* 80 upwards; bleached
// teeth add the light, weakly chromatic end up to L* 93. Light teeth lie on the
// yellow to greenish side, dark ones on the red side, so that the bounds of a*
// fall with lightness: a dark and greenish colour is olive, a light, chromatic and
// reddish one orange, and neither is a tooth's.
var (
	// Teeth is every colour that the built-in libraries answer for: natural
	// teeth and the whitened end together.
	Teeth = Region{"teeth", 58, 93, 76, 102,
		outline{{58, 6}, {82, 6}, {90, 3}}, outline{{80, 32}, {88, 22}, {93, 10}}, greenest, reddest}
	// NaturalTeeth is the part of Teeth without whitening.
	NaturalTeeth = Region{"natural teeth", 58, 88, 76, 102,
		outline{{58, 6}}, outline{{80, 32}, {88, 22}}, greenest, reddest}
	// ToothBox is what a measured colour of a tooth may be: the ranges of Teeth,
	// each taken by itself. A measurement is not held against a correlation.
	ToothBox = Region{"teeth, measured", 58, 93, 76, 102, Teeth.least, Teeth.most, nil, nil}

	// Most teeth have a* from −2 to 4, all from −4 to 8 (from memory); how the bounds
	// move with lightness is a house choice.
	greenest = outline{{58, 0}, {75, -2}}
	reddest  = outline{{62, 8}, {82, 4}}
)

// ChromaRange returns the least and the greatest chroma C* that the region
// holds at lightness l.
func (r Region) ChromaRange(l float64) (least, most float64) { return r.least.at(l), r.most.at(l) }

// HueRange returns the reddest and the yellowest hue angle, in degrees, that the
// region holds at lightness l and chroma c.
func (r Region) HueRange(l, c float64) (reddest, yellowest float64) {
	reddest, yellowest = r.Reddest, r.Yellowest
	if len(r.red) > 0 {
		reddest = max(reddest, hueOf(r.red.at(l), c))
	}
	if len(r.green) > 0 {
		yellowest = min(yellowest, hueOf(r.green.at(l), c))
	}
	return reddest, yellowest
}

// MiddleHue is the hue angle halfway between the bounds of [Region.HueRange].
func (r Region) MiddleHue(l, c float64) float64 {
	reddest, yellowest := r.HueRange(l, c)
	return (reddest + yellowest) / 2
}

// hueOf is the hue angle of b* ≥ 0 at which a colour of chroma c has a given a*, or
// comes nearest to it.
func hueOf(a, c float64) float64 {
	return math.Acos(min(1, max(-1, a/max(c, 1e-9)))) * 180 / math.Pi
}

// edge is the rounding allowed at the border: a colour made from the border's
// own coordinates and converted back still belongs.
const edge = 1e-9

// Contains reports whether a colour lies in the region, its border included.
func (r Region) Contains(c colour.Lab) bool {
	x := c.LCh()
	least, most := r.ChromaRange(x.L)
	reddest, yellowest := r.HueRange(x.L, x.C)
	return x.L >= r.Darkest-edge && x.L <= r.Lightest+edge &&
		x.C >= least-edge && x.C <= most+edge &&
		x.H >= reddest-edge && x.H <= yellowest+edge
}

// Sample draws a colour from the region, uniformly by ΔE00: bodies of equal
// volume in ΔE00 steps of lightness, chroma and hue are equally likely,
// wherever in the region they lie. (Uniform in L*, C* and h would crowd the weak
// chromas, where a degree of hue is a small step.) The same source gives the same
// colours.
func (r Region) Sample(rng *rand.Rand) colour.Lab {
	widest := r.most.at(r.Darkest)
	for _, k := range r.most {
		widest = max(widest, k.bound)
	}
	least := r.least.at(r.Lightest)
	for _, k := range r.least {
		least = min(least, k.bound)
	}
	for {
		x := colour.LCh{
			L: r.Darkest + rng.Float64()*(r.Lightest-r.Darkest),
			C: least + rng.Float64()*(widest-least),
			H: r.Reddest + rng.Float64()*(r.Yellowest-r.Reddest),
		}
		if c := x.Lab(); rng.Float64()*densityBound < density(x) && r.Contains(c) {
			return c
		}
	}
}

// density is the ΔE00 volume of a unit of L*, C* and degree of hue at a colour,
// by short steps along the three axes.
func density(x colour.LCh) float64 {
	const step = 0.01
	at := x.Lab()
	dL := colour.DeltaE00(at, colour.LCh{L: x.L - step, C: x.C, H: x.H}.Lab())
	dC := colour.DeltaE00(at, colour.LCh{L: x.L, C: x.C + step, H: x.H}.Lab())
	dH := colour.DeltaE00(at, colour.LCh{L: x.L, C: x.C, H: x.H + step}.Lab())
	return dL * dC * dH / (step * step * step)
}

// densityBound is above density everywhere in Teeth; a test walks the grid.
const densityBound = 0.22

// Grid returns colours that fill the region at about the given pitch, in ΔE00,
// along lightness, chroma and hue, border and corners included. Each stands for
// an equal ΔE00 volume but for the border, which weighs a little more than its
// share. The order and the colours are always the same.
func (r Region) Grid(pitch float64) []colour.Lab {
	var out []colour.Lab
	for _, l := range steps(r.Darkest, r.Lightest, pitch, func(l float64) colour.Lab { return colour.Lab{L: l} }) {
		least, most := r.ChromaRange(l)
		middle := func(c float64) colour.Lab { return colour.LCh{L: l, C: c, H: r.MiddleHue(l, c)}.Lab() }
		for _, c := range steps(least, most, pitch, middle) {
			reddest, yellowest := r.HueRange(l, c)
			for _, h := range steps(reddest, yellowest, pitch, func(h float64) colour.Lab { return colour.LCh{L: l, C: c, H: h}.Lab() }) {
				out = append(out, colour.LCh{L: l, C: c, H: h}.Lab())
			}
		}
	}
	return out
}

// steps divides the path at(from)…at(to) into the fewest equal parts, measured
// in ΔE00 along the path, that are no longer than pitch, and returns the ends of
// the parts. A path of no length gives one point.
func steps(from, to, pitch float64, at func(float64) colour.Lab) []float64 {
	p := NewPath(from, to, at)
	n := int(math.Ceil(p.Length()/pitch - 1e-9))
	if n <= 0 {
		return []float64{from}
	}
	out := make([]float64, n+1)
	for i := range out {
		out[i] = p.At(float64(i) / float64(n))
	}
	return out
}

// Path measures a curve by ΔE00 along it.
type Path struct {
	from, to float64
	upTo     []float64 // length from the start to each of the equally spaced knots
}

// pathKnots is fine enough that ΔE00 between knots is additive to 1e-4.
const pathKnots = 64

// NewPath measures the path at(from)…at(to).
func NewPath(from, to float64, at func(float64) colour.Lab) Path {
	p := Path{from, to, make([]float64, pathKnots+1)}
	last := at(from)
	for i := 1; i <= pathKnots; i++ {
		next := at(from + (to-from)*float64(i)/pathKnots)
		p.upTo[i] = p.upTo[i-1] + colour.DeltaE00(last, next)
		last = next
	}
	return p
}

// Length is the length of the path in ΔE00.
func (p Path) Length() float64 { return p.upTo[pathKnots] }

// At returns the parameter, between from and to, a share t of the length along the
// path.
func (p Path) At(t float64) float64 {
	if t >= 1 {
		return p.to
	}
	want := t * p.Length()
	i := 1
	for i < pathKnots && p.upTo[i] < want {
		i++
	}
	if p.upTo[i] == p.upTo[i-1] { // a path of no length
		return p.from
	}
	part := (want - p.upTo[i-1]) / (p.upTo[i] - p.upTo[i-1])
	return p.from + (p.to-p.from)*(float64(i-1)+part)/pathKnots
}
