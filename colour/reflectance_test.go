package colour

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func TestToothReflectances(t *testing.T) {
	d65 := D65()
	reached, sharpest := 0, 0.0
	for l := 55.0; l <= 95; l += 2.5 {
		for c := 2.0; c <= 35; c += 3 {
			for h := 70.0; h <= 105; h += 5 {
				lab := LCh{l, c, h}.Lab()
				_, shows := lab.SRGB()
				r, found := ToothReflectance(lab)
				if !found {
					if l <= 90 || shows {
						t.Errorf("no reflectance for %v", LCh{l, c, h})
					}
					continue
				}
				reached++
				if e := DeltaEab(d65.render(r), lab); !(e < 1e-7) {
					t.Fatalf("%v: the daylight match is off by %g", LCh{l, c, h}, e)
				}
				for i, v := range r.Values {
					if !(v > 0 && v < 1) {
						t.Fatalf("%v: reflectance %g at %g nm", LCh{l, c, h}, v, wavelength(i))
					}
					if i >= 2 && shows {
						sharpest = math.Max(sharpest, math.Abs(v-2*r.Values[i-1]+r.Values[i-2]))
					}
				}
			}
		}
	}
	// The tooth-like sigmoid of the worked pair below bends by 0.0004 from one
	// 5 nm step to the next.
	t.Logf("%d colours, sharpest bend %.5f", reached, sharpest)
	if reached < 1000 || sharpest > 0.003 {
		t.Errorf("%d colours reached, the sharpest bend is %.4f", reached, sharpest)
	}
}

func TestColoursThatNoToothHas(t *testing.T) {
	f11 := light(t, "f11")
	for _, lab := range []Lab{
		{0, 0, 0}, {-5, 0, 0}, {120, 0, 0}, {50, 120, 0}, {50, 0, -120}, {95, 40, 40},
		{math.NaN(), 0, 0}, {50, math.Inf(1), 0}, {1e300, 1e300, 1e300},
	} {
		if r, found := ToothReflectance(lab); found {
			t.Errorf("%v has the reflectance %v", lab, r)
		}
		if seen, found := f11.Under(lab); found || seen != lab && lab == lab {
			t.Errorf("%v is seen as %v, found %v", lab, seen, found)
		}
		if _, err := MetamericPair(lab, f11, 1, rand.New(rand.NewPCG(1, 1))); err == nil {
			t.Errorf("%v has a metameric pair", lab)
		}
	}
}

func TestUnderALight(t *testing.T) {
	for _, lab := range toothGrid() {
		r, found := ToothReflectance(lab)
		if !found {
			t.Fatalf("no reflectance for %v", lab)
		}
		for _, l := range Lights() {
			seen, found := l.Under(lab)
			if e := DeltaEab(seen, l.render(r)); !found || e > 1e-9 {
				t.Fatalf("%v under %s: %v, %g from its reflectance", lab, l.ID, seen, e)
			}
			if l.ID == "d65" && DeltaEab(seen, lab) > 1e-7 {
				t.Fatalf("%v becomes %v in its own daylight", lab, seen)
			}
		}
	}
}

// Natural incisors, measured: their CIELAB colour under illuminant A lies 0.6–6.8
// ΔE00 from that under D65, under nine white LEDs 1.4–8.2 ("Colour inconstancy
// of natural teeth", as reported in a review of dental colour), while the
// differences between two teeth hardly depend on the light.
func TestLampsDoToTeethWhatWasMeasured(t *testing.T) {
	teeth := []Lab{{84.01, 0.17, 24.07}, {82.33, 0.31, 25.99}, {80.5, -0.2, 15.1}, {73.6, 1.1, 21.3}, {83.2, -0.7, 21.7}, {79.4, -0.5, 23.9}}
	for id, span := range map[string][2]float64{"a": {0.6, 6.8}, "led-b3": {1.4, 8.2}, "led-warm": {1.4, 8.2}} {
		l := light(t, id)
		for _, lab := range teeth {
			r, _ := ToothReflectance(lab)
			if e := DeltaE00(lab, l.lab(r)); e < span[0] || e > span[1] {
				t.Errorf("%v moves by %.1f under %s, measured were %.1f–%.1f", lab, e, id, span[0], span[1])
			}
		}
		for i, a := range teeth {
			for _, b := range teeth[i+1:] {
				seenA, _ := l.Under(a)
				seenB, _ := l.Under(b)
				near(t, fmt.Sprintf("difference of %v and %v under %s", a, b, id), DeltaE00(seenA, seenB), DeltaE00(a, b), 0.15*DeltaE00(a, b))
			}
		}
	}
}

