package trainer

import (
	"errors"
	"fmt"
	"slices"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

func init() {
	registerAsker(exercises.LineUp, screen{
		brief: []string{
			"A row of patches lies out of order. Put them in order: first rows by value, then by chroma, then by hue.",
			"Take a patch up with the space bar, carry it with the arrows, put it down with the space bar. By mouse: click the patch, then the place where it belongs.",
			"Rows grow from five patches to nine, and the steps from patch to patch become smaller. Within a row only one attribute changes.",
		},
		ask:   newLineUp,
		truth: lineUpTruth,
		variants: byAttribute("Line-up", variant{"Line-up: value, then chroma, then hue", "A third of the rows each, from what is seen most easily to what is hardest.", exercises.Setup{}, nil},
			"every row is put in order of it"),
		trials: 12,
	})
}

// lineUpAsker keeps the row as it lies.
//
//	(at) ──space──> (held) ──← →──> (held, elsewhere) ──space──> (at)
//	  └──enter──> answered      └──backspace──> (at, as before)
type lineUpAsker struct {
	question
	row    []int // numbers of the patches, from the left
	at     int   // place of the mark
	held   bool
	before []int // the row when the patch was taken up …
	from   int   // … and the place where it lay
	moved  bool
}

func newLineUp(q question) (asker, error) {
	if len(q.trial.Patches) < 2 || exercises.RightOrder(q.trial) == nil {
		return nil, errors.New("this trial has no patches to be put in order")
	}
	a := &lineUpAsker{question: q}
	for i := range q.trial.Patches {
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

func (a *lineUpAsker) prompt() string {
	first, last := endWords(a.trial)
	return fmt.Sprintf("Put in order of %s: %s at the left, %s at the right.", a.trial.Part, first, last)
}

func (a *lineUpAsker) keys() []keyHelp {
	if a.held {
		return []keyHelp{help("← →", "carry", "right"), help("Home End", "to the ends", "end"), help("Space", "put down", "down"),
			help("⌫", "put it back", "backspace"), help("1…9", "to that place", "")}
	}
	return []keyHelp{help("← →", "choose", "right"), help("Home End", "first, last", "end"), help("Space", "take up", "up"),
		help("↵", "answer: this is the order", "enter")}
}

func (a *lineUpAsker) key(k string) reply {
	last := len(a.row) - 1
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
		return reply{answer: &exercises.Answer{Order: slices.Clone(a.row)}}
	default:
		i, ok := digit(k)
		if !ok {
			return noKey
		}
		if i > last {
			return why(fmt.Sprintf("There are only %d places.", last+1))
		}
		return a.move(i)
	}
	return reply{}
}

// move takes the mark to a place, and with it the patch that is held: those in
// between close up.
func (a *lineUpAsker) move(to int) reply {
	if a.held {
		patch := a.row[a.at]
		a.row = slices.Insert(slices.Delete(a.row, a.at, a.at+1), to, patch)
	}
	a.at = to
	return reply{}
}

func (a *lineUpAsker) takeUp() {
	a.held, a.before, a.from = true, slices.Clone(a.row), a.at
}

// putDown ends a move; the first that changed something is the first decision.
func (a *lineUpAsker) putDown() reply {
	a.held = false
	first := !a.moved && a.at != a.from
	a.moved = a.moved || first
	return reply{decided: first}
}

func (a *lineUpAsker) pick(i int) reply {
	if !a.held {
		a.at = i
		a.takeUp()
		return why("Taken up: click the place where it belongs, or the patch again to put it down.")
	}
	a.move(i)
	return a.putDown()
}

func (a *lineUpAsker) draw(c *canvas, in rect, covered bool) {
	t := c.tone
	const lift = 2 // rows by which the patch that is held stands higher
	places := rowPlaces(in, len(a.row), a.setup.Viewing.Gap)
	h := min(in.h-lift-4, max(4, places[0].w))
	top := in.y + lift + max(0, (in.h-lift-4-h)/2)
	for i, patch := range a.row {
		r := rect{places[i].x, top, places[i].w, h}
		ink, strong := t.faint, false
		if i == a.at {
			ink, strong = t.strong, true
			bracket(c, r.x, top+h, r.w, ink)
			if a.held {
				r.y -= lift
			}
		}
		shown := a.trial.Patches[patch].Colour
		if covered {
			shown = cover(a.setup.Viewing.Surround)
		}
		c.swatch(r, shown)
		label := fmt.Sprint(i + 1)
		c.write(r.x+(r.w-c.width(label))/2, top+h+1, label, ink, strong)
		c.item(rect{r.x, top - lift, r.w, h + lift + 2}, i)
	}
	left, right := endWords(a.trial)
	end := places[len(places)-1]
	c.write(places[0].x, top+h+2, left, t.plain, false)
	c.write(end.x+end.w-c.width(right), top+h+2, right, t.plain, false)
}

// rowPlaces divides the width among n patches, each as wide as fits up to what
// looks like a patch.
func rowPlaces(in rect, n, gap int) []rect {
	const widest = 18
	in = in.inset(sideMargin)
	gap = min(gap, 4)
	w := max(1, min(widest, (in.w-gap*(n-1))/n))
	x := in.x + (in.w-n*w-(n-1)*gap)/2
	places := make([]rect, n)
	for i := range places {
		places[i] = rect{x + i*(w+gap), in.y, w, in.h}
	}
	return places
}

// lineUpTruth shows the row as it was laid, each patch with the place where it
// belongs, and below it the row in order.
func lineUpTruth(c *canvas, in rect, f feedback) {
	t, laid := f.attempt.Trial, f.attempt.Answer.Order
	right := exercises.RightOrder(t)
	if len(laid) != len(t.Patches) || len(right) != len(laid) {
		return
	}
	upper, lower := in.top(in.h / 2)
	lower.h = upper.h // both rows alike
	first, last := endWords(t)
	for _, row := range []struct {
		in    rect
		order []int
		name  string
	}{{upper, laid, "as you laid it"}, {lower, right, "in order, " + first + " to " + last}} {
		patches, _ := row.in.bottom(3) // a blank row, the numbers, a blank row
		line, patches := patches.top(1)
		if patches.h > 6 { // room for a blank row below the name
			_, patches = patches.top(1)
		}
		places := rowPlaces(patches, len(laid), 0)
		h := max(1, min(patches.h, places[0].w))
		c.write(places[0].x, line.y, row.name, c.tone.plain, false)
		for i, patch := range row.order {
			if patch < 0 || patch >= len(t.Patches) {
				return
			}
			c.swatch(rect{places[i].x, patches.y, places[i].w, h}, t.Patches[patch].Colour)
			place := slices.Index(right, patch)
			label, ink := fmt.Sprint(place+1), c.tone.faint
			if place != i {
				ink = c.tone.strong
			}
			c.write(places[i].x+(places[i].w-c.width(label))/2, patches.y+h+1, label, ink, place != i)
		}
	}
}
