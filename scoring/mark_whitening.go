package scoring

import (
	"fmt"
	"math"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { registerMarker(exercises.Whitening, markWhitening) }

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
	}
	return Mark{
		Checks: []Check{{
			Name:  "steps whiter",
			Right: math.Abs(whiter) <= WhitenessAcceptability.Value,
			Why: fmt.Sprintf("%.1f steps of this ladder (%+.1f WI_D, %.1f ΔE00); the answer is off by %+.1f steps or %+.1f WI_D, %s",
				shown, Whiter(t.Target.Lab(), after.Lab()), t.Level, off, whiter, verdict),
		}},
		Measures: []Measure{
			{Name: "steps off", Value: off, Unit: "steps, + too many"},
			{Name: "whiteness off", Value: whiter, Unit: "ΔWI_D, + too white"},
		},
	}
}
