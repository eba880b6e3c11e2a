package trend

import (
	"math"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
)

// seeing is what the likelihood is asked at: the biases, and what one ΔE00 is in standard
// deviations.
type seeing struct {
	bias, per [2]float64
	strips    []seenStrip // of the answer in hand; its room is used again for the next
}

// seenStrip is a strip of a cell: its chroma x, in standard deviations from the bias, the
// weight w of that, and what is [between] its hues.
type seenStrip struct{ x, w, q, z0, z1, z2, z3 float64 }

// look is at some parameters, of which the biases come first.
func (from *seeing) look(at *parameters, axes int) {
	for k := range axes {
		from.bias[k], from.per[k] = at[k], math.Exp(-at[axes+k])
	}
}

// valueOf is the probability of the group that was taken, with the derivatives of its
// logarithm; the second ones are added to bend.
func valueOf(t *scoring.Taken, from *seeing, score *parameters, bend *curvature) float64 {
	per := from.per[0]
	q, z0, z1, z2, z3 := between((t.Darkest-from.bias[0])*per, (t.Lightest-from.bias[0])*per)
	whole := (1-choiceLapses)*q + choiceLapses/float64(t.Groups)
	share := (1 - choiceLapses) / whole
	score[0], score[1] = share*per*z0, share*z1
	bend[0][0] += share*per*per*z1 - score[0]*score[0]
	bend[0][1] += share*per*(z2-z0) - score[0]*score[1]
	bend[1][1] += share*(z3-z1) - score[1]*score[1]
	return whole
}

// planeOf is the same of the choice that was taken from the group, whose probability is the
// sum of w·q over the strips of its cell. All derivatives come of such sums: of w·q·xᵏ, and
// of the same with z0 to z3 in place of q, here a to d. They have a loop of their own, in
// which they stay in registers.
func planeOf(t *scoring.Taken, from *seeing, score *parameters, bend *curvature) float64 {
	from.lay(t.Cell)
	var q0, q1, q2, q3, q4, a0, a1, a2, b0, b1, b2, c0, d0 float64
	for i := range from.strips {
		s := &from.strips[i]
		x, q, a, b := s.x, s.w*s.q, s.w*s.z0, s.w*s.z1
		q0, a0, b0 = q0+q, a0+a, b0+b
		q, a, b = q*x, a*x, b*x
		q1, a1, b1 = q1+q, a1+a, b1+b
		q *= x
		q2, a2, b2 = q2+q, a2+a*x, b2+b*x
		q *= x
		q3, q4 = q3+q, q4+q*x
		c0, d0 = c0+s.w*s.z2, d0+s.w*s.z3
	}
	c, h := from.per[0], from.per[1]
	whole := (1-choiceLapses)*q0 + choiceLapses/float64(t.Choices)
	share := (1 - choiceLapses) / whole
	s0, s1, s2, s3 := share*c*q1, share*h*a0, share*(q2-q0), share*b0
	*score = parameters{s0, s1, s2, s3}
	bend[0][0] += share*c*c*(q2-q0) - s0*s0
	bend[0][1] += share*c*h*a1 - s0*s1
	bend[0][2] += share*c*(q3-3*q1) - s0*s2
	bend[0][3] += share*c*b1 - s0*s3
	bend[1][1] += share*h*h*b0 - s1*s1
	bend[1][2] += share*h*(a2-a0) - s1*s2
	bend[1][3] += share*h*(c0-a0) - s1*s3
	bend[2][2] += share*(q4-4*q2+q0) - s2*s2
	bend[2][3] += share*(b2-b0) - s2*s3
	bend[3][3] += share*(d0-b0) - s3*s3
	return whole
}

// lay lays out those strips of a cell that can have been seen.
func (from *seeing) lay(cell []tabs.Strip) {
	if cap(from.strips) < len(cell) {
		from.strips = make([]seenStrip, len(cell))
	}
	strips, n := from.strips[:len(cell)], 0
	for i := range cell {
		s := &cell[i]
		x := (s.Chroma - from.bias[0]) * from.per[0]
		if math.Abs(x) > widest {
			continue
		}
		place, off := placeOf(x)
		seen := &strips[n]
		seen.x, seen.w = x, s.Width*from.per[0]*place.density(off)
		seen.q, seen.z0, seen.z1, seen.z2, seen.z3 = between((s.Reddest-from.bias[1])*from.per[1], (s.Yellowest-from.bias[1])*from.per[1])
		n++
	}
	from.strips = strips[:n]
}

// widest is from how many standard deviations on nothing is seen: less than one in
// 100,000, beside the lapses.
const widest = 5.5

// between is the normal probability q of an interval, given in standard deviations from the
// bias, and by how much zᵏφ(z) is larger at its lower end than at its upper one, k from 0 to
// 3: of these come the derivatives by the bias and by the logarithm of the scatter.
func between(lo, hi float64) (q, z0, z1, z2, z3 float64) {
	lo, hi = tabled(lo), tabled(hi)
	at, off := placeOf(lo)
	l0 := at.density(off)
	l1 := lo * l0
	lp := at.distribution(off, l0, l1)
	at, off = placeOf(hi)
	h0 := at.density(off)
	h1 := hi * h0
	l2, h2 := lo*l1, hi*h1
	return at.distribution(off, h0, h1) - lp, l0 - h0, l1 - h1, l2 - h2, lo*l2 - hi*h2
}

// The normal density and distribution, tabled, since a fit asks for them thousands of
// times. Between two places of the table the density is a Taylor series of four terms, and
// the distribution goes on by the trapezium rule, corrected by the slopes at both its ends
// (Euler and Maclaurin): the error is less than 1e−8.
const (
	normalEnd  = 8.0
	normalStep = 1.0 / 32
)

// normalPlace is a place z of the table: the distribution, and the terms of the density's
// series.
type normalPlace struct{ z, p, d, d1, d2, d3 float64 }

var normalTable = func() (table [2*normalEnd/normalStep + 1]normalPlace) {
	for i := range table {
		z := float64(i)*normalStep - normalEnd
		d := density(z)
		table[i] = normalPlace{z, normal(z), d, -z * d, (z*z - 1) / 2 * d, (3 - z*z) * z / 6 * d}
	}
	table[0], table[len(table)-1] = normalPlace{z: -normalEnd}, normalPlace{z: normalEnd, p: 1}
	return table
}()

// placeOf is the place nearest to z, which lies within the table, and how far off z lies.
func placeOf(z float64) (at *normalPlace, h float64) {
	at = &normalTable[int(z*(1/normalStep)+(normalEnd/normalStep+0.5))]
	return at, z - at.z
}

func (at *normalPlace) density(h float64) float64 {
	return at.d + h*(at.d1+h*(at.d2+h*at.d3))
}

// distribution is given the density d there, and z·d.
func (at *normalPlace) distribution(h, d, zd float64) float64 {
	return at.p + h*((at.d+d)*0.5+(zd+at.d1)*(h*(1.0/12)))
}

// tabled is z, or the end of the table that it lies beyond.
func tabled(z float64) float64 {
	if z < -normalEnd {
		return -normalEnd
	}
	if z > normalEnd {
		return normalEnd
	}
	return z
}

// normalAt is the density and the distribution at z.
func normalAt(z float64) (d, p float64) {
	z = tabled(z)
	at, h := placeOf(z)
	d = at.density(h)
	return d, at.distribution(h, d, z*d)
}

func density(z float64) float64 {
	return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
}

func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
