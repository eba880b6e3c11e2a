package colour

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"
)

// Figures of CIE 015:2018's formulas, computed with NumPy independently of this
// code.
func TestLightnessOfGreys(t *testing.T) {
	for _, c := range []struct{ y, l float64 }{
		{1, 100}, {0.5, 76.0692610}, {0.1841865, 49.9999978}, {0.008856451679, 8}, {0, 0},
	} {
		lab := XYZ{c.y * whiteD65.X, c.y, c.y * whiteD65.Z}.lab()
		near(t, fmt.Sprintf("L* of Y = %g", c.y), lab.L, c.l, 1e-7)
		near(t, "a*", lab.A, 0, 1e-12)
		near(t, "b*", lab.B, 0, 1e-12)
	}
}

func TestCylindricalForm(t *testing.T) {
	for _, c := range []struct {
		lab  Lab
		c, h float64
	}{
		{Lab{75, 2, 20}, 20.0997512422, 84.2894068625},
		{Lab{65, -1, 15}, 15.0332963784, 93.8140748343},
		{Lab{80, 1.5, -3}, 3.3541019662, 296.5650511771},
		{Lab{50, 2.6772, -79.7751}, 79.8200098963, 271.9220874040},
	} {
		lch := c.lab.LCh()
		near(t, fmt.Sprintf("C of %v", c.lab), lch.C, c.c, 1e-9)
		near(t, fmt.Sprintf("h of %v", c.lab), lch.H, c.h, 1e-9)
		near(t, "there and back", DeltaEab(lch.Lab(), c.lab), 0, 1e-12)
	}
	grey := Lab{80, 0, 0}.LCh()
	if grey.HasHue() || grey.String() != "L80 C0 h–" {
		t.Errorf("a grey is written %q, hue known: %v", grey, grey.HasHue())
	}
	if got := (LCh{78.2, 15.9, 86.4}).String(); got != "L78 C16 h86" {
		t.Errorf("notation %q", got)
	}
	if h := (Lab{50, 1, -1e-18}).LCh().H; !(h >= 0 && h < 360) {
		t.Errorf("hue %g outside 0 ≤ h < 360", h)
	}
}

func TestDisplayColours(t *testing.T) {
	for _, row := range table(t, "srgb-to-lab.csv") {
		shown := SRGB{uint8(row["R"]), uint8(row["G"]), uint8(row["B"])}
		xyz, lab := shown.XYZ(), shown.Lab()
		name := shown.Hex()
		near(t, name+" X", xyz.X, row["X"], 1e-9)
		near(t, name+" Y", xyz.Y, row["Y"], 1e-9)
		near(t, name+" Z", xyz.Z, row["Z"], 1e-9)
		near(t, name+" L*", lab.L, row["L"], 1e-6)
		near(t, name+" a*", lab.A, row["a"], 1e-6)
		near(t, name+" b*", lab.B, row["b"], 1e-6)
	}
}

// The same computation under the white (0.95047, 1, 1.08883).
func TestOtherWhite(t *testing.T) {
	white := XYZ{0.95047, 1, 1.08883}
	for _, c := range []struct {
		lab Lab
		xyz XYZ
		hex string // "": none was computed
	}{
		{Lab{75, 2, 20}, XYZ{.465923931, .482781044, .349178599}, "#cab694"},
		{Lab{65, 0, 15}, XYZ{.323608189, .340471755, .263633747}, "#a89d83"},
		{Lab{5, 1, -1}, XYZ{.005505236, .005535282, .006726111}, ""},
	} {
		xyz := c.lab.xyzUnder(white)
		near(t, "X", xyz.X, c.xyz.X, 1e-9)
		near(t, "Y", xyz.Y, c.xyz.Y, 1e-9)
		near(t, "Z", xyz.Z, c.xyz.Z, 1e-9)
		near(t, "back", DeltaEab(xyz.labUnder(white), c.lab), 0, 1e-11)
		if shown, fits := xyz.srgb(); c.hex != "" && (shown.Hex() != c.hex || !fits) {
			t.Errorf("%v shows as %s, fits %v; want %s", c.lab, shown.Hex(), fits, c.hex)
		}
	}
}

func TestEveryByteColourComesBack(t *testing.T) {
	for r := 0; r < 256; r += 5 {
		for g := 0; g < 256; g += 5 {
			for b := 0; b < 256; b += 5 {
				c := SRGB{uint8(r), uint8(g), uint8(b)}
				if back, fits := c.Lab().SRGB(); back != c || !fits {
					t.Fatalf("%v came back as %v, fits %v", c, back, fits)
				}
			}
		}
	}
	for code := range 256 {
		if lab := Grey(uint8(code)).Lab(); math.Abs(lab.A)+math.Abs(lab.B) > 1e-12 {
			t.Errorf("grey %d has a* %g, b* %g", code, lab.A, lab.B)
		}
	}
}

// Rounding to 8 bits in the tooth box costs ΔE00 0.217 on average and 0.446 at
// the 95th percentile (computed with NumPy independently of this code).
func TestRoundingToBytesCosts(t *testing.T) {
	var sum, worst float64
	var n int
	for l := 55.0; l <= 90; l += 0.7 {
		for c := 5.0; c <= 35; c += 0.9 {
			for h := 75.0; h <= 105; h += 1.1 {
				lab := LCh{l, c, h}.Lab()
				if shown, fits := lab.SRGB(); fits {
					e := DeltaE00(lab, shown.Lab())
					sum, worst, n = sum+e, max(worst, e), n+1
				}
			}
		}
	}
	near(t, "mean rounding error", sum/float64(n), 0.217, 0.01)
	if worst < 0.6 || worst > 0.85 {
		t.Errorf("the worst rounding error is %.3f, expected about 0.8", worst)
	}
}

func TestNothingIsClampedSilently(t *testing.T) {
	for _, c := range []Lab{{75, 90, 20}, {120, 0, 0}, {-20, 0, 0}, {50, math.NaN(), 0}, {50, 0, math.Inf(1)}} {
		if shown, fits := c.SRGB(); fits {
			t.Errorf("%v is said to fit, as %v", c, shown)
		}
	}
}

func TestHex(t *testing.T) {
	for _, bad := range []string{"", "#", "ccb694", "#ccb69", "#ccb6944", "#ccb69g", "#cc b69", "#+1+1+1", "#ｃb69"} {
		if c, err := ParseHex(bad); err == nil {
			t.Errorf("%q was read as %v", bad, c)
		}
	}
	type carrier struct{ Shown SRGB }
	data, err := json.Marshal(carrier{SRGB{202, 182, 148}})
	if err != nil || string(data) != `{"Shown":"#cab694"}` {
		t.Fatalf("JSON %s, %v", data, err)
	}
	var back carrier
	if err := json.Unmarshal(data, &back); err != nil || back.Shown != (SRGB{202, 182, 148}) {
		t.Errorf("read back %v, %v", back, err)
	}
}

// Figures computed from the published formula.
func TestWhitenessIndex(t *testing.T) {
	for _, c := range []struct {
		lab  Lab
		want float64
	}{
		{Lab{75, 2, 20}, 11.677}, {Lab{80, 0, 14}, 25.480}, {Lab{65, 4, 25}, -3.581},
		{Lab{100, 0, 0}, 51.100}, {Lab{70, 1, 18}, 13.646}, {Lab{72, 0.5, 16}, 18.030},
	} {
		near(t, fmt.Sprintf("WI_D of %v", c.lab), WhitenessIndex(c.lab), c.want, 1e-9)
	}
}
