package display

import (
	"fmt"
	"math"

	"shadedrill/colour"
)

// SmallStep is a pair of tooth colours 0.79 ΔE00 apart, lightness alone: at the
// limit of perceptibility. Each byte differs by 3, and the two fall together
// wherever a byte loses its last bits (5:6:5 bits a pixel, the 256 colours of a
// palette), so who sees the edge between them looks at 24 bits.
var SmallStep = [2]colour.SRGB{{R: 200, G: 184, B: 152}, {R: 203, G: 187, B: 155}}

// Ramp is a row of greys in equal steps of L* from black to white.
func Ramp(n int) []colour.SRGB {
	greys := make([]colour.SRGB, n)
	for i := range greys {
		greys[i], _ = colour.Lab{L: 100 * float64(i) / float64(n-1)}.SRGB()
	}
	return greys
}

// A fine pattern of black and white stripes gives off half the light of white.
// From a distance it melts into the flat grey that gives off as much, and which
// grey that is tells the gamma of the display: (code/255)^gamma = 1/2.

// GammaGreys are flat greys for gammas from 1.4 to 3.6; the one in the middle
// is half the light of white in sRGB.
var GammaGreys = []colour.SRGB{colour.Grey(156), colour.Grey(173), colour.Grey(188), colour.Grey(200), colour.Grey(210)}

// gammaUsual is the index in GammaGreys that an sRGB display is matched with.
const gammaUsual = 2

// gammaOf is the gamma of a display on which the pattern melts into a grey.
func gammaOf(grey colour.SRGB) float64 { return math.Log(0.5) / math.Log(float64(grey.G)/255) }

// GammaWords is what is recorded for the i-th grey.
func GammaWords(i int) string {
	return fmt.Sprintf("grey %d, gamma about %.1f", GammaGreys[i].G, gammaOf(GammaGreys[i]))
}

// What a person can say, as it is recorded.
const (
	Seen    = "seen"
	NotSeen = "not seen"

	AllSteps  = "all steps"
	DarkLost  = "dark steps lost"
	LightLost = "light steps lost"
	BothLost  = "dark and light steps lost"

	NoGrey = "none of the greys"

	TintOff     = "off"
	TintOn      = "on"
	TintUnknown = "not known"
)

// Judge says whether a display is fit for numbers that shall be compared, and
// if not, why, a line each.
func Judge(smallStep, ramp, gamma, tint string) (fit bool, why []string) {
	if smallStep != Seen {
		why = append(why, "The small step was not seen. Colours this near may not differ on this screen at all, or it is too dim or too bright to see them.")
	}
	if ramp != AllSteps {
		why = append(why, "Some steps of the grey ramp run together: set brightness and contrast so that all can be told apart.")
	}
	if gamma != GammaWords(gammaUsual) && gamma != GammaWords(gammaUsual-1) && gamma != GammaWords(gammaUsual+1) {
		why = append(why, "The screen's tone curve is far from the usual one: choose the sRGB or standard mode in its settings.")
	}
	if tint != TintOff {
		why = append(why, "Night-tint and automatic brightness change colours while you work: switch them off before practising.")
	}
	return len(why) == 0, why
}
