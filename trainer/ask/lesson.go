package ask

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// Lesson is what somebody learns from one answer, in three sentences that need no
// figures: what was said and what it was, how far that is, and one rule of looking
// that would have helped here.
type Lesson struct{ What, Far, Rule string }

// Rules of looking, by what has to be seen. All of them are common practice; no
// source is known for any.
const RuleSource = "Rules of looking: common practice, no source."

var rules = map[string]string{
	exercises.AttributeValue:  "For value: half close your eyes and take short looks at the whole patch; what is left is light and dark.",
	exercises.AttributeChroma: "For chroma: rest on the grey, then ask at the edge where the two meet which one is stronger.",
	exercises.AttributeHue:    "For hue: rest on the grey, then compare the edges and ask only this: redder, or yellower?",
	ruleSeen:                  "Well seen. Keep the looks short and trust the first one.",
	ruleVerdict:               "For the verdict: step back as far as people stand when they talk, look once, and decide.",
	ruleEnds:                  "For places in between: go from the target to one end, then to the other; the smaller step is the nearer end.",
	ruleLadder:                "On the ladder: find the foot first, until it cannot be told from the tooth before; only then read the top.",
	ruleLamp:                  "For lamps: look which pair parts a little already where you can see it; under the next lamp it parts more.",
	ruleGradient:              "For a tooth: look at it whole first. Where is it lightest, where strongest? Then take the thirds.",
	ruleLibrary:               "Nothing on offer was nearer: say what is missing, such as \"half a step lighter\".",
}

const (
	ruleSeen     = "seen"
	ruleVerdict  = "verdict"
	ruleEnds     = "ends"
	ruleLadder   = "ladder"
	ruleLamp     = "lamp"
	ruleGradient = "gradient"
	ruleLibrary  = "library"
)

// LessonOf is the lesson of an answer; empty where its kind has none.
func LessonOf(f Feedback) Lesson {
	s := ScreenOf(f.Attempt.Trial.Kind)
	switch {
	case s.Lesson != nil:
		return s.Lesson(f)
	case f.Mark.HasColour:
		return colourLesson(f)
	}
	return checksLesson(f.Mark.Checks)
}

// checksLesson is that of a kind which has no words of its own: what was right, and why.
func checksLesson(checks []scoring.Check) Lesson {
	out := Lesson{Rule: rules[ruleSeen]}
	var whats []string
	if len(checks) == 1 {
		out.What, out.Far = "Right.", draw.Sentence(checks[0].Why)
		if !checks[0].Right {
			out.What, out.Rule = "Not right.", ""
		}
		return out
	}
	for _, c := range checks {
		what := "Right"
		if !c.Right {
			what, out.Rule = "Not right", ""
		}
		what = draw.UpperFirst(c.Name) + ": " + draw.LowerFirst(what)
		if c.Why != "" {
			what += ": " + c.Why
		}
		whats = append(whats, draw.Sentence(what))
	}
	if len(whats) == 0 {
		return Lesson{}
	}
	out.What, out.Far = whats[0], strings.Join(whats[1:], " ")
	return out
}

// seen is an answer's distance from the target as it is noticed, with a full stop.
func seen(e float64) string { return scoring.Noticed(e) + "." }

// largestPart names the attribute in which an answer was farthest off. Value comes
// first: where it would not be accepted, nothing else matters yet.
func largestPart(l, c, h float64) string {
	switch l, c, h = math.Abs(l), math.Abs(c), math.Abs(h); {
	case l > scoring.Acceptability.Value, l >= c && l >= h:
		return exercises.AttributeValue
	case c >= h:
		return exercises.AttributeChroma
	}
	return exercises.AttributeHue
}

// colourLesson is that of an answer which is a colour: a tab of a sheet.
func colourLesson(f Feedback) Lesson {
	m, a, t := f.Mark, f.Attempt.Answer, f.Attempt.Trial
	d := m.Difference
	name := a.Tab
	if a.Neighbour != "" {
		name = "between " + name + " and " + a.Neighbour
	}
	var out Lesson
	words := scoring.InWords(d, t.Target.Lab(), a.Colour.Lab())
	switch {
	case words == "":
		out.What = fmt.Sprintf("Your answer, %s, looks like the target.", name)
	default:
		out.What = fmt.Sprintf("Your answer, %s, is %s than the target.", name, words)
		if strings.HasSuffix(words, "hue angle") {
			out.What = fmt.Sprintf("Your answer, %s, is %s.", name, words)
		}
	}
	if m.HasGroup && m.GroupSteps != 0 {
		way := "light"
		if m.GroupSteps < 0 {
			way = "dark"
		}
		n := max(m.GroupSteps, -m.GroupSteps)
		out.What += fmt.Sprintf(" The value group was %s too %s.", scoring.Count(n, "step", "steps"), way)
	}
	out.Far = seen(d.E)
	best := m.HasSheet && m.Excess < 0.005
	if best {
		out.Far += " No tab was nearer."
	} else if m.HasSheet {
		out.Far += " Nearest was " + bestName(f) + "."
	}
	switch {
	case best && d.E > scoring.Acceptability.Value:
		out.Rule = rules[ruleLibrary]
	case best || d.E <= scoring.Perceptibility.Value:
		out.Rule = rules[ruleSeen]
	default:
		out.Rule = rules[largestPart(d.L, d.C, d.H)]
	}
	return out
}

// bestName is what the best answer is called.
func bestName(f Feedback) string {
	sheet, best := f.Setup.Sheet, f.Mark.Best
	if sheet == nil || best.I < 0 || best.I >= sheet.Len() {
		return "another answer"
	}
	if best.J >= 0 {
		return "between " + sheet.Name(best.I) + " and " + sheet.Name(best.J)
	}
	return sheet.Name(best.I)
}

// Side is one of two or more things that are shown in turn at the same place.
type Side struct {
	Label string
	Paint func(c *draw.Canvas, in draw.Rect)
}

// SidesOf are what the feedback can show in turn: what was answered and what it was.
func SidesOf(f Feedback) []Side {
	if sides := ScreenOf(f.Attempt.Trial.Kind).Sides; sides != nil {
		return sides(f)
	}
	if f.Attempt.Answer.Colour == nil {
		return nil
	}
	return patches(draw.Choice{Colour: f.Attempt.Trial.Target, Label: "the target"}, draw.Choice{Colour: *f.Attempt.Answer.Colour, Label: "your answer"})
}

// patches are sides that are one even colour each.
func patches(shown ...draw.Choice) []Side {
	var sides []Side
	for _, s := range shown {
		sides = append(sides, Side{s.Label, func(c *draw.Canvas, in draw.Rect) {
			c.Swatch(in.Middle(min(in.W-24, in.H*5), in.H), s.Colour)
		}})
	}
	return sides
}

// list joins words as in a sentence.
func list(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// verdictSaid finds which of the verdicts, the mildest first, was given and which would
// have been right.
func verdictSaid(m scoring.Mark, verdicts []string, choice string) (said, right int, ok bool) {
	for _, measure := range m.Measures {
		if measure.Name != "strictness" {
			continue
		}
		for i, v := range verdicts {
			if v == choice {
				return i, i - int(measure.Value), true
			}
		}
	}
	return 0, 0, false
}

// verdictSentence says the right verdict, and the one given where it was another.
func verdictSentence(words []string, right, said int) string {
	if right < 0 || right >= len(words) {
		return ""
	}
	if right == said {
		return words[right] + ", as you said."
	}
	return words[right] + "; you said " + words[said] + "."
}
