package ask

import (
	"fmt"
	"math"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.Halfway, Screen{
		Brief: []string{
			"Three patches: the two outer ones differ in value, in chroma or in hue, and the target in the middle lies between them.",
			"Say where: at one of the ends, a quarter, half or three quarters of the way. What lies in between is not shown; it has to be imagined, as with tabs that come in no half steps.",
		},
		Lesson: halfwayLesson,
		Ask:    newHalfway,
		Truth:  halfwayTruth,
		Variants: byAttribute("Halfway", Variant{"Halfway: value, chroma and hue in turn", "The attribute changes from trial to trial, and is named.", exercises.Setup{}, nil},
			"the two outer patches differ in it, and nothing else has to be looked at"),
	})
}

// halfwayAsker asks for a place between two ends. Nothing is chosen at first, so
// that no place is easier to answer than another.
type halfwayAsker struct {
	Question
	left, right colour.SRGB
	place       int // −1 while nothing is chosen
}

func newHalfway(q Question) (Asker, error) {
	left, right, ok := exercises.EndsOf(q.Trial)
	if !ok {
		return nil, fmt.Errorf("trial %d has no two ends", q.Trial.Ordinal+1)
	}
	return &halfwayAsker{Question: q, left: left, right: right, place: -1}, nil
}

func (a *halfwayAsker) Prompt() string {
	in := ""
	if a.Trial.Part != "" {
		in = "In " + a.Trial.Part + ": "
	}
	return draw.UpperFirst(in + "where between left and right does the target lie?")
}

func (a *halfwayAsker) Keys() []draw.KeyHelp {
	return []draw.KeyHelp{draw.Help("← →", "nearer to the left, the right", "right"), draw.Help("1 2 3 4 5", "the place", ""),
		draw.Help("↵", "answer", "enter")}
}

func (a *halfwayAsker) Key(k string) Reply {
	const middle = exercises.Places / 2
	switch k {
	case "left", "right", "home", "end":
		step := map[string]int{"left": -1, "right": 1}[k]
		switch {
		case k == "home":
			a.place = 0
		case k == "end":
			a.place = exercises.Places - 1
		case a.place < 0:
			a.place = middle + step
		case a.place+step < 0:
			return why("This is the left end: the target looks like the left one.")
		case a.place+step == exercises.Places:
			return why("This is the right end: the target looks like the right one.")
		default:
			a.place += step
		}
	case "enter":
		if a.place < 0 {
			return why("First choose a place with the arrows, 1 to 5, or a click.")
		}
		answer := exercises.TakePlace(a.left, a.right, a.place)
		return Reply{Answer: &answer}
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return noKey
		}
		if i >= exercises.Places {
			return why(fmt.Sprintf("There are %d places.", exercises.Places))
		}
		a.place = i
	}
	return Reply{}
}

// Pick chooses a place, or takes it when it is chosen already.
func (a *halfwayAsker) Pick(i int) Reply {
	if i == a.place {
		return a.Key("enter")
	}
	a.place = i
	return Reply{}
}

// scaleRows is the height of the scale with its labels and a blank row above.
const scaleRows = 5

func (a *halfwayAsker) Draw(c *draw.Canvas, in draw.Rect, covered bool) {
	t := c.Tone
	upper, lower := in.Bottom(scaleRows)
	drawThree(c, upper, a.Setup.Viewing, [3]draw.Choice{{Colour: a.left, Label: "left"}, {Colour: a.Trial.Target, Label: "target"}, {Colour: a.right, Label: "right"}}, covered)
	s := newScale(c, lower)
	s.draw()
	for i := range exercises.Places {
		on := i == a.place
		ink := t.Faint
		if on {
			ink = t.Strong
			s.mark(float64(i)/(exercises.Places-1), "●", ink)
		}
		s.label(i, 1, fmt.Sprintf("%d", i+1), ink, on)
		s.label(i, 2, placeNames[i], ink, on)
		s.item(i)
	}
}

// placeNames stand under the scale.
var placeNames = [exercises.Places]string{"left end", "a quarter", "half way", "three quarters", "right end"}

// drawThree paints three patches beside each other, as far apart as the viewing
// says, with a caption well below each.
func drawThree(c *draw.Canvas, in draw.Rect, v exercises.Viewing, of [3]draw.Choice, covered bool) {
	patches, captions := in.Bottom(2)
	w := min((in.W-2*draw.Margin-2*v.Gap)/len(of), patches.H*3)
	x := in.X + (in.W-len(of)*w-2*v.Gap)/2
	for _, p := range of {
		shown := p.Colour
		if covered {
			shown = draw.Cover(v.Surround)
		}
		c.Swatch(draw.Box(x, patches.Y, w, patches.H), shown)
		c.Write(x+(w-c.Width(p.Label))/2, captions.Y+1, p.Label, c.Tone.Faint, false)
		x += w + v.Gap
	}
}

