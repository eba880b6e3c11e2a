package colour

import (
	"fmt"
	"math"
)

// planckianA is CIE standard illuminant A, from the formula that defines it (CIE
// 015:2018, equation 4.1). Relative power, 100 at 560 nm.
func planckianA() gridded {
	const c2, temperature = 1.435e7, 2848
	at560 := math.Expm1(c2 / (temperature * 560))
	return sampled(func(nm float64) float64 {
		return 100 * math.Pow(560/nm, 5) * at560 / math.Expm1(c2/(temperature*nm))
	})
}

// daylight is the relative power of a CIE daylight of the nominal correlated
// colour temperature, 4000–25000 K: 6500 gives D65, 5000 gives D50. 100 at 560
// nm (CIE 015:2018, equations 4.6–4.12 and the notes to its table of D
// illuminants: temperature times 1.4388/1.4380, M1 and M2 rounded to three
// decimals, linear between tens of nanometres).
func daylight(kelvin float64) (Spectrum, error) {
	if !(kelvin >= 4000 && kelvin <= 25000) {
		return Spectrum{}, fmt.Errorf("daylight is defined for 4000–25000 K, not for %g K", kelvin)
	}
	x, y := daylightChromaticity(kelvin * 1.4388 / 1.4380)
	m := 0.0241 + 0.2562*x - 0.7341*y
	m1 := math.Round((-1.3515-1.7703*x+5.9114*y)/m*1000) / 1000
	m2 := math.Round((0.0300-31.4424*x+30.0717*y)/m*1000) / 1000
	s0, s1, s2 := column("daylight.csv", "S0"), column("daylight.csv", "S1"), column("daylight.csv", "S2")
	s := Spectrum{Start: 380, Step: 10, Values: make([]float64, len(s0))}
	for i := range s0 {
		s.Values[i] = s0[i] + m1*s1[i] + m2*s2[i]
	}
	return s.grid().spectrum(), nil
}

func daylightChromaticity(t float64) (x, y float64) {
	if t <= 7000 {
		x = -4.6070e9/(t*t*t) + 2.9678e6/(t*t) + 0.09911e3/t + 0.244063
	} else {
		x = -2.0064e9/(t*t*t) + 1.9018e6/(t*t) + 0.24748e3/t + 0.237040
	}
	return x, -3*x*x + 2.870*x - 0.275
}

// emission is the spectrum of a single light-emitting diode of unit height after
// Y. Ohno, "Spectral design considerations for white LED color rendering",
// Optical Engineering 44 (2005) 111302: (g + 2g⁵)/3 with g a Gaussian of the
// given half spectral width.
func emission(nm, peak, width float64) float64 {
	d := (nm - peak) / width
	g := math.Exp(-d * d)
	return (g + 2*math.Pow(g, 5)) / 3
}

// modelledLED is a white LED as the sum of three such emissions: the blue pump
// at 448 nm and two for the broad phosphor. Their peaks and widths were fitted
// to the published typical white LED LED-B3 (root mean square deviation 2.4 % of
// its peak); their powers are solved so that the light has exactly the wished
// chromaticity.
func modelledLED(x, y float64) (gridded, error) {
	parts := [3]gridded{
		sampled(func(nm float64) float64 { return emission(nm, 448, 20) }),
		sampled(func(nm float64) float64 { return emission(nm, 520, 80) }),
		sampled(func(nm float64) float64 { return emission(nm, 600, 120) }),
	}
	cmf := observers()[twoDegree]
	var m matrix3
	for axis := range m {
		for k := range parts {
			for i, v := range parts[k] {
				m[axis][k] += cmf[axis][i] * v
			}
		}
	}
	powers := m.inverse().times(XYZ{x / y, 1, (1 - x - y) / y})
	if powers.X < 0 || powers.Y < 0 || powers.Z < 0 {
		return gridded{}, fmt.Errorf("no modelled LED has the chromaticity %.4f, %.4f", x, y)
	}
	var sum gridded
	for i := range sum {
		sum[i] = powers.X*parts[0][i] + powers.Y*parts[1][i] + powers.Z*parts[2][i]
	}
	for i, at560 := 0, sum[(560-gridStart)/gridStep]; i < gridSize; i++ {
		sum[i] *= 100 / at560
	}
	return sum, nil
}

// planckianChromaticity is the chromaticity of a black body, summed from
// Planck's law with the second radiation constant of 2019.
func planckianChromaticity(kelvin float64) (x, y float64) {
	const c2 = 1.438776877e7 // nm·K
	power := sampled(func(nm float64) float64 {
		return math.Pow(560/nm, 5) / math.Expm1(c2/(kelvin*nm))
	})
	w := twoDegree.weights(power)
	white := sampled(func(float64) float64 { return 1 })
	return w.xyz(&white).chromaticity()
}
