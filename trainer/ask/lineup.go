package ask

import (
	"errors"
	"fmt"
	"slices"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.LineUp, Screen{
		Brief: []string{
			"A row of patches lies out of order. Put it in order of value, of chroma or of hue: the line above the row says of which.",
			"Take a patch up with the space bar, carry it with the arrows, put it down with the space bar. By mouse: click the patch, then the place where it belongs.",
			"Within a row only that attribute changes. The longer the row and the smaller the steps, the harder it is.",
		},
		Lesson: lineUpLesson,
		Sides:  lineUpSides,
		Ask:    newLineUp,
		Truth:  lineUpTruth,
		Variants: byAttribute("Line-up", Variant{"Line-up: value, then chroma, then hue", "A third of the rows each, from what is seen most easily to what is hardest.", exercises.Setup{}, nil},
			"every row is put in order of it"),
		Trials: 12,
	})
}

// lineUpAsker keeps the row as it lies.
//
//	(at) ──space──> (held) ──← →──> (held, elsewhere) ──space──> (at)
//	  └──enter──> answered      └──backspace──> (at, as before)
type lineUpAsker struct {
	Question
	row    []int // numbers of the patches, from the left
	at     int   // place of the mark
	held   bool
	before []int // the row when the patch was taken up …
	from   int   // … and the place where it lay
	moved  bool
	sure   bool // was told that nothing was moved
}

func newLineUp(q Question) (Asker, error) {
	if len(q.Trial.Patches) < 2 || exercises.RightOrder(q.Trial) == nil {
		return nil, errors.New("this trial has no patches to be put in order")
	}
	a := &lineUpAsker{Question: q}
	for i := range q.Trial.Patches {
		a.row = append(a.row, i)
	}
	return a, nil
}

// endWords name the two ends of a row.
func endWords(t exercises.Trial) (first, last string) {
	switch t.Part {
	case exercises.AttributeValue:
		return "lightest", "darkest"
	case exercises.AttributeChroma:
		return "least chroma", "most chroma"
	}
	middle := t.Target.Lab()
	if larger, _ := scoring.HueWords(middle, middle); larger == "yellower" {
		return "reddest", "yellowest"
	}
	return "smallest hue angle", "largest hue angle"
}

func (a *lineUpAsker) Prompt() string {
	first, last := endWords(a.Trial)
	return fmt.Sprintf("Put in order of %s: %s at the left, %s at the right.", a.Trial.Part, first, last)
}

func (a *lineUpAsker) Keys() []draw.KeyHelp {
	if a.held {
		return []draw.KeyHelp{draw.Help("← →", "carry", "right"), draw.Help("Home End", "to the ends", "end"), draw.Help("Space", "put down", "down"),
			draw.Help("⌫", "put it back", "backspace"), draw.Help("1…9", "to that place", "")}
	}
	return []draw.KeyHelp{draw.Help("← →", "choose", "right"), draw.Help("Home End", "first, last", "end"), draw.Help("Space", "take up", "up"),
		draw.Help("↵", "answer: this is the order", "enter")}
}

func (a *lineUpAsker) Key(k string) Reply {
	last := len(a.row) - 1
	sure := a.sure
	a.sure = false // only Enter at once again is meant so
	switch k {
	case "left":
		if a.at == 0 {
			return why("This is the first place.")
		}
		return a.move(a.at - 1)
	case "right":
		if a.at == last {
			return why("This is the last place.")
		}
		return a.move(a.at + 1)
	case "home":
		return a.move(0)
	case "end":
		return a.move(last)
	case "space":
		if a.held {
			return a.putDown()
		}
		a.takeUp()
	case "up":
		if a.held {
			return why("The patch is taken up. Carry it with ← →, put it down with the space bar.")
		}
		a.takeUp()
	case "down":
		if !a.held {
			return why("No patch is taken up.")
		}
		return a.putDown()
	case "backspace":
		if !a.held {
			return why("No patch is taken up that could be put back.")
		}
		a.row, a.at, a.held = a.before, a.from, false
	case "enter":
		if a.held {
			return why("First put the patch down with the space bar.")
		}
		// The row is laid out of order: Enter was meant for taking a patch up.
		if !a.moved && !sure {
			a.sure = true
			return why("Nothing was moved yet. The space bar takes a patch up; Enter again answers.")
		}
		return Reply{Answer: &exercises.Answer{Order: slices.Clone(a.row)}}
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return noKey
		}
		if i > last {
			return why(fmt.Sprintf("There are only %d places.", last+1))
		}
		return a.move(i)
	}
	return Reply{}
}