// scale is a line from the left end to the right one with a tick at every place.
type scale struct {
	*draw.Canvas
	in      draw.Rect // the row of the line is in.y
	x, step int
}

func newScale(c *draw.Canvas, in draw.Rect) scale {
	_, in = in.Top(1)
	step := min(24, (in.W-2*draw.Margin-len("three quarters"))/(exercises.Places-1))
	return scale{c, in, in.X + (in.W-step*(exercises.Places-1))/2, step}
}

func (s scale) at(share float64) int {
	return s.x + int(math.Round(share*float64(s.step*(exercises.Places-1))))
}

func (s scale) draw() {
	for x := s.x; x <= s.at(1); x++ {
		sign := "─"
		if (x-s.x)%s.step == 0 {
			sign = "┼"
		}
		s.Write(x, s.in.Y, sign, s.Tone.Faint, false)
	}
}

func (s scale) mark(share float64, sign string, ink colour.SRGB) {
	s.Write(s.at(share), s.in.Y, sign, ink, true)
}

// label writes under a place.
func (s scale) label(place, row int, text string, ink colour.SRGB, bold bool) {
	s.Write(s.x+place*s.step-(s.Width(text)-1)/2, s.in.Y+row, text, ink, bold)
}

func (s scale) item(place int) {
	s.Canvas.Item(draw.Box(s.x+place*s.step-s.step/2, s.in.Y, s.step, 3), place)
}

// halfwayTruth shows the answered colour beside the target, the ends outside, and
// both places on the scale.
func halfwayTruth(c *draw.Canvas, in draw.Rect, f Feedback) {
	t := f.Attempt.Trial
	left, right, ok := exercises.EndsOf(t)
	if !ok || f.Attempt.Answer.Colour == nil {
		return
	}
	upper, lower := in.Bottom(scaleRows)
	draw.Row(c, upper, []draw.Choice{{Colour: left, Label: "left"}, {Colour: t.Target, Label: "target"}, {Colour: *f.Attempt.Answer.Colour, Label: "your answer"}, {Colour: right, Label: "right"}})
	s := newScale(c, lower)
	s.draw()
	share := exercises.ShareOfWay(left, right, t.Target)
	if math.IsNaN(share) {
		return
	}
	// On the side of the place whose colour is nearest, as the sentence says.
	best := float64(exercises.NearestPlace(left, right, t.Target.Lab()))
	const half = 0.45
	shown := math.Max(0, math.Min(1, math.Max(best-half, math.Min(best+half, share*(exercises.Places-1)))/(exercises.Places-1)))
	under := func(share float64, row int, text string, ink colour.SRGB, bold bool) {
		x := s.at(share) - c.Width(text)/2
		c.Write(max(in.X+draw.Margin, min(x, in.X+in.W-draw.Margin-c.Width(text))), s.in.Y+row, text, ink, bold)
	}
	s.mark(shown, "●", c.Tone.Strong)
	under(shown, 1, "target", c.Tone.Strong, true)
	if n := f.Attempt.Answer.Number; n != nil {
		s.mark(*n, "○", c.Tone.Strong)
		under(*n, 2, "your answer, "+scoring.PlaceWords(*n), c.Tone.Faint, false)
	}
}

// halfwayLesson says at which place the target lies. Nearest is the place whose colour
// is nearest, which is all that can be seen.
func halfwayLesson(f Feedback) Lesson {
	t, a := f.Attempt.Trial, f.Attempt.Answer
	left, right, ok := exercises.EndsOf(t)
	if !ok || a.Colour == nil || a.Number == nil {
		return Lesson{}
	}
	best := exercises.NearestPlace(left, right, t.Target.Lab())
	said := scoring.PlaceWords(*a.Number)
	out := Lesson{What: "You said " + said + ", and no place is nearer.", Far: seen(f.Mark.Difference.E), Rule: rules[ruleSeen]}
	if isRight, known := f.Mark.Right(); known && !isRight {
		out.What = fmt.Sprintf("You said %s; the target is nearer to %s.", said, scoring.PlaceWords(float64(best)/(exercises.Places-1)))
		out.Far = "The difference from the target: " + draw.LowerFirst(seen(f.Mark.Difference.E))
		out.Rule = rules[ruleEnds]
	}
	return out
}
