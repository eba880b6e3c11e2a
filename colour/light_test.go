package colour

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Spot values and sums of CIE 015:2018, as printed in the documentation of
// colour-science and computed from its tables.
func TestObserverTables(t *testing.T) {
	for _, c := range []struct {
		observer standardObserver
		nm       float64
		want     [3]float64
	}{
		{twoDegree, 450, [3]float64{.3362, .0380, 1.77211}},
		{twoDegree, 555, [3]float64{.5120501, 1, .005749999}},
		{twoDegree, 600, [3]float64{1.0622, .6310, .0008}},
		{twoDegree, 650, [3]float64{.2835, .1070, 0}},
		{tenDegree, 450, [3]float64{.370702, .089456, 1.9948}},
		{tenDegree, 600, [3]float64{1.12399, .658341, 0}},
	} {
		for axis, want := range c.want {
			got := observers()[c.observer][axis].spectrum().At(c.nm)
			near(t, fmt.Sprintf("observer %d, function %d at %g nm", c.observer, axis, c.nm), got, want, 1e-12)
		}
	}
	for observer, sums := range [2][3]float64{
		{21.3715252, 21.3713278, 21.3715402}, {23.3293531, 23.3320377, 23.3341527},
	} {
		for axis, want := range sums {
			var sum float64
			for _, v := range observers()[observer][axis] {
				sum += v
			}
			near(t, fmt.Sprintf("sum of function %d of observer %d", axis, observer), sum, want, 6e-8)
		}
	}
}

// Spot values of CIE 015:2018.
func TestSpectraOfTheLights(t *testing.T) {
	for _, c := range []struct {
		id       string
		nm, want float64
		within   float64
	}{
		{"a", 400, 14.708, 0.0005}, {"a", 560, 100, 1e-9}, {"a", 700, 198.261, 0.0005},
		{"d65", 400, 82.7549, 6e-5}, {"d65", 450, 117.008, 5e-4}, {"d65", 560, 100, 1e-9}, {"d65", 700, 71.6091, 6e-5},
		{"d50", 400, 49.308, 5e-4}, {"d50", 450, 87.247, 5e-4}, {"d50", 560, 100, 1e-9}, {"d50", 700, 91.604, 5e-4},
		{"f2", 400, 3.44, 0}, {"f2", 450, 6.63, 0}, {"f2", 550, 16.64, 0}, {"f2", 600, 16.54, 0},
		{"f11", 400, 1.29, 0}, {"f11", 450, 7.19, 0}, {"f11", 550, 32.61, 0}, {"f11", 600, 7.33, 0},
		{"led-b3", 450, 18.87, 0}, {"led-b3", 550, 14.26, 0}, {"led-b3", 600, 16.50, 0}, {"led-b3", 650, 9.85, 0},
	} {
		near(t, fmt.Sprintf("%s at %g nm", c.id, c.nm), light(t, c.id).Power.At(c.nm), c.want, c.within+1e-12)
	}
}

