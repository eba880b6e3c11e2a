package colour

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// Metamers are two reflectances, smooth and within 0..1, that have the same
// colour under D65 and part under other lights: a restoration that matches at
// the window and not at the dinner table.
type Metamers struct {
	First, Second Spectrum
	Daylight      Lab // their common colour
}

// Unlikely says that a curve of the pair winds more than those of teeth and dental
// materials do: it has four or more turning points. (House choice: a tooth's
// reflectance rises nearly all the way from blue to red, and a difference of two that
// is unseen in daylight must cross zero at least three times.)
func (m Metamers) Unlikely() bool { return max(turningPoints(m.First), turningPoints(m.Second)) >= 4 }

// turningPoints counts how often a curve turns from rising to falling or back.
func turningPoints(s Spectrum) (n int) {
	before := 0.0
	for i := 1; i < len(s.Values); i++ {
		step := s.Values[i] - s.Values[i-1]
		if step*before < 0 {
			n++
		}
		if step != 0 {
			before = step
		}
	}
	return n
}

// Under returns the two colours under a light, as seen by an observer adapted to it,
// for the display.
func (m Metamers) Under(l Light) (first, second Lab) { return l.render(m.First), l.render(m.Second) }

// A partner for a tooth is its reflectance and a metameric black: a spectrum that an
// observer under D65 does not see. There are many that part by the same amount
// under a test light. Most wind up and down as no tooth or ceramic does, so the one
// taken is the smoothest: of all spectra b with the wished tristimulus values, none
// under D65 and t under the test light, that with the least
//
//	|D₂b|² + ε|b|²,
//
// where D₂ takes second differences (curvature) and ε keeps the ends, which nobody
// sees, from running off. With the weights of both lights as the rows of A and
// K = D₂ᵀD₂ + εI it is b = K⁻¹Aᵀ(AK⁻¹Aᵀ)⁻¹(0, t): the least-norm solution of
// linear equations. The same idea makes the smoothest reflectance of a colour.

// softness are the ε that are tried, for differences over 5 nm: the smallest gives
// the smoothest black, which departs most from the tooth's curve; the larger ones
// trade smoothness for a smaller departure. Found by trial.
var softness = []float64{1e-5, 3e-5, 1e-4, 3e-4, 1e-3, 1e-2}

// mostDeparture is how far the two reflectances may part: a tenth, half of it on
// either side of the tooth's simple curve. House choice.
const mostDeparture = 0.1

// stiffness are the K⁻¹.
var stiffness = sync.OnceValue(func() (all []*mat.SymDense) {
	for _, soft := range softness {
		all = append(all, stiff(soft))
	}
	return all
})

func stiff(soft float64) *mat.SymDense {
	k := mat.NewSymDense(gridSize, nil)
	for i := 1; i < gridSize-1; i++ {
		d := [3]float64{1, -2, 1}
		for a := range 3 {
			for b := a; b < 3; b++ {
				k.SetSym(i-1+a, i-1+b, k.At(i-1+a, i-1+b)+d[a]*d[b])
			}
		}
	}
	for i := range gridSize {
		k.SetSym(i, i, k.At(i, i)+soft)
	}
	var c mat.Cholesky
	if !c.Factorize(k) {
		panic("colour: a positive matrix has no factor")
	}
	var inverse mat.SymDense
	if err := c.InverseTo(&inverse); err != nil {
		panic(err)
	}
	return &inverse
}

// parting finds the smoothest metameric blacks for a test light.
type parting struct {
	spread *mat.Dense   // K⁻¹Aᵀ(AK⁻¹Aᵀ)⁻¹, the columns of the test light
	price  *mat.Dense   // their block of (AK⁻¹Aᵀ)⁻¹: tᵀ·price·t is what a black costs
	usual  mat.TriDense // U with UᵀU = price⁻¹
}

// partingsUnder are those of a light, from the stiffest on. They are kept, since a drill
// asks for the same few lights all the time.
func partingsUnder(test *weights) []parting {
	if known, ok := partings.Load(*test); ok {
		return known.([]parting)
	}
	var list []parting
	for _, k := range stiffness() {
		p, ok := newParting(k, test)
		if !ok {
			break
		}
		list = append(list, p)
	}
	partings.Store(*test, list)
	return list
}

var partings sync.Map // of weights to []parting

