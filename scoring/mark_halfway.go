package scoring

import (
	"fmt"
	"math"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { register(exercises.Halfway, Rules{Mark: markHalfway}) }

// purePair is how much of the difference of two ends an attribute must make up for
// an error along the way to be one of that attribute: the cosine of 25°, a little
// more than tabs are chosen by. Lamps turn pairs. House rule.
const purePair = 0.906

// markHalfway compares the in-between colour that was named with the target. An
// answer can err along the way between the ends only, so it tells of a bias along
// their attribute and of none other; and only where it could err to both sides,
// which is where neither end was the nearest answer (see [exercises.RoomAround]).
func markHalfway(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	m := markColour(t, a, nil)
	left, right, ok := exercises.EndsOf(t)
	if !ok || !m.HasColour || left == right {
		return m
	}
	m.Free = exercises.Axes{}
	target := t.Target.Lab()
	best := exercises.NearestPlace(left, right, target)
	way := colour.Compare(left.Lab(), right.Lab(), colour.Unit)
	along, more := mainPart(way)
	if open := best > 0 && best < exercises.Places-1; open && math.Abs(along.of(way.Direction())) >= purePair {
		m.Free = along.axes
	}
	if a.Number == nil || math.IsNaN(*a.Number) || *a.Number < 0 || *a.Number > 1 {
		return m
	}
	shown := exercises.ShareOfWay(left, right, t.Target)
	off := *a.Number - shown
	// Another place is never counted as worse than one of the same colour.
	nearest := colour.DeltaE00(target, exercises.InBetween(left, right, best).Lab())
	m.Checks = []Check{{
		Name:  "place between two, " + along.name,
		Right: colour.DeltaE00(target, a.Colour.Lab()) <= nearest+1e-9,
		Why: fmt.Sprintf("nearest to the target is %s, %s ΔE00 from it; you said %s",
			PlaceWords(float64(best)/(exercises.Places-1)), Figure(nearest), PlaceWords(*a.Number)),
	}}
	m.Measures = []Measure{
		{Name: "way off, " + along.name, Value: 100 * off * math.Copysign(1, more), Unit: "% of the way, + " + along.more},
		{Name: "way off, sides", Value: 100 * off, Unit: "% of the way, + towards the right"},
	}
	return m
}

// attribute is one of the three parts of a difference in this package's words.
type attribute struct {
	name, more, less string
	of               func(colour.Direction) float64
	axes             exercises.Axes
}

var attributes = [3]attribute{
	{exercises.AttributeValue, "too light", "too dark", func(d colour.Direction) float64 { return d.L }, exercises.Axes{L: true}},
	{exercises.AttributeChroma, "too chromatic", "too weak", func(d colour.Direction) float64 { return d.C }, exercises.Axes{C: true}},
	{exercises.AttributeHue, "too yellow", "too red", func(d colour.Direction) float64 { return d.H }, exercises.Axes{H: true}},
}

// mainPart is the attribute in which a difference is largest, and its size with
// its sign.
func mainPart(d colour.Difference) (largest attribute, size float64) {
	for i, a := range attributes {
		if part := a.of(colour.Direction{L: d.L, C: d.C, H: d.H}); i == 0 || math.Abs(part) > math.Abs(size) {
			largest, size = a, part
		}
	}
	return largest, size
}

// PlaceWords names a share of the way from the left end to the right one.
func PlaceWords(share float64) string {
	switch share {
	case 0:
		return "the left end"
	case 0.25:
		return "a quarter"
	case 0.5:
		return "half way"
	case 0.75:
		return "three quarters"
	case 1:
		return "the right end"
	}
	return fmt.Sprintf("%.0f %%", 100*share)
}
