package colour

import (
	"math"
)

// A screen shows 8-bit colours, and near the threshold of seeing there are few
// of them: in tooth colours the nearest neighbour of a colour is 0.2–0.4 ΔE00
// away. A pair of the wished difference rarely exists; Around finds the pair that
// comes nearest and says truthfully what it is.

// Pair is two displayable colours and their true difference.
type Pair struct {
	Standard, Sample SRGB
	Difference               // from the standard to the sample, of the bytes themselves
	SizeError        float64 // ΔE00 shown minus ΔE00 wished
	Angle            float64 // degrees between the direction shown and the wished one; NaN when the bytes are equal
	Miss             float64 // both errors in one: distance of (L, C, H) shown from (L, C, H) wished, in ΔE00
}

// judge fills in how far the pair is from e ΔE00 in direction d, a unit vector.
func (p *Pair) judge(e float64, d Direction) {
	p.SizeError = p.E - e
	p.Angle = p.Direction().Angle(d)
	p.Miss = p.missFrom(e, d)
}

func (p *Pair) missFrom(e float64, d Direction) float64 {
	return Direction{p.L - e*d.L, p.C - e*d.C, p.H - e*d.H}.length()
}

// Around finds the displayable sample whose difference from a standard comes
// nearest to e ΔE00 in direction d. Among equals the first in byte order wins,
// so the answer is always the same. A wish outside the gamut gives a pair at its
// border and a large Miss.
func Around(standard SRGB, e float64, d Direction) Pair {
	d = d.unit()
	best := around(standard, e, d)
	best.judge(e, d)
	return best
}

const (
	// reach is how many codes each byte may lie from the rounded target. It is
	// checked against a much wider search.
	reach = 2
	// shortlist is how many of those are compared exactly.
	shortlist = 6
)

func around(standard SRGB, e float64, d Direction) (best Pair) {
	from := standard.Lab()
	target, _ := Step(from, e, d)
	middle, _ := target.SRGB()

	// Rank by a metric that is flat around the target: its weighting functions
	// are taken once, its chroma and hue directions are those of the target.
	c1, c2 := from.Chroma(), target.Chroma()
	stretch := 1.5 - 0.5*math.Sqrt(saturation((c1+c2)/2))
	cp := math.Hypot(stretch*target.A, target.B)
	cos, sin := 1.0, 0.0
	if cp > 0 {
		cos, sin = stretch*target.A/cp, target.B/cp
	}
	hue := hueDegrees(stretch*target.A, target.B)
	sl, sc, sh := weighting((from.L+target.L)/2, (math.Hypot(stretch*from.A, from.B)+cp)/2, hue)
	type candidate struct {
		shown SRGB
		lab   Lab
		miss  float64
	}
	var list [shortlist + 1]candidate
	n := 0
	for sample := range neighbours(middle, reach) {
		lab := sample.Lab()
		da, db := stretch*(lab.A-target.A), lab.B-target.B
		l, c, h := (lab.L-target.L)/sl, (da*cos+db*sin)/sc, (db*cos-da*sin)/sh
		miss := l*l + c*c + h*h
		if n == shortlist && miss >= list[n-1].miss {
			continue
		}
		at := n
		for ; at > 0 && list[at-1].miss > miss; at-- {
			list[at] = list[at-1]
		}
		list[at] = candidate{sample, lab, miss}
		n = min(n+1, shortlist)
	}
	best.Miss = math.Inf(1)
	for _, c := range list[:n] {
		p := Pair{Standard: standard, Sample: c.shown, Difference: Compare(from, c.lab, Unit)}
		p.Miss = p.missFrom(e, d)
		if p.Miss < best.Miss || p.Miss == best.Miss && p.Sample.code() < best.Sample.code() {
			best = p
		}
	}
	return best
}

// neighbours lists the byte colours up to n codes from a colour in each channel.
func neighbours(c SRGB, n int) func(yield func(SRGB) bool) {
	span := func(code uint8) (lo, hi int) { return max(0, int(code)-n), min(255, int(code)+n) }
	return func(yield func(SRGB) bool) {
		r0, r1 := span(c.R)
		g0, g1 := span(c.G)
		b0, b1 := span(c.B)
		for r := r0; r <= r1; r++ {
			for g := g0; g <= g1; g++ {
				for b := b0; b <= b1; b++ {
					if !yield(SRGB{uint8(r), uint8(g), uint8(b)}) {
						return
					}
				}
			}
		}
	}
}

func (c SRGB) code() int { return int(c.R)<<16 | int(c.G)<<8 | int(c.B) }