// A tooth-like pair built by hand: a sigmoid against itself with a bump at 480 nm
// balanced by three others. It matches under D65 and
// differs by about 1.3 ΔE00 under A and 1.5 under F11 (computed with NumPy
// independently, CIELAB relative to each light's white).
func TestWorkedMetamericPair(t *testing.T) {
	base := sampled(func(nm float64) float64 { return 0.30 + 0.32/(1+math.Exp(-(nm-490)/45)) })
	bump480 := sampled(func(nm float64) float64 { return bump(nm, 480, 25) })
	black := unseen(bump480)
	second := base.plus(0.05, &black)
	pair := Metamers{First: base.spectrum(), Second: second.spectrum()}
	for _, c := range []struct {
		id           string
		want, within float64
	}{{"d65", 0, 1e-10}, {"a", 1.3, 0.05}, {"f11", 1.5, 0.05}} {
		l := light(t, c.id)
		near(t, "pair under "+c.id, DeltaE00(l.lab(pair.First), l.lab(pair.Second)), c.want, c.within)
		near(t, "index of metamerism for "+c.id, MetamerismIndex(pair.First, pair.Second, D65(), l).E, c.want, c.within)
	}
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

func TestMetamericPairs(t *testing.T) {
	d65 := D65()
	for seed := range uint64(60) {
		random := rand.New(rand.NewPCG(seed, 3))
		lab := LCh{60 + 28*random.Float64(), 6 + 24*random.Float64(), 76 + 24*random.Float64()}.Lab()
		test := Lights()[1+random.IntN(len(Lights())-1)]
		e := 2 * random.Float64()
		if test.ID == "d50" { // so close to D65 that less can be had
			e /= 2
		}
		pair, err := MetamericPair(lab, test, e, random)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		first, second := pair.Under(d65)
		near(t, "first in daylight", DeltaEab(first, lab), 0, 1e-7)
		near(t, "second in daylight", DeltaEab(second, lab), 0, 1e-7)
		one, _ := first.SRGB()
		two, _ := second.SRGB()
		if one != two {
			t.Errorf("seed %d: daylight shows %v and %v", seed, one, two)
		}
		a, b := pair.Under(test)
		near(t, fmt.Sprintf("seed %d: difference under %s", seed, test.ID), DeltaE00(a, b), e, 1e-6)
		for i := range pair.Second.Values {
			if v := pair.Second.Values[i]; !(v >= 0.01 && v <= 0.99) {
				t.Fatalf("seed %d: reflectance %g at %g nm", seed, v, wavelength(i))
			}
			if d := math.Abs(pair.Second.Values[i] - pair.First.Values[i]); d > mostDeparture+1e-9 {
				t.Fatalf("seed %d: the two reflectances part by %g", seed, d)
			}
		}
	}
	make := func() Metamers {
		pair, err := MetamericPair(Lab{75, 2, 20}, light(t, "a"), 1.5, rand.New(rand.NewPCG(9, 9)))
		if err != nil {
			t.Fatal(err)
		}
		return pair
	}
	if a, b := make(), make(); fmt.Sprint(a) != fmt.Sprint(b) {
		t.Error("one seed gave two pairs")
	}
	random := rand.New(rand.NewPCG(1, 1))
	for what, e := range map[string]float64{"in daylight": 1, "of 15": 15, "of NaN": math.NaN(), "of -1": -1} {
		test := light(t, "a")
		if what == "in daylight" {
			test = d65
		}
		if _, err := MetamericPair(Lab{75, 2, 20}, test, e, random); err == nil {
			t.Errorf("a metameric difference %s was made", what)
		}
	}
}

// A black has the wished values under the test light and none in daylight, and it is
// the smoothest: whatever else is unseen under both lights only adds curvature.
func TestABlackIsTheSmoothest(t *testing.T) {
	test := light(t, "a").displayed()
	wished := XYZ{0.004, 0.001, -0.002}
	k := stiffness()[0]
	p, ok := newParting(k, test)
	if !ok {
		t.Fatal("no parting")
	}
	black := p.black(wished)
	price := func(g *gridded) (sum float64) {
		for i := range g {
			sum += softness[0] * g[i] * g[i]
			if i > 0 && i < gridSize-1 {
				d := g[i-1] - 2*g[i] + g[i+1]
				sum += d * d
			}
		}
		return sum
	}
	for what, c := range map[string]struct{ got, want XYZ }{
		"in daylight": {daylightWeights().xyz(&black), XYZ{}}, "under the lamp": {test.xyz(&black), wished},
	} {
		if e := math.Abs(c.got.X-c.want.X) + math.Abs(c.got.Y-c.want.Y) + math.Abs(c.got.Z-c.want.Z); e > 1e-9 {
			t.Errorf("%s the black has %v, not %v", what, c.got, c.want)
		}
	}
	if least := price(&black); math.Abs(least-p.cost(wished)) > 1e-6*least {
		t.Errorf("costs %g, said to cost %g", least, p.cost(wished))
	}
	random := rand.New(rand.NewPCG(4, 4))
	for range 200 {
		// The difference of two blacks with the same values is unseen under both lights.
		other, _ := newParting(stiffness()[1+random.IntN(len(softness)-1)], test)
		rival := other.black(wished)
		share := random.NormFloat64()
		mixed := black.plus(share, &rival)
		mixed = mixed.plus(-share, &black)
		if price(&mixed) < price(&black)*(1-1e-9) {
			t.Fatalf("a smoother black costs %g instead of %g", price(&mixed), price(&black))
		}
	}
}

func TestThereIsRoomForBothHalves(t *testing.T) {
	black := sampled(func(nm float64) float64 { return 3 * math.Sin(nm/40) })
	for _, c := range []struct{ base, most float64 }{{0.5, 0.1}, {0.95, 0.08}, {0.04, 0.06}, {0.99, 0}, {0.01, 0}, {0.995, 0}} {
		base := sampled(func(float64) float64 { return c.base })
		share := room(&base, &black)
		if got := 3 * share; got < 0 || math.Abs(got-c.most) > 1e-3 {
			t.Errorf("at a reflectance of %g there is room for %g, not %g", c.base, got, c.most)
		}
	}
}

// The wished number of pairs of sizes as a drill asks for them, under its lamps: few
// wind, none parts by more than a tenth. README.md of this folder has the figures.
func TestPartnersAreLikeTeeth(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 0))
	for _, size := range []struct{ from, to, unlikely float64 }{{0, 0.8, 0.03}, {0.8, 1.8, 0.25}, {1.8, 4, 0.75}} {
		made, unlikely, largest := 0, 0, 0.0
		for range 60 {
			lab := LCh{60 + 28*random.Float64(), 6 + 24*random.Float64(), 80 + 12*random.Float64()}.Lab()
			test := light(t, []string{"a", "f2", "f11", "led-b3", "led-warm"}[random.IntN(5)])
			pair, err := MetamericPair(lab, test, size.from+(size.to-size.from)*random.Float64(), random)
			if err != nil {
				continue
			}
			made++
			if pair.Unlikely() {
				unlikely++
			}
			for i := range pair.First.Values {
				largest = max(largest, math.Abs(pair.First.Values[i]-pair.Second.Values[i]))
			}
		}
		share := float64(unlikely) / float64(made)
		t.Logf("%g–%g: %d pairs, %.0f %% unlikely, largest departure %.3f", size.from, size.to, made, 100*share, largest)
		if made < 40 || share > size.unlikely || largest > mostDeparture+1e-9 {
			t.Errorf("%g–%g: %d pairs, %.0f %% unlikely, largest departure %.3f", size.from, size.to, made, 100*share, largest)
		}
	}
}

func TestTurningPoints(t *testing.T) {
	for _, c := range []struct {
		values []float64
		want   int
	}{{[]float64{1, 2, 3}, 0}, {[]float64{1, 2, 2, 3}, 0}, {[]float64{1, 2, 2, 1}, 1}, {[]float64{1, 3, 2, 4, 3, 5}, 4}, {nil, 0}} {
		if got := turningPoints(Spectrum{380, 5, c.values}); got != c.want {
			t.Errorf("%v turns %d times, not %d", c.values, got, c.want)
		}
	}
}

// A drill relights every tab of a library and every target: promised are 20 µs.
func BenchmarkUnder(b *testing.B) {
	l := light(b, "f11")
	b.ReportAllocs()
	for b.Loop() {
		l.Under(Lab{75, 2, 20})
	}
}

func BenchmarkMetamericPair(b *testing.B) {
	l := light(b, "a")
	random := rand.New(rand.NewPCG(1, 1))
	for b.Loop() {
		if _, err := MetamericPair(Lab{75, 2, 20}, l, 1.5, random); err != nil {
			b.Fatal(err)
		}
	}
}
