package colour

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// Metamers are two reflectances, smooth and within 0..1, that have the same
// colour under D65 and part under other lights: a restoration that matches at
// the window and not at the dinner table.
type Metamers struct {
	First, Second Spectrum
	Daylight      Lab // their common colour
}

// Under returns the two colours under a light, as seen by an observer adapted to it,
// for the display.
func (m Metamers) Under(l Light) (first, second Lab) { return l.render(m.First), l.render(m.Second) }

// metamericBlack is a smooth spectrum of height 1 that an observer under D65 does not
// see: four broad bumps at random, less what three fixed ones see of them.
func metamericBlack(random *rand.Rand) (black gridded) {
	for _, span := range [4][2]float64{{420, 470}, {470, 520}, {560, 610}, {640, 690}} {
		centre := span[0] + (span[1]-span[0])*random.Float64()
		width := 25 + 10*random.Float64()
		height := 2*random.Float64() - 1
		for i := range black {
			black[i] += height * bump(wavelength(i), centre, width)
		}
	}
	black = unseen(black)
	var top float64
	for _, v := range black {
		top = math.Max(top, math.Abs(v))
	}
	for i := range black {
		black[i] /= top
	}
	return black
}

// unseen takes from a spectrum that share of three bumps, at 430, 550 and 630
// nm, which leaves nothing to be seen under D65.
func unseen(s gridded) gridded {
	var bumps [3]gridded
	var m matrix3
	w := daylightWeights()
	for k, centre := range [3]float64{430, 550, 630} {
		bumps[k] = sampled(func(nm float64) float64 { return bump(nm, centre, 25) })
		c := w.xyz(&bumps[k])
		m[0][k], m[1][k], m[2][k] = c.X, c.Y, c.Z
	}
	share := m.inverse().times(w.xyz(&s))
	for i := range s {
		s[i] -= share.X*bumps[0][i] + share.Y*bumps[1][i] + share.Z*bumps[2][i]
	}
	return s
}

// MetamericPair makes two reflectances of the wished colour under D65 that
// differ by e ΔE00 under the test light, as shown on the display. Of several
// random metameric blacks it takes the one that does it most gently. Under a
// light like average daylight a large difference may be out of reach; then there
// is an error that says what could be had.
func MetamericPair(daylight Lab, test Light, e float64, random *rand.Rand) (Metamers, error) {
	base, found := toothReflectance(daylight)
	if !found {
		return Metamers{}, fmt.Errorf("no tooth reflectance has the colour L* %.1f, a* %.1f, b* %.1f", daylight.L, daylight.A, daylight.B)
	}
	if !(e >= 0) {
		return Metamers{}, fmt.Errorf("a metameric pair cannot differ by %g", e)
	}
	const draws, enough = 60, 6
	w := test.displayed()
	first := w.xyz(&base).lab()
	second, gentlest, most, usable := base, math.Inf(1), 0.0, 0
	for i := 0; i < draws && usable < enough; i++ {
		black := metamericBlack(random)
		apart := func(share float64) float64 {
			r := base.plus(share, &black)
			return DeltaE00(first, w.xyz(&r).lab())
		}
		lo, hi := 0.0, room(&base, &black)
		if reach := apart(hi); reach < e {
			most = math.Max(most, reach)
			continue
		}
		usable++
		for range 50 {
			if mid := (lo + hi) / 2; apart(mid) < e {
				lo = mid
			} else {
				hi = mid
			}
		}
		if hi < gentlest {
			second, gentlest = base.plus(hi, &black), hi
		}
	}
	if usable == 0 {
		return Metamers{}, fmt.Errorf("no pair at L* %.1f, a* %.1f, b* %.1f differs by %.1f under %s; about %.1f can be had",
			daylight.L, daylight.A, daylight.B, e, test.Name, most)
	}
	return Metamers{base.spectrum(), second.spectrum(), daylight}, nil
}

func (g *gridded) plus(share float64, other *gridded) (sum gridded) {
	for i := range sum {
		sum[i] = g[i] + share*other[i]
	}
	return sum
}

// room is how much of a metameric black of height 1 can be added to a
// reflectance: no more than a fifth, past which it no longer looks like that of a
// tooth or a ceramic, and staying clear of 0 and 1.
func room(base, black *gridded) float64 {
	most := 0.2
	for i, v := range black {
		switch {
		case v > 0:
			most = math.Min(most, (0.99-base[i])/v)
		case v < 0:
			most = math.Min(most, (0.01-base[i])/v)
		}
	}
	return math.Max(0, most)
}
