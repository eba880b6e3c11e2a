package colour

import (
	"fmt"

	colorful "github.com/lucasb-eyer/go-colorful"
)

// SRGB is a colour that a screen shows: three bytes in sRGB (IEC 61966-2-1).
// Trials store these bytes and marks are computed from them.
type SRGB struct{ R, G, B uint8 }

// The matrices of IEC 61966-2-1 for linear RGB to XYZ. The printed inverse is
// rounded and is not an exact inverse, so ours is inverted numerically.
var (
	rgbToXYZ = matrix3{
		{0.4124, 0.3576, 0.1805},
		{0.2126, 0.7152, 0.0722},
		{0.0193, 0.1192, 0.9505},
	}
	xyzToRGB = rgbToXYZ.inverse()
)

// linear holds the decoded value of each of the 256 codes, decoded once by
// go-colorful.
var linear = func() (t [256]float64) {
	for i := range t {
		t[i], _, _ = colorful.Color{R: float64(i) / 255}.LinearRgb()
	}
	return t
}()

// XYZ converts the displayed bytes to tristimulus values.
func (c SRGB) XYZ() XYZ {
	return rgbToXYZ.times(XYZ{linear[c.R], linear[c.G], linear[c.B]})
}

// Lab converts the displayed bytes to CIELAB.
func (c SRGB) Lab() Lab { return c.XYZ().lab() }

// gamutSlack is how far outside 0..1 a channel may fall and still count as
// inside: less than half an 8-bit code, so it changes no byte by more than
// rounding does.
const gamutSlack = 0.5 / 255

// SRGB returns the nearest displayable bytes, channel by channel, and whether
// the colour lies within the sRGB gamut. Outside it the bytes are clamped and
// fits is false: the caller decides, nothing is clamped silently. A colour that
// is not finite gives black and false.
func (c Lab) SRGB() (shown SRGB, fits bool) { return c.xyz().srgb() }

// srgb converts tristimulus values to displayable bytes; see [Lab.SRGB].
func (c XYZ) srgb() (shown SRGB, fits bool) {
	if !c.lab().Finite() {
		return SRGB{}, false
	}
	l := xyzToRGB.times(c)
	encoded := colorful.LinearRgb(l.X, l.Y, l.Z)
	fits = inside(encoded.R) && inside(encoded.G) && inside(encoded.B)
	r, g, b := encoded.Clamped().RGB255()
	return SRGB{r, g, b}, fits
}

func inside(v float64) bool { return v >= -gamutSlack && v <= 1+gamutSlack }

// Hex writes the bytes as "#rrggbb".
func (c SRGB) Hex() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// ParseHex reads "#rrggbb".
func ParseHex(s string) (SRGB, error) {
	var c SRGB
	if len(s) != 7 || s[0] != '#' {
		return c, fmt.Errorf("colour %q is not of the form #rrggbb", s)
	}
	parsed, err := colorful.Hex(s)
	if err != nil {
		return c, fmt.Errorf("colour %q is not of the form #rrggbb", s)
	}
	c.R, c.G, c.B = parsed.RGB255()
	return c, nil
}

// MarshalText writes the colour as "#rrggbb", so that JSON carries it readably.
func (c SRGB) MarshalText() ([]byte, error) { return []byte(c.Hex()), nil }

// UnmarshalText reads "#rrggbb".
func (c *SRGB) UnmarshalText(text []byte) error {
	parsed, err := ParseHex(string(text))
	if err != nil {
		return err
	}
	*c = parsed
	return nil
}

// Grey returns the neutral grey with all three bytes equal to code.
func Grey(code uint8) SRGB { return SRGB{code, code, code} }
