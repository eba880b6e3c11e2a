package trainer

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/exercises"
)

// verbal is an asker for questions that are answered with one of a few words:
// it needs a question, the words with their keys, and how the picture is
// painted.
type verbal struct {
	ask   string
	words []word
	// paint paints the picture. Where it makes items clickable, item i is
	// words[i].
	paint func(c *canvas, in rect, covered bool)
}

// word is one possible answer. also is a second key for it, a digit as a rule.
type word struct{ key, also, show, does, choice string }

func (a *verbal) prompt() string { return a.ask }

func (a *verbal) draw(c *canvas, in rect, covered bool) { a.paint(c, in, covered) }

func (a *verbal) keys() []keyHelp {
	var keys []keyHelp
	for _, w := range a.words {
		keys = append(keys, help(w.show, w.does, w.key))
	}
	return keys
}

func (a *verbal) key(k string) reply {
	for _, w := range a.words {
		if k == w.key || k == w.also {
			return reply{answer: &exercises.Answer{Choice: w.choice}}
		}
	}
	if k == "enter" {
		return why("Answer with one of the keys below.")
	}
	return noKey
}

func (a *verbal) pick(i int) reply { return a.key(a.words[i].key) }

// paintPair paints one field without captions.
func (q question) paintPair(left, right colour.SRGB) func(*canvas, rect, bool) {
	return func(c *canvas, in rect, covered bool) {
		in, _ = in.bottom(1)
		drawField(c, in, q.setup.Viewing, fieldOf{left: left, right: right}, covered)
	}
}

// paintPairs paints several fields beside each other, each an item, with a
// caption below where there is one.
func (q question) paintPairs(pairs [][]colour.SRGB, captions []string) func(*canvas, rect, bool) {
	return func(c *canvas, in rect, covered bool) {
		in, _ = in.bottom(1)
		t := c.tone
		between := 8
		if len(pairs) > 2 {
			between = 5
		}
		fields := in
		if captions != nil {
			fields, _ = in.bottom(2)
		}
		w := (in.w - 2*sideMargin - between*(len(pairs)-1)) / len(pairs)
		for i, p := range pairs {
			r := rect{in.x + sideMargin + i*(w+between), fields.y, w, fields.h}
			drawField(c, r, q.setup.Viewing, fieldOf{left: p[0], right: p[1]}, covered)
			if captions != nil {
				c.write(r.x+(w-c.width(captions[i]))/2, r.y+r.h+1, captions[i], t.plain, false)
			}
			c.item(rect{r.x, in.y, w, in.h}, i)
		}
	}
}

// pairIn is the two patches of a role.
func pairIn(t exercises.Trial, role string) ([]colour.SRGB, error) {
	p := t.PatchesOf(role)
	if len(p) != 2 {
		return nil, fmt.Errorf("trial %d has no pair %q", t.Ordinal+1, role)
	}
	return p, nil
}