// move takes the mark to a place, and with it the patch that is held: those in
// between close up.
func (a *lineUpAsker) move(to int) Reply {
	if a.held {
		patch := a.row[a.at]
		a.row = slices.Insert(slices.Delete(a.row, a.at, a.at+1), to, patch)
	}
	a.at = to
	return Reply{}
}

func (a *lineUpAsker) takeUp() {
	a.held, a.before, a.from = true, slices.Clone(a.row), a.at
}

// putDown ends a move; the first that changed something is the first decision.
func (a *lineUpAsker) putDown() Reply {
	a.held = false
	first := !a.moved && a.at != a.from
	a.moved = a.moved || first
	return Reply{Decided: first}
}

func (a *lineUpAsker) Pick(i int) Reply {
	if !a.held {
		a.at = i
		a.takeUp()
		return why("Taken up: click the place where it belongs, or the patch again to put it down.")
	}
	a.move(i)
	return a.putDown()
}

func (a *lineUpAsker) Draw(c *draw.Canvas, in draw.Rect, covered bool) {
	t := c.Tone
	const lift = 2 // rows by which the patch that is held stands higher
	places := rowPlaces(in, len(a.row), a.Setup.Viewing.Gap)
	h := min(in.H-lift-4, max(4, places[0].W))
	top := in.Y + lift + max(0, (in.H-lift-4-h)/2)
	for i, patch := range a.row {
		r := draw.Box(places[i].X, top, places[i].W, h)
		ink, strong := t.Faint, false
		if i == a.at {
			ink, strong = t.Strong, true
			draw.Bracket(c, r.X, top+h, r.W, ink)
			if a.held {
				r.Y -= lift
			}
		}
		shown := a.Trial.Patches[patch].Colour
		if covered {
			shown = draw.Cover(a.Setup.Viewing.Surround)
		}
		c.Swatch(r, shown)
		label := fmt.Sprint(i + 1)
		c.Write(r.X+(r.W-c.Width(label))/2, top+h+1, label, ink, strong)
		c.Item(draw.Box(r.X, top-lift, r.W, h+lift+2), i)
	}
	left, right := endWords(a.Trial)
	end := places[len(places)-1]
	c.Write(places[0].X, top+h+2, left, t.Plain, false)
	c.Write(end.X+end.W-c.Width(right), top+h+2, right, t.Plain, false)
}

// rowPlaces divides the width among n patches, each as wide as fits up to what
// looks like a patch.
func rowPlaces(in draw.Rect, n, gap int) []draw.Rect {
	const widest = 18
	in = in.Inset(draw.Margin)
	gap = min(gap, 4)
	w := max(1, min(widest, (in.W-gap*(n-1))/n))
	x := in.X + (in.W-n*w-(n-1)*gap)/2
	places := make([]draw.Rect, n)
	for i := range places {
		places[i] = draw.Box(x+i*(w+gap), in.Y, w, in.H)
	}
	return places
}

