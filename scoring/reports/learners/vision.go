package learners

import (
	"fmt"
	"math"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// When errors along hue call for advice. At tooth hues, near 90°, a change of
// hue is a change of a*, the red–green direction. A bias of everybody's size
// must not send everybody to a professional: the limits are a house rule.
const (
	visionAnswers = 30   // fewer say nothing
	visionLevel   = 0.99 // of the intervals that must leave chance out
)

// visionSection is nil unless errors run along hue beyond chance: they run one
// way by more than what half of observers see, or hue is the largest part of
// most errors that can be seen at all.
func visionSection(kinds []*history.Kind) *report.Section {
	biases := history.BiasOfKinds(kinds)
	n := len(history.Flat(biases.Parts[2]))
	if n < visionAnswers {
		return nil
	}
	along := biases.Estimates[2]
	if along.Open() == 0 {
		along = trend.MeanOverSittings(biases.Parts[2], visionLevel)
	}
	pt := scoring.Perceptibility.Value
	oneWay := along.HasInterval() && !along.Covers(0) && math.Abs(along.Value) > pt
	seen, alongHue := 0, 0
	for _, k := range kinds {
		for _, s := range k.Sittings {
			for _, j := range s.Judged {
				if j.D.E <= pt {
					continue
				}
				seen++
				if h := math.Abs(j.D.H); h > math.Abs(j.D.L) && h > math.Abs(j.D.C) {
					alongHue++
				}
			}
		}
	}
	share := trend.Share(alongHue, seen, visionLevel)
	mostly := seen >= visionAnswers && share.HasInterval() && share.Lo > 0.5
	var why string
	switch {
	case oneWay:
		direction := "redder"
		told := biases.Estimates[2] // as the table has it
		if told.Value > 0 {
			direction = "yellower"
		}
		why = fmt.Sprintf("Answers are %s than the target %s ΔE00 on average, beyond chance (%d answers).", direction, history.BySize(told), n)
	case mostly:
		why = fmt.Sprintf("In %d of %d errors that can be seen, hue is the largest part, beyond chance.", alongHue, seen)
	default:
		return nil
	}
	return &report.Section{Key: "vision", Title: "Colour vision", Notes: []string{
		why + " The screen, the light in the room and habit can do this, and so can colour vision.",
		"Nothing was diagnosed here. Have your colour vision examined by a professional.",
	}}
}
