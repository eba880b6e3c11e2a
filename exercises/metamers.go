package exercises

import (
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// LampLook is one metameric pair under one lamp, as shown.
type LampLook struct {
	Light         colour.Light
	First, Second colour.SRGB
	// Fits says that the display shows both colours as they are.
	Fits bool
	// E is the ΔE00 of the shown bytes, Index the index of metamerism from the
	// spectra: their ΔE00 under this lamp after the spectral correction of ISO
	// 18314-4:2024 for what separates them in daylight (nothing, in a made pair).
	E, Index float64
}

// AllLamps shows one pair under every light there is, daylight first: what a
// match at the window becomes elsewhere.
func AllLamps(m colour.Metamers) []LampLook {
	var looks []LampLook
	for _, light := range colour.Lights() {
		looks = append(looks, lookUnder(m, light))
	}
	return looks
}

func lookUnder(m colour.Metamers, light colour.Light) LampLook {
	look := LampLook{Light: light, Index: colour.MetamerismIndex(m.First, m.Second, colour.D65(), light).E}
	pair := pairUnder(m, light)
	look.First, look.Second, look.Fits, look.E = pair.first, pair.second, pair.fits, pair.e
	return look
}

// shownPair are the bytes of a metameric pair under a lamp.
type shownPair struct {
	first, second colour.SRGB
	fits          bool
	e             float64 // ΔE00 of the bytes
}

func pairUnder(m colour.Metamers, light colour.Light) shownPair {
	a, b := m.Under(light)
	first, fitsFirst := a.SRGB()
	second, fitsSecond := b.SRGB()
	return shownPair{first, second, fitsFirst && fitsSecond, colour.DeltaE00(first.Lab(), second.Lab())}
}

// TeachingPair makes a pair for a lesson: a natural tooth colour that breaks
// plainly under the incandescent lamp, by 2.5–4 ΔE00.
func TeachingPair(seed uint64) colour.Metamers {
	rng := rand.New(rand.NewPCG(seed, 0))
	draw := func(rng *rand.Rand) colour.SRGB {
		return drawShown(rng, func(c colour.Lab) colour.Lab { return c }, tabs.NaturalTeeth.Sample)
	}
	incandescent := lampOf("a")
	m, _ := drawMetamers(rng, draw, incandescent, 2.5, 4, []colour.Light{incandescent})
	return m
}

// drawMetamers draws a daylight colour and a pair of that colour which differs by
// from…to ΔE00 under the test lamp. The daylight colour is what its bytes show, so
// that in daylight both halves are the same bytes. It must be showable under all
// the lamps; ok is false where only a pair without a difference could be made. Of the
// first few that serve, one with curves like those in a mouth is preferred.
func drawMetamers(rng *rand.Rand, draw func(*rand.Rand) colour.SRGB, test colour.Light, from, to float64, lamps []colour.Light) (m colour.Metamers, ok bool) {
	// Under lamps close to daylight, large differences are out of reach of some
	// colours; a saturated one may leave the gamut. Neither lasts for 50 draws.
	const few = 6
	usable := 0
	for range 50 {
		daylight := draw(rng).Lab()
		next, err := colour.MetamericPair(daylight, test, from+(to-from)*rng.Float64(), rng)
		if err != nil || !fitsUnder(next, lamps) {
			continue
		}
		if usable++; usable == 1 || !next.Unlikely() {
			m = next
		}
		if !m.Unlikely() || usable == few {
			break
		}
	}
	if usable > 0 {
		return m, true
	}
	for range 1000 {
		daylight := draw(rng).Lab()
		if r, found := colour.ToothReflectance(daylight); found {
			return colour.Metamers{First: r, Second: r, Daylight: daylight}, false
		}
	}
	return m, false
}

func fitsUnder(m colour.Metamers, lamps []colour.Light) bool {
	for _, light := range lamps {
		if !pairUnder(m, light).fits {
			return false
		}
	}
	return true
}

// lampOf is a built-in light that is known to exist.
func lampOf(id string) colour.Light {
	light, err := colour.LightByID(id)
	if err != nil {
		panic("exercises: " + err.Error())
	}
	return light
}
