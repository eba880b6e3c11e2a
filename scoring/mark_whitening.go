package scoring

import (
	"fmt"
	"math"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { register(exercises.Whitening, Rules{Mark: markWhitening}) }

// stepsOff says by how many steps an answer was off: "1.2 too few".
func stepsOff(off float64) string {
	switch {
	case off >= 0.05:
		return fmt.Sprintf("%.1f too many", off)
	case off <= -0.05:
		return fmt.Sprintf("%.1f too few", -off)
	}
	return "which is exact"
}

// halfAStep is how near no other whole number of steps is nearer: where steps are larger than
// what is accepted that is all that can be asked.
const halfAStep = 0.5

// markWhitening compares the steps answered with those shown, and the whiteness
// that the answer stands for with that of the tooth.
func markWhitening(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	shown := exercises.StepsWhiter(t)
	if a.Number == nil || math.IsNaN(shown) || math.IsNaN(*a.Number) || math.IsInf(*a.Number, 0) {
		return Mark{}
	}
	after, _ := t.Patch("after")
	ladder := exercises.LadderOf(t)
	from, to := ladder.Place(t.Target.Lab()), ladder.Place(after.Lab())
	off := *a.Number - shown
	whiter := ladder.Whiteness(from+*a.Number) - ladder.Whiteness(to)
	verdict := "beyond acceptability"
	switch e := math.Abs(whiter); {
	case e <= WhitenessPerceptibility.Value:
		verdict = "within perceptibility"
	case e <= WhitenessAcceptability.Value:
		verdict = "within acceptability"
	case math.Abs(off) <= halfAStep:
		verdict = "no other number of steps is nearer"
	}
	return Mark{
		Checks: []Check{{
			Name:  "steps whiter",
			Right: math.Abs(whiter) <= WhitenessAcceptability.Value || math.Abs(off) <= halfAStep,
			Why: fmt.Sprintf("the tooth became %.1f steps whiter on this ladder (%+.1f WI_D, %.1f ΔE00); you said %g, %s, or %.1f WI_D: %s",
				shown, Whiter(t.Target.Lab(), after.Lab()), t.Level, *a.Number, stepsOff(off), math.Abs(whiter), verdict),
		}},
		Measures: []Measure{
			{Name: "steps off", Value: off, Unit: "steps, + too many"},
			{Name: "whiteness off", Value: whiter, Unit: "ΔWI_D, + too white"},
		},
	}
}
