package colour

import (
	"fmt"
	"math"
)

// Spectrum is a function of wavelength sampled at equal steps: the relative
// power of a light, or the reflectance of a surface as a share of 0..1.
type Spectrum struct {
	Start, Step float64 // nm
	Values      []float64
}

// The grid on which everything is summed: 380–780 nm at 5 nm, 81 values. Wider
// steps miss the mercury lines of fluorescent lamps.
const (
	gridStart = 380
	gridStep  = 5
	gridSize  = 81
)

type gridded [gridSize]float64

func wavelength(i int) float64 { return gridStart + gridStep*float64(i) }

// End is the last wavelength sampled, in nm.
func (s Spectrum) End() float64 { return s.Start + s.Step*float64(len(s.Values)-1) }

// At is the value at a wavelength in nm: linear between samples, the end values
// beyond them, 0 for an empty spectrum.
func (s Spectrum) At(nm float64) float64 {
	if len(s.Values) == 0 {
		return 0
	}
	x := (nm - s.Start) / s.Step
	switch last := len(s.Values) - 1; {
	case !(x > 0) || last == 0:
		return s.Values[0]
	case x >= float64(last):
		return s.Values[last]
	default:
		i := int(x)
		t := x - float64(i)
		return s.Values[i]*(1-t) + s.Values[i+1]*t
	}
}

// check says what is wrong with a spectrum that came from outside.
func (s Spectrum) check() error {
	switch {
	case len(s.Values) < 2:
		return fmt.Errorf("a spectrum needs at least 2 values, this has %d", len(s.Values))
	case !(s.Step > 0) || math.IsInf(s.Step, 0) || math.IsNaN(s.Start) || math.IsInf(s.Start, 0):
		return fmt.Errorf("a spectrum cannot start at %g nm with steps of %g nm", s.Start, s.Step)
	}
	for i, v := range s.Values {
		if !(v >= 0) || math.IsInf(v, 0) {
			return fmt.Errorf("a spectrum cannot hold %g at %g nm", v, s.Start+s.Step*float64(i))
		}
	}
	return nil
}

// grid samples the spectrum where the sums are taken.
func (s Spectrum) grid() (g gridded) {
	if s.Start == gridStart && s.Step == gridStep && len(s.Values) == gridSize {
		copy(g[:], s.Values)
		return g
	}
	for i := range g {
		g[i] = s.At(wavelength(i))
	}
	return g
}

func (g gridded) spectrum() Spectrum { return Spectrum{gridStart, gridStep, g[:]} }

// sampled is a spectrum made from a formula in nm.
func sampled(f func(nm float64) float64) (g gridded) {
	for i := range g {
		g[i] = f(wavelength(i))
	}
	return g
}