// lineUpTruth shows the row as it was laid, each patch with the place where it
// belongs, and below it the row in order.
func lineUpTruth(c *draw.Canvas, in draw.Rect, f Feedback) {
	t, laid := f.Attempt.Trial, f.Attempt.Answer.Order
	right := exercises.RightOrder(t)
	if len(laid) != len(t.Patches) || len(right) != len(laid) {
		return
	}
	upper, lower := in.Top(in.H / 2)
	lower.H = upper.H // both rows alike
	first, last := endWords(t)
	for _, row := range []struct {
		in    draw.Rect
		order []int
		name  string
	}{{upper, laid, "as you laid it"}, {lower, right, "in order, " + first + " to " + last}} {
		patches, _ := row.in.Bottom(3) // a blank row, the numbers, a blank row
		line, patches := patches.Top(1)
		if patches.H > 6 { // room for a blank row below the name
			_, patches = patches.Top(1)
		}
		places := rowPlaces(patches, len(laid), 0)
		h := max(1, min(patches.H, places[0].W))
		c.Write(places[0].X, line.Y, row.name, c.Tone.Plain, false)
		for i, patch := range row.order {
			if patch < 0 || patch >= len(t.Patches) {
				return
			}
			c.Swatch(draw.Box(places[i].X, patches.Y, places[i].W, h), t.Patches[patch].Colour)
			place := slices.Index(right, patch)
			label, ink := fmt.Sprint(place+1), c.Tone.Faint
			if place != i {
				ink = c.Tone.Strong
			}
			c.Write(places[i].X+(places[i].W-c.Width(label))/2, patches.Y+h+1, label, ink, place != i)
		}
	}
}

// lineUpLesson says how many patches lie out of place, and how much that shows.
func lineUpLesson(f Feedback) Lesson {
	t, laid := f.Attempt.Trial, f.Attempt.Answer.Order
	right := exercises.RightOrder(t)
	if len(laid) != len(right) || len(right) != len(t.Patches) {
		return Lesson{}
	}
	wrong, largest := 0, 0.0
	var places []string
	for i, patch := range laid {
		at := slices.Index(right, patch)
		if at < 0 {
			return Lesson{}
		}
		if at != i {
			wrong++
			places = append(places, fmt.Sprint(i+1))
		}
		for _, later := range laid[i+1:] {
			if slices.Index(right, later) < at {
				largest = max(largest, colour.DeltaE00(t.Patches[patch].Colour.Lab(), t.Patches[later].Colour.Lab()))
			}
		}
	}
	if wrong == 0 {
		return Lesson{fmt.Sprintf("All %d patches lie in order of %s.", len(laid), t.Part), "There is nothing to mend.", rules[ruleSeen]}
	}
	out := Lesson{Rule: rules[t.Part]}
	out.What = fmt.Sprintf("%d of %d patches lie out of place: those at %s.", wrong, len(laid), list(places))
	switch {
	case wrong == len(laid):
		out.What = fmt.Sprintf("None of the %d patches lies in its place.", len(laid))
	case wrong == 2:
		out.What = "Two patches are exchanged: those at " + list(places) + "."
	}
	if slices.Equal(laid, reversed(right)) {
		out.What = "The row lies the other way round, from end to end."
	}
	out.Far = "The largest difference in the wrong order: " + draw.LowerFirst(seen(largest))
	return out
}

func reversed(of []int) []int {
	r := slices.Clone(of)
	slices.Reverse(r)
	return r
}

// lineUpSides shows the row as it was laid and in order at the same place.
func lineUpSides(f Feedback) []Side {
	t, laid := f.Attempt.Trial, f.Attempt.Answer.Order
	right := exercises.RightOrder(t)
	if len(laid) != len(right) || len(right) != len(t.Patches) {
		return nil
	}
	row := func(label string, order []int) Side {
		return Side{label, func(c *draw.Canvas, in draw.Rect) {
			places := rowPlaces(in, len(order), 0)
			h := max(1, min(in.H, places[0].W))
			for i, patch := range order {
				if patch >= 0 && patch < len(t.Patches) {
					c.Swatch(draw.Box(places[i].X, in.Y+(in.H-h)/2, places[i].W, h), t.Patches[patch].Colour)
				}
			}
		}}
	}
	return []Side{row("as you laid it", laid), row("in order", right)}
}
