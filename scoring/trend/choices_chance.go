package trend

import (
	"math"

	"shadedrill/scoring"
)

// valueOf is the logarithm of the probability of the group that was taken, with its
// derivatives; the second ones are added to bend.
func valueOf(t *scoring.Taken, at, score *parameters, bend *curvature) float64 {
	per := math.Exp(-at[1])
	e := between((t.Darkest-at[0])*per, (t.Lightest-at[0])*per, per)
	whole := (1-choiceLapses)*e.p + choiceLapses/float64(t.Groups)
	share := (1 - choiceLapses) / whole
	score[0], score[1] = share*e.byBias, share*e.byScatter
	bend[0][0] += share*e.byBias2 - score[0]*score[0]
	bend[0][1] += share*e.byBoth - score[0]*score[1]
	bend[1][1] += share*e.byScatter2 - score[1]*score[1]
	return math.Log(whole)
}

// planeOf is the same of the choice that was taken from the group. The strips of its cell
// have the weight w of their chroma, and their hues the probability q.
func planeOf(t *scoring.Taken, at, score *parameters, bend *curvature) float64 {
	perC, perH := math.Exp(-at[2]), math.Exp(-at[3])
	var p float64
	var d parameters // first derivatives of p
	var d00, d01, d02, d03, d11, d12, d13, d22, d23, d33 float64
	for i := range t.Cell {
		s := &t.Cell[i]
		x := (s.Chroma - at[0]) * perC
		if x < -widest || x > widest {
			continue
		}
		e := between((s.Reddest-at[1])*perH, (s.Yellowest-at[1])*perH, perH)
		w := s.Width * perC * densityAt(x)
		xx := x * x
		byBias, byScatter := w*x*perC, w*(xx-1)
		p += w * e.p
		d[0] += byBias * e.p
		d[1] += w * e.byBias
		d[2] += byScatter * e.p
		d[3] += w * e.byScatter
		d00 += byScatter * perC * perC * e.p
		d01 += byBias * e.byBias
		d02 += byBias * (xx - 3) * e.p
		d03 += byBias * e.byScatter
		d11 += w * e.byBias2
		d12 += byScatter * e.byBias
		d13 += w * e.byBoth
		d22 += w * (xx*xx - 4*xx + 1) * e.p
		d23 += byScatter * e.byScatter
		d33 += w * e.byScatter2
	}
	whole := (1-choiceLapses)*p + choiceLapses/float64(t.Choices)
	share := (1 - choiceLapses) / whole
	for a := range d {
		score[a] = share * d[a]
	}
	for a, row := range [4][4]float64{{d00, d01, d02, d03}, {0, d11, d12, d13}, {0, 0, d22, d23}, {0, 0, 0, d33}} {
		for b := a; b < 4; b++ {
			bend[a][b] += share*row[b] - score[a]*score[b]
		}
	}
	return math.Log(whole)
}

// widest is from how many standard deviations on nothing is seen: less than one in
// 100,000, beside the lapses.
const widest = 5.5

// chance is the normal probability of an interval, and its derivatives by the bias and
// by the logarithm of the scatter.
type chance struct{ p, byBias, byScatter, byBias2, byBoth, byScatter2 float64 }

// between is that of an interval given in standard deviations from the bias, perUnit of
// which are one ΔE00.
func between(lo, hi, perUnit float64) (e chance) {
	dl, pl := normalAt(lo)
	dh, ph := normalAt(hi)
	if dl == 0 {
		lo = 0
	}
	if dh == 0 {
		hi = 0
	}
	dl1, dh1 := lo*dl, hi*dh
	dl2, dh2 := lo*dl1, hi*dh1
	e.p = ph - pl
	e.byBias = (dl - dh) * perUnit
	e.byScatter = dl1 - dh1
	e.byBias2 = e.byScatter * perUnit * perUnit
	e.byBoth = (dl2-dh2)*perUnit - e.byBias
	e.byScatter2 = lo*dl2 - hi*dh2 - e.byScatter
	return e
}

// The normal density and distribution, tabled, since a fit asks for them thousands of
// times. Between two places of the table they are a Taylor series of four terms, whose
// error is less than 1e−8.
const (
	normalEnd  = 8.0
	normalStep = 1.0 / 32
)

// normalPlace is a place z of the table: density and distribution, and the terms of the
// series after the first, the density's (2nd and 3rd Hermite polynomial, He₂/2! and
// −He₃/3!) and what they become in the distribution.
type normalPlace struct{ z, d, p, second, third, secondOfP float64 }

var normalTable = func() (table [2*normalEnd/normalStep + 1]normalPlace) {
	for i := range table {
		z := float64(i)*normalStep - normalEnd
		second := (z*z - 1) / 2
		table[i] = normalPlace{z, density(z), normal(z), second, (3 - z*z) * z / 6, second / 3}
	}
	return table
}()

// normalAt is the density and the distribution at z.
func normalAt(z float64) (d, p float64) {
	switch {
	case z <= -normalEnd:
		return 0, 0
	case z >= normalEnd:
		return 0, 1
	}
	at := &normalTable[int((z+normalEnd)/normalStep+0.5)]
	h := z - at.z
	d = at.d * (1 + h*(-at.z+h*(at.second+h*at.third)))
	p = at.p + at.d*h*(1+h*(-at.z/2+h*(at.secondOfP+h*at.third/4)))
	return d, p
}

// densityAt is the density alone, for z within the table.
func densityAt(z float64) float64 {
	at := &normalTable[int((z+normalEnd)/normalStep+0.5)]
	h := z - at.z
	return at.d * (1 + h*(-at.z+h*(at.second+h*at.third)))
}

func density(z float64) float64 {
	return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
}

func normal(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
