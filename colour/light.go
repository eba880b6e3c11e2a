package colour

import (
	"fmt"
	"strings"
	"sync"
)

// Light is a lamp or a daylight under which a tooth is looked at. Make one with
// [newLight] or take a built-in one.
type Light struct {
	ID       string // "d65", for options and records
	Name     string // for people
	Note     string // what it stands for and where its spectrum is from
	Modelled bool   // computed from a model of a lamp, not a published spectrum
	Power    Spectrum

	weights *weights // for the 2° observer
	display *weights // the same, adapted to the display's white
}

// newLight makes a light from its relative spectral power.
func newLight(id, name, note string, power Spectrum) (Light, error) {
	if err := power.check(); err != nil {
		return Light{}, fmt.Errorf("light %q: %w", id, err)
	}
	g := power.grid()
	w := twoDegree.weights(g)
	if white := sumOf(&w); !(white.Y > 0) {
		return Light{}, fmt.Errorf("light %q has no power between 380 and 780 nm", id)
	}
	return Light{ID: id, Name: name, Note: note, Power: power, weights: &w, display: w.adapted()}, nil
}

// sumOf is the tristimulus value of a perfect white.
func sumOf(w *weights) XYZ {
	white := sampled(func(float64) float64 { return 1 })
	return w.xyz(&white)
}

const published = "CIE 015:2018"

var lights = sync.OnceValue(func() (all []Light) {
	add := func(id, name, note string, power Spectrum, err error) {
		if err != nil {
			panic(err) // the built-in spectra are checked by the tests
		}
		light, err := newLight(id, name, note, power)
		if err != nil {
			panic(err)
		}
		all = append(all, light)
	}
	lamp := func(title string) Spectrum {
		return Spectrum{gridStart, gridStep, column("lamps.csv", title)}
	}
	d65, err := daylight(6500)
	add("d65", "average daylight (D65)", "the reference light of all colours here; "+published, d65, err)
	d50, err := daylight(5000)
	add("d50", "horizon daylight (D50)", "warmer daylight, and the aim of many viewing booths; "+published, d50, err)
	add("a", "incandescent lamp (A)", "tungsten and halogen lamps, 2856 K; "+published, planckianA().spectrum(), nil)
	add("f2", "cool white fluorescent (F2)", "older office and corridor tubes, 4230 K; "+published, lamp("F2"), nil)
	add("f8", "daylight fluorescent (F8)", "broad-band tubes of good colour rendering, 5000 K; "+published, lamp("F8"), nil)
	add("f11", "three-band fluorescent (F11)", "common surgery and shop tubes, 4000 K; "+published, lamp("F11"), nil)
	add("led-b3", "typical white LED (LED-B3)", "blue diode with phosphor, 4100 K; "+published, lamp("LED-B3"), nil)

	model := func(id, name, about string, x, y float64) {
		power, err := modelledLED(x, y)
		add(id, name, about+"; modelled after Ohno, Optical Engineering 44 (2005) 111302, not measured", power.spectrum(), err)
		all[len(all)-1].Modelled = true
	}
	x, y := planckianChromaticity(2850)
	model("led-warm", "warm white LED, modelled", "a home lamp of 2850 K", x, y)
	x, y = daylightChromaticity(6000)
	model("led-cool", "cool white LED, modelled", "an operating or work lamp of 6000 K", x, y)
	return all
})

// Lights returns the built-in lights, D65 first.
func Lights() []Light { return append([]Light(nil), lights()...) }

// LightByID finds a built-in light; upper and lower case are the same.
func LightByID(id string) (Light, error) {
	for _, light := range lights() {
		if strings.EqualFold(light.ID, strings.TrimSpace(id)) {
			return light, nil
		}
	}
	var known []string
	for _, light := range lights() {
		known = append(known, light.ID)
	}
	return Light{}, fmt.Errorf("no light is called %q; known are %s", id, strings.Join(known, ", "))
}

// D65 is the light under which the colours of this project are stated.
func D65() Light { return lights()[0] }

// white is the tristimulus value of a perfect white under the light, Y = 1.
func (l Light) white() XYZ { return sumOf(l.table()) }

func (l Light) table() *weights {
	if l.weights != nil {
		return l.weights
	}
	w := twoDegree.weights(l.Power.grid())
	return &w
}

// xyz is the tristimulus value of a reflectance under the light.
func (l Light) xyz(reflectance Spectrum) XYZ {
	g := reflectance.grid()
	return l.table().xyz(&g)
}

// lab is the CIELAB colour of a reflectance under the light, relative to the
// light's own white: what a colour-measuring instrument states for that
// illuminant.
func (l Light) lab(reflectance Spectrum) Lab { return l.xyz(reflectance).labUnder(l.white()) }

// render is the colour that shows, on a display with white [whiteD65], how the
// reflectance looks to an observer adapted to the light. Under D65 it is the
// reflectance's daylight colour.
func (l Light) render(reflectance Spectrum) Lab {
	g := reflectance.grid()
	return l.displayed().xyz(&g).lab()
}

func (l Light) displayed() *weights {
	if l.display != nil {
		return l.display
	}
	return l.table().adapted()
}

// adapted are the weights followed by the adaptation to the display's white.
func (w *weights) adapted() *weights {
	var to weights
	adapted := adapt(cat16, sumOf(w), whiteD65)
	for i := range gridSize {
		c := adapted.apply(XYZ{w[0][i], w[1][i], w[2][i]})
		to[0][i], to[1][i], to[2][i] = c.X, c.Y, c.Z
	}
	return &to
}
