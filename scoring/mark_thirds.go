package scoring

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
)

func init() { register(exercises.Thirds, Rules{Mark: markSheet, Shade: true, Scene: markGradient}) }

// markGradient says, once a tooth's three thirds are answered, whether its
// gradient was given the right way round in value and in chroma. It looks at the
// two runs, from the middle to the neck and from the middle to the edge. A run
// that half of observers would not see has no direction. An answer is wrong if it
// runs visibly the other way, or does not run at all where the tooth does so
// beyond acceptability.
func markGradient(scene []Attempt) []Check {
	last := scene[len(scene)-1]
	tooth, third := cutPart(last.Trial.Part)
	if third != exercises.Incisal {
		return nil
	}
	answered := map[string]colour.Lab{}
	for _, a := range scene {
		if t, third := cutPart(a.Trial.Part); t == tooth && a.Answer.Colour != nil {
			answered[third] = a.Answer.Colour.Lab()
		}
	}
	cervical, middle, incisal, ok := exercises.ToothOf(last.Trial, tooth)
	if !ok || len(answered) < 3 {
		return nil
	}
	names := [2]string{"neck", "edge"}
	truth := [2]colour.Difference{
		colour.Compare(middle.Lab(), cervical.Lab(), colour.Unit),
		colour.Compare(middle.Lab(), incisal.Lab(), colour.Unit),
	}
	given := [2]colour.Difference{
		colour.Compare(answered[exercises.Middle], answered[exercises.Cervical], colour.Unit),
		colour.Compare(answered[exercises.Middle], answered[exercises.Incisal], colour.Unit),
	}
	var checks []Check
	for _, part := range []struct {
		name, more, less string
		of               func(colour.Difference) float64
	}{
		{exercises.AttributeValue, "lighter", "darker", func(d colour.Difference) float64 { return d.L }},
		{exercises.AttributeChroma, "more chromatic", "less chromatic", func(d colour.Difference) float64 { return d.C }},
	} {
		right := true
		var why []string
		for i, name := range names {
			shown, said := part.of(truth[i]), part.of(given[i])
			if math.Abs(shown) <= Perceptibility.Value {
				continue
			}
			word := part.more
			if shown < 0 {
				word = part.less
			}
			text := fmt.Sprintf("the %s is %.1f %s than the middle", name, math.Abs(shown), word)
			along := said * math.Copysign(1, shown) // > 0: the right way
			switch {
			case along < -Perceptibility.Value:
				right = false
				text += ", answered the other way round"
			case along <= Perceptibility.Value && math.Abs(shown) > Acceptability.Value:
				right = false
				text += ", answered level"
			}
			why = append(why, text)
		}
		if len(why) > 0 {
			checks = append(checks, Check{Name: "gradient of " + part.name, Right: right, Why: strings.Join(why, "; ")})
		}
	}
	return checks
}

// cutPart splits the part of a thirds trial into tooth and third.
func cutPart(part string) (tooth, third string) {
	if tooth, third, ok := strings.Cut(part, " "); ok {
		return tooth, third
	}
	return "", part
}
