package trainer

import (
	"fmt"
	"math"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

func init() {
	registerAsker(exercises.Halfway, screen{
		brief: []string{
			"Three patches: the two outer ones differ in value, in chroma or in hue, and the target in the middle lies between them.",
			"Say where: at one of the ends, a quarter, half or three quarters of the way. What lies in between is not shown; it has to be imagined, as with tabs that come in no half steps.",
		},
		ask:   newHalfway,
		truth: halfwayTruth,
		variants: byAttribute("Halfway", variant{"Halfway: value, chroma and hue in turn", "The attribute changes from trial to trial, and is named.", exercises.Setup{}, nil},
			"the two outer patches differ in it, and nothing else has to be looked at"),
	})
}

// halfwayAsker asks for a place between two ends. Nothing is chosen at first, so
// that no place is easier to answer than another.
type halfwayAsker struct {
	question
	left, right colour.SRGB
	place       int // −1 while nothing is chosen
}

func newHalfway(q question) (asker, error) {
	left, right, ok := exercises.EndsOf(q.trial)
	if !ok {
		return nil, fmt.Errorf("trial %d has no two ends", q.trial.Ordinal+1)
	}
	return &halfwayAsker{question: q, left: left, right: right, place: -1}, nil
}

func (a *halfwayAsker) prompt() string {
	in := ""
	if a.trial.Part != "" {
		in = "In " + a.trial.Part + ": "
	}
	return upperFirst(in + "where between left and right does the target lie?")
}

func (a *halfwayAsker) keys() []keyHelp {
	return []keyHelp{help("← →", "nearer to the left, the right", "right"), help("1 2 3 4 5", "the place", ""),
		help("↵", "answer", "enter")}
}

func (a *halfwayAsker) key(k string) reply {
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
		return reply{answer: &answer}
	default:
		i, ok := digit(k)
		if !ok {
			return noKey
		}
		if i >= exercises.Places {
			return why(fmt.Sprintf("There are %d places.", exercises.Places))
		}
		a.place = i
	}
	return reply{}
}

// pick chooses a place, or takes it when it is chosen already.
func (a *halfwayAsker) pick(i int) reply {
	if i == a.place {
		return a.key("enter")
	}
	a.place = i
	return reply{}
}

// scaleRows is the height of the scale with its labels and a blank row above.
const scaleRows = 5

func (a *halfwayAsker) draw(c *canvas, in rect, covered bool) {
	t := c.tone
	upper, lower := in.bottom(scaleRows)
	drawThree(c, upper, a.setup.Viewing, [3]choice{{a.left, "left"}, {a.trial.Target, "target"}, {a.right, "right"}}, covered)
	s := newScale(c, lower)
	s.draw()
	for i := range exercises.Places {
		on := i == a.place
		ink := t.faint
		if on {
			ink = t.strong
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
func drawThree(c *canvas, in rect, v exercises.Viewing, of [3]choice, covered bool) {
	patches, captions := in.bottom(2)
	w := min((in.w-2*sideMargin-2*v.Gap)/len(of), patches.h*3)
	x := in.x + (in.w-len(of)*w-2*v.Gap)/2
	for _, p := range of {
		shown := p.colour
		if covered {
			shown = cover(v.Surround)
		}
		c.swatch(rect{x, patches.y, w, patches.h}, shown)
		c.write(x+(w-c.width(p.label))/2, captions.y+1, p.label, c.tone.faint, false)
		x += w + v.Gap
	}
}

// scale is a line from the left end to the right one with a tick at every place.
type scale struct {
	*canvas
	in      rect // the row of the line is in.y
	x, step int
}

func newScale(c *canvas, in rect) scale {
	_, in = in.top(1)
	step := min(24, (in.w-2*sideMargin-len("three quarters"))/(exercises.Places-1))
	return scale{c, in, in.x + (in.w-step*(exercises.Places-1))/2, step}
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
		s.write(x, s.in.y, sign, s.tone.faint, false)
	}
}

func (s scale) mark(share float64, sign string, ink colour.SRGB) {
	s.write(s.at(share), s.in.y, sign, ink, true)
}

// label writes under a place.
func (s scale) label(place, row int, text string, ink colour.SRGB, bold bool) {
	s.write(s.x+place*s.step-(s.width(text)-1)/2, s.in.y+row, text, ink, bold)
}

func (s scale) item(place int) {
	s.canvas.item(rect{s.x + place*s.step - s.step/2, s.in.y, s.step, 3}, place)
}

// halfwayTruth shows the answered colour beside the target, the ends outside, and
// both places on the scale.
func halfwayTruth(c *canvas, in rect, f feedback) {
	t := f.attempt.Trial
	left, right, ok := exercises.EndsOf(t)
	if !ok || f.attempt.Answer.Colour == nil {
		return
	}
	upper, lower := in.bottom(scaleRows)
	drawRow(c, upper, []choice{{left, "left"}, {t.Target, "target"}, {*f.attempt.Answer.Colour, "your answer"}, {right, "right"}})
	s := newScale(c, lower)
	s.draw()
	share := exercises.ShareOfWay(left, right, t.Target)
	if math.IsNaN(share) {
		return
	}
	shown := math.Max(0, math.Min(1, share))
	under := func(share float64, row int, text string, ink colour.SRGB, bold bool) {
		x := s.at(share) - c.width(text)/2
		c.write(max(in.x+sideMargin, min(x, in.x+in.w-sideMargin-c.width(text))), s.in.y+row, text, ink, bold)
	}
	s.mark(shown, "●", c.tone.strong)
	under(shown, 1, fmt.Sprintf("target, %.0f %%", 100*shown), c.tone.strong, true)
	if n := f.attempt.Answer.Number; n != nil {
		s.mark(*n, "○", c.tone.strong)
		under(*n, 2, "your answer, "+scoring.PlaceWords(*n), c.tone.faint, false)
	}
}
