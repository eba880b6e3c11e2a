// Package colour says what a colour is: CIELAB and its cylindrical form, CIE
// XYZ, the 8-bit sRGB colours that a screen shows, and how far apart two
// colours are.
//
// Two colour types carry the package. [Lab] is CIELAB under D65 for the 2°
// observer, L* 0–100, in ordinary ΔE units. [SRGB] is three bytes. Nothing
// converts from the first to the second without saying whether it fitted.
package colour

import (
	"fmt"
	"math"
)

// Lab is a colour in CIE 1976 L*a*b*, relative to D65 for the 2° observer
// (white [whiteD65]). L runs 0–100; A and B are unbounded, for teeth about
// −4…+8 and 4…37.
type Lab struct{ L, A, B float64 }

// LCh is a Lab colour in cylindrical form: L the lightness L*, C the chroma
// C*ab ≥ 0, H the hue angle h_ab in degrees, 0 ≤ H < 360. At C = 0 the hue is
// undefined and H is 0; see [LCh.HasHue].
type LCh struct{ L, C, H float64 }

// XYZ is a tristimulus value scaled so that a perfect white has Y = 1.
type XYZ struct{ X, Y, Z float64 }

// whiteD65 is the white to which every [Lab] here is relative: the row sums of
// the sRGB matrix of IEC 61966-2-1, so that an equal-byte grey has a* = b* = 0
// exactly. It differs from the tabulated D65 in the fourth digit only.
var whiteD65 = XYZ{0.9505, 1, 1.0890}

// Constants of CIE 015:2018, as exact fractions.
const (
	labEpsilon = 216.0 / 24389.0
	labKappa   = 24389.0 / 27.0
)

func labF(t float64) float64 {
	if t > labEpsilon {
		return math.Cbrt(t)
	}
	return (labKappa*t + 16) / 116
}

func labFInverse(f float64) float64 {
	if cube := f * f * f; cube > labEpsilon {
		return cube
	}
	return (116*f - 16) / labKappa
}

// labUnder converts a tristimulus value to CIELAB relative to the given white
// (CIE 015:2018, equations 8.3–8.5).
func (c XYZ) labUnder(white XYZ) Lab {
	fx, fy, fz := labF(c.X/white.X), labF(c.Y/white.Y), labF(c.Z/white.Z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// lab converts a tristimulus value to CIELAB relative to [whiteD65].
func (c XYZ) lab() Lab { return c.labUnder(whiteD65) }

// xyzUnder converts a CIELAB colour to tristimulus values under the given white.
func (c Lab) xyzUnder(white XYZ) XYZ {
	fy := (c.L + 16) / 116
	return XYZ{
		white.X * labFInverse(fy+c.A/500),
		white.Y * labFInverse(fy),
		white.Z * labFInverse(fy-c.B/200),
	}
}

// xyz converts a CIELAB colour to tristimulus values relative to [whiteD65].
func (c Lab) xyz() XYZ { return c.xyzUnder(whiteD65) }

// Chroma returns C*ab.
func (c Lab) Chroma() float64 { return math.Hypot(c.A, c.B) }

// LCh converts to cylindrical form.
func (c Lab) LCh() LCh {
	h := math.Atan2(c.B, c.A) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	if h >= 360 { // −tiny + 360 rounds up to 360
		h = 0
	}
	return LCh{c.L, c.Chroma(), h}
}

// HasHue reports whether the hue angle means anything: a colour without chroma
// has none.
func (c LCh) HasHue() bool { return c.C > 1e-9 }

// Lab converts from cylindrical form.
func (c LCh) Lab() Lab {
	sin, cos := math.Sincos(c.H * math.Pi / 180)
	return Lab{c.L, c.C * cos, c.C * sin}
}

// String gives the open CIE notation used to name tabs: "L78 C16 h86".
// A colour without chroma is written with a dash for its hue.
func (c LCh) String() string {
	if !c.HasHue() {
		return fmt.Sprintf("L%.0f C0 h–", c.L)
	}
	return fmt.Sprintf("L%.0f C%.0f h%.0f", c.L, c.C, c.H)
}

// Finite reports whether all three coordinates are ordinary numbers.
func (c Lab) Finite() bool {
	s := c.L + c.A + c.B
	return !math.IsNaN(s) && !math.IsInf(s, 0)
}

// Mix returns the colour a share t of the way from c to d along the straight
// line in CIELAB; t = 0 is c, t = 1 is d.
func (c Lab) Mix(d Lab, t float64) Lab {
	return Lab{c.L + t*(d.L-c.L), c.A + t*(d.A-c.A), c.B + t*(d.B-c.B)}
}