func light(t testing.TB, id string) Light {
	t.Helper()
	l, err := LightByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// White points summed from the standard's own 5 nm tables with NumPy, and the
// standard's rounded ones. Its tables of D65 and A carry six digits, hence the
// tolerance.
func TestWhitePoints(t *testing.T) {
	for _, c := range []struct {
		id             string
		x2, z2         float64
		x10, z10       float64
		roundX, roundZ float64 // printed in CIE 015:2018; 0: not printed there
	}{
		{"a", 109.848993, 35.582474, 111.143908, 35.199518, 109.85, 35.58},
		{"d50", 96.419686, 82.512259, 96.719753, 81.426711, 96.42, 82.51},
		{"d65", 95.042967, 108.880055, 94.811787, 107.324108, 95.04, 108.88},
		{"f2", 99.185758, 67.393784, 103.280496, 69.029943, 0, 0},
		{"f11", 100.961005, 64.350585, 103.864405, 65.608527, 0, 0},
		{"led-b3", 100.893451, 67.715259, 103.346760, 68.010002, 0, 0},
	} {
		l := light(t, c.id)
		near(t, c.id+" X, 2°", 100*l.white().X, c.x2, 1.5e-4)
		near(t, c.id+" Y, 2°", 100*l.white().Y, 100, 1e-10)
		near(t, c.id+" Z, 2°", 100*l.white().Z, c.z2, 1.5e-4)
		w := tenDegree.weights(l.Power.grid())
		near(t, c.id+" X, 10°", 100*sumOf(&w).X, c.x10, 1.5e-4)
		near(t, c.id+" Z, 10°", 100*sumOf(&w).Z, c.z10, 1.5e-4)
		if c.roundX > 0 {
			near(t, c.id+" X as printed", 100*l.white().X, c.roundX, 0.0051)
			near(t, c.id+" Z as printed", 100*l.white().Z, c.roundZ, 0.0051)
		}
	}
	// The other daylights of the standard.
	for _, c := range []struct{ kelvin, x, z float64 }{{5500, 95.68, 92.14}, {7500, 94.97, 122.61}} {
		power, err := daylight(c.kelvin)
		if err != nil {
			t.Fatal(err)
		}
		l, _ := newLight("", "", "", power)
		near(t, fmt.Sprintf("daylight %g X", c.kelvin), 100*l.white().X, c.x, 0.0051)
		near(t, fmt.Sprintf("daylight %g Z", c.kelvin), 100*l.white().Z, c.z, 0.0051)
	}
	// Chromaticities printed in CIE 015:2018.
	for id, want := range map[string][2]float64{
		"a": {.44758, .40745}, "d50": {.3457, .3585}, "d65": {.3127, .3290},
		"f2": {.3721, .3751}, "f11": {.3805, .3769}, "led-b3": {.3756, .3723},
	} {
		x, y := light(t, id).white().chromaticity()
		near(t, id+" x", x, want[0], 6e-5)
		near(t, id+" y", y, want[1], 6e-5)
	}
}

// McCamy's formula on given chromaticities (computed with NumPy), then on the
// lights themselves: a warm LED is one of 2700–3000 K, a cool one of 5000–6500.
// colourTemperature is the correlated colour temperature in kelvin by McCamy's
// formula (Color Research and Application 17 (1992) 142–144); good to a few
// kelvin for white lights of 2850–6500 K, worse beyond.
func (l Light) colourTemperature() float64 { return mcCamy(l.white().chromaticity()) }

func mcCamy(x, y float64) float64 {
	n := (x - 0.3320) / (0.1858 - y)
	return ((449*n+3525)*n+6823.3)*n + 5520.33
}

func TestColourTemperature(t *testing.T) {
	for _, c := range []struct{ x, y, want float64 }{
		{.31272, .32903, 6503.77}, {.34567, .35850, 5002.10}, {.37208, .37529, 4230.55}, {.38052, .37713, 4009.36},
	} {
		near(t, "McCamy", mcCamy(c.x, c.y), c.want, 0.01)
	}
	near(t, "illuminant A", light(t, "a").colourTemperature(), 2857.13, 0.1)
	for id, span := range map[string][2]float64{"led-warm": {2700, 3000}, "led-cool": {5000, 6500}} {
		l := light(t, id)
		if k := l.colourTemperature(); !(k > span[0] && k < span[1]) {
			t.Errorf("%s has %.0f K", id, k)
		}
		if !l.Modelled || !strings.Contains(l.Name, "modelled") || !strings.Contains(l.Note, "not measured") {
			t.Errorf("%s does not say that it is modelled: %+v", id, l)
		}
	}
}

// The model must be like a real white LED: at the chromaticity of the published
// LED-B3 it follows that spectrum.
func TestModelledLEDResemblesAPublishedOne(t *testing.T) {
	b3 := light(t, "led-b3")
	model, err := modelledLED(b3.white().chromaticity())
	if err != nil {
		t.Fatal(err)
	}
	real := b3.Power.grid()
	var dot, mm, rr float64
	for i := range model {
		dot, mm, rr = dot+model[i]*real[i], mm+model[i]*model[i], rr+real[i]*real[i]
	}
	if cosine := dot / math.Sqrt(mm*rr); cosine < 0.995 {
		t.Errorf("likeness (cosine) %.4f, want 0.995", cosine)
	}
	// Ohno's example of three diodes (457, 530, 615 nm; 20, 30, 20 nm; 0.731, 1,
	// 1.66) has 0.1295132 at 500 nm, as printed in the documentation of
	// colour-science.
	sum := 0.731*emission(500, 457, 20) + emission(500, 530, 30) + 1.660*emission(500, 615, 20)
	near(t, "three diodes at 500 nm", sum, 0.1295132, 1e-7)
	if _, err := modelledLED(0.7, 0.29); err == nil {
		t.Error("a white LED was made of the chromaticity of a red")
	}
}

// Computed with NumPy from the published matrices.
func TestAdaptation(t *testing.T) {
	d65, d50, a := XYZ{.95047, 1, 1.08883}, XYZ{.96422, 1, .82521}, XYZ{1.0985, 1, .35585}
	v := XYZ{.2, .3, .4}
	for _, c := range []struct {
		transform transform
		matrix    matrix3
		to50, toA XYZ
	}{
		{bradford, matrix3{
			{1.047811244, .022886602, -.050126976}, {.029542398, .990484403, -.017049096}, {-.009234490, .015043617, .752131635},
		}, XYZ{.196377439, .296234162, .303518841}, XYZ{.214615295, .282837795, .131881303}},
		{cat16, matrix3{
			{1.010822617, .040599054, -.034105991}, {.005413877, .993595631, .001155958}, {.000250848, -.011480160, .768211508},
		}, XYZ{.200701843, .299623848, .303890725}, XYZ{.232372545, .297875712, .132808197}},
	} {
		name := c.transform.Name
		adapted := adapt(c.transform, d65, d50)
		for i := range 3 {
			for j := range 3 {
				near(t, fmt.Sprintf("%s D65→D50, row %d column %d", name, i, j), adapted.matrix[i][j], c.matrix[i][j], 1e-9)
			}
		}
		sameXYZ(t, name+" to D50", adapted.apply(v), c.to50, 1e-9)
		sameXYZ(t, name+" to A", adapt(c.transform, d65, a).apply(v), c.toA, 1e-9)
		sameXYZ(t, name+" white", adapted.apply(d65), d50, 1e-12)
		sameXYZ(t, name+" there and back", adapt(c.transform, d50, d65).apply(adapted.apply(v)), v, 1e-12)
	}
}

func sameXYZ(t testing.TB, what string, got, want XYZ, within float64) {
	t.Helper()
	near(t, what+", X", got.X, want.X, within)
	near(t, what+", Y", got.Y, want.Y, within)
	near(t, what+", Z", got.Z, want.Z, within)
}

// The stated reason for choosing CAT16: no spectral colour, and so no real
// colour, has a negative response.
func TestCAT16StaysPositive(t *testing.T) {
	lowest := func(transform transform) float64 {
		low := math.Inf(1)
		cmf := observers()[twoDegree]
		for i := range gridSize {
			r := transform.matrix.times(XYZ{cmf[0][i], cmf[1][i], cmf[2][i]})
			low = min(low, r.X, r.Y, r.Z)
		}
		return low
	}
	if low := lowest(cat16); low < 0 {
		t.Errorf("CAT16 has a response of %g", low)
	}
	if low := lowest(bradford); low > 0 {
		t.Errorf("Bradford stays positive too (%g): the reason given is wrong", low)
	}
}

func TestAPerfectWhiteLooksWhiteUnderEveryLight(t *testing.T) {
	white := Spectrum{380, 400, []float64{1, 1}}
	grey := Spectrum{380, 400, []float64{0.3, 0.3}}
	for _, l := range Lights() {
		near(t, l.ID+" white", DeltaEab(l.render(white), Lab{100, 0, 0}), 0, 1e-9)
		near(t, l.ID+" grey", l.render(grey).Chroma(), 0, 1e-9)
		near(t, l.ID+" white, in its own CIELAB", DeltaEab(l.lab(white), Lab{100, 0, 0}), 0, 1e-9)
	}
}

func TestLightsFromOutside(t *testing.T) {
	if l, err := LightByID(" LED-Warm "); err != nil || l.ID != "led-warm" {
		t.Errorf("found %q, %v", l.ID, err)
	}
	if _, err := LightByID("candle"); err == nil || !strings.Contains(err.Error(), "f11") {
		t.Errorf("an unknown light gives %v, which does not list the known ones", err)
	}
	for what, s := range map[string]Spectrum{
		"empty":      {},
		"negative":   {400, 10, []float64{1, -1, 1}},
		"NaN":        {400, 10, []float64{1, math.NaN(), 1}},
		"infinite":   {400, 10, []float64{1, math.Inf(1), 1}},
		"no step":    {400, 0, []float64{1, 1}},
		"dark":       {400, 10, []float64{0, 0}},
		"NaN start":  {math.NaN(), 10, []float64{1, 1}},
		"back steps": {700, -10, []float64{1, 1}},
	} {
		if _, err := newLight("x", "x", "", s); err == nil {
			t.Errorf("a light with a spectrum that is %s was taken", what)
		}
	}
	for _, kelvin := range []float64{3999, 25001, math.NaN(), math.Inf(1)} {
		if _, err := daylight(kelvin); err == nil {
			t.Errorf("a daylight of %g K was made", kelvin)
		}
	}
	first := Lights()
	first[0].ID = "changed"
	if D65().ID != "d65" {
		t.Error("a caller can change the built-in lights")
	}
}

// bradford is the transform of the ICC's profiles and of CIECAM97s, here in
// its linear form (ISO 15076-1, Annex E).
var bradford = transform{"Bradford", matrix3{
	{0.8951, 0.2664, -0.1614},
	{-0.7502, 1.7135, 0.0367},
	{0.0389, -0.0685, 1.0296},
}}
