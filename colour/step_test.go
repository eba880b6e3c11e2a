package colour

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

var pureDirections = [6]Direction{Lighter, Darker, MoreChroma, LessChroma, LargerHue, SmallerHue}

func TestStepIsTheInverseOfCompare(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 5))
	for range 3000 {
		// All of colour space, not teeth alone: blue has a rotation term.
		from := LCh{10 + 80*random.Float64(), 8 + 60*random.Float64(), 360 * random.Float64()}.Lab()
		d := Direction{random.NormFloat64(), random.NormFloat64(), random.NormFloat64()}
		e := 0.1 + 4*random.Float64()
		to, reached := Step(from, e, d)
		got := Compare(from, to, Unit)
		if !reached || math.Abs(got.E-e) > 1e-4*e || !(got.Direction().Angle(d) < 0.01) {
			t.Fatalf("%g from %v towards %v: reached %v with %+v, reported %v", e, from, d, to, got, reached)
		}
	}
	for _, d := range pureDirections {
		from := Lab{75, 2, 20}
		there, _ := Step(from, 1.8, d)
		back, _ := Step(there, 1.8, d.Opposite())
		near(t, fmt.Sprintf("%v and back", d), DeltaEab(from, back), 0, 1e-6)
	}
}

func TestStepSaysWhatCannotBeReached(t *testing.T) {
	for _, c := range []struct {
		what string
		from Lab
		e    float64
		d    Direction
	}{
		{"less chroma than none", Lab{75, 0.5, 0.5}, 3, LessChroma},
		{"another hue of a grey", Lab{75, 0, 0}, 1, LargerHue},
		{"no direction", Lab{75, 2, 20}, 1, Direction{}},
		{"a direction that is not a number", Lab{75, 2, 20}, 1, Direction{L: math.NaN()}},
		{"a negative size", Lab{75, 2, 20}, -1, Lighter},
		{"a size that is not a number", Lab{75, 2, 20}, math.NaN(), Lighter},
		{"a colour that is not a number", Lab{75, math.NaN(), 20}, 1, Lighter},
		{"a turn beyond opposite", Lab{75, 2, 3}, 40, LargerHue},
	} {
		if to, reached := Step(c.from, c.e, c.d); reached {
			t.Errorf("%s: said to be reached at %v", c.what, to)
		}
	}
	if to, reached := Step(Lab{75, 2, 20}, 0, Lighter); !reached || DeltaEab(to, Lab{75, 2, 20}) > 1e-12 {
		t.Errorf("a step of 0 led to %v, reached %v", to, reached)
	}
}

func TestAngle(t *testing.T) {
	for _, c := range []struct {
		d, e Direction
		want float64
	}{
		{Lighter, Darker, 180}, {Lighter, MoreChroma, 90}, {Lighter, Lighter, 0},
		{Direction{3, 3, 0}, Lighter, 45}, {Direction{1, 1e-9, 0}, Lighter, 1e-9 * 180 / math.Pi},
	} {
		near(t, fmt.Sprintf("angle of %v and %v", c.d, c.e), c.d.Angle(c.e), c.want, 1e-12)
	}
	if a := Lighter.Angle(Direction{}); !math.IsNaN(a) {
		t.Errorf("the angle to no direction is %g", a)
	}
}