// newParting fails for a light that is as good as D65.
func newParting(k *mat.SymDense, test *weights) (p parting, ok bool) {
	a := mat.NewDense(6, gridSize, nil)
	for axis := range 3 {
		a.SetRow(axis, daylightWeights()[axis][:])
		a.SetRow(3+axis, test[axis][:])
	}
	var wide, gram, inverse, spread mat.Dense
	wide.Mul(k, a.T())
	gram.Mul(a, &wide)
	if err := inverse.Inverse(&gram); err != nil {
		return p, false
	}
	spread.Mul(&wide, &inverse)
	p = parting{spread: mat.DenseCopyOf(spread.Slice(0, gridSize, 3, 6)), price: mat.DenseCopyOf(inverse.Slice(3, 6, 3, 6))}
	var values mat.Dense
	if err := values.Inverse(p.price); err != nil {
		return p, false
	}
	symmetric := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			symmetric.SetSym(i, j, (values.At(i, j)+values.At(j, i))/2)
		}
	}
	var c mat.Cholesky
	if !c.Factorize(symmetric) {
		return p, false
	}
	c.UTo(&p.usual)
	return p, true
}

// toward are tristimulus values under the test light from three numbers drawn from a
// normal distribution: as often as smooth blacks drawn at random would have them (b
// from a normal distribution with covariance K⁻¹, given that daylight shows nothing).
// Lamps part smooth pairs in a few directions easily and in others hardly at all.
func (p parting) toward(z [3]float64) XYZ {
	u := &p.usual
	return XYZ{u.At(0, 0) * z[0], u.At(0, 1)*z[0] + u.At(1, 1)*z[1], u.At(0, 2)*z[0] + u.At(1, 2)*z[1] + u.At(2, 2)*z[2]}
}

// cost is what the smoothest black with the tristimulus values t under the test light
// costs.
func (p parting) cost(t XYZ) float64 {
	v := [3]float64{t.X, t.Y, t.Z}
	sum := 0.0
	for i := range 3 {
		for j := range 3 {
			sum += v[i] * p.price.At(i, j) * v[j]
		}
	}
	return sum
}

// black is that black.
func (p parting) black(t XYZ) (b gridded) {
	for i := range b {
		b[i] = p.spread.At(i, 0)*t.X + p.spread.At(i, 1)*t.Y + p.spread.At(i, 2)*t.Z
	}
	return b
}

// MetamericPair makes two reflectances of the wished colour under D65 that
// differ by e ΔE00 under the test light, as shown on the display, as smooth as
// [mostDeparture] allows: of a few pairs drawn at random the one that takes least
// curvature. Under a light like average daylight a large difference may be out of
// reach; then there is an error that says what could be had.
func MetamericPair(daylight Lab, test Light, e float64, random *rand.Rand) (Metamers, error) {
	base, found := toothReflectance(daylight)
	if !found {
		return Metamers{}, fmt.Errorf("no tooth reflectance has the colour L* %.1f, a* %.1f, b* %.1f", daylight.L, daylight.A, daylight.B)
	}
	if !(e >= 0) {
		return Metamers{}, fmt.Errorf("a metameric pair cannot differ by %g", e)
	}
	w := test.displayed()
	var draws [8][3]float64
	for i := range draws {
		draws[i] = [3]float64{random.NormFloat64(), random.NormFloat64(), random.NormFloat64()}
	}
	most := 0.0
	for _, p := range partingsUnder(w) {
		one, other, smoothest := base, base, math.Inf(1)
		for _, z := range draws {
			t := p.toward(z)
			black := p.black(t)
			halves := func(share float64) (a, b gridded) { return base.plus(-share/2, &black), base.plus(share/2, &black) }
			apart := func(share float64) float64 {
				a, b := halves(share)
				return DeltaE00(w.xyz(&a).lab(), w.xyz(&b).lab())
			}
			lo, hi := 0.0, room(&base, &black)
			if reach := apart(hi); reach < e {
				most = math.Max(most, reach)
				continue
			}
			for range 50 {
				if mid := (lo + hi) / 2; apart(mid) < e {
					lo = mid
				} else {
					hi = mid
				}
			}
			if cost := hi * hi * p.cost(t); cost < smoothest {
				smoothest = cost
				one, other = halves(hi)
			}
		}
		if !math.IsInf(smoothest, 1) {
			return Metamers{one.spectrum(), other.spectrum(), daylight}, nil
		}
	}
	return Metamers{}, fmt.Errorf("no pair at L* %.1f, a* %.1f, b* %.1f differs by %.1f under %s; about %.1f can be had",
		daylight.L, daylight.A, daylight.B, e, test.Name, most)
}

func (g *gridded) plus(share float64, other *gridded) (sum gridded) {
	for i := range sum {
		sum[i] = g[i] + share*other[i]
	}
	return sum
}

// room is how many times half a metameric black can be added to a reflectance and
// taken from it, staying clear of 0 and 1 and within [mostDeparture].
func room(base, black *gridded) float64 {
	most := math.Inf(1)
	for i, v := range black {
		v = math.Abs(v)
		most = math.Min(most, math.Min(mostDeparture, 2*math.Min(0.99-base[i], base[i]-0.01))/v)
	}
	return math.Max(0, most)
}
