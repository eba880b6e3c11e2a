package ask

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/trainer/draw"
)

// verbal is an asker for questions that are answered with one of a few words:
// it needs a question, the words with their keys, and how the picture is
// painted.
type verbal struct {
	ask   string
	words []word
	// paint paints the picture. Where it makes items clickable, item i is
	// words[i].
	paint func(c *draw.Canvas, in draw.Rect, covered bool)
}

// word is one possible answer. also is a second key for it, a digit as a rule.
type word struct{ key, also, show, does, choice string }

func (a *verbal) Prompt() string { return a.ask }

func (a *verbal) Draw(c *draw.Canvas, in draw.Rect, covered bool) { a.paint(c, in, covered) }

func (a *verbal) Keys() []draw.KeyHelp {
	var keys []draw.KeyHelp
	for _, w := range a.words {
		keys = append(keys, draw.Help(w.show, w.does, w.key))
	}
	return keys
}

func (a *verbal) Key(k string) Reply {
	for _, w := range a.words {
		if k == w.key || k == w.also {
			return Reply{Answer: &exercises.Answer{Choice: w.choice}}
		}
	}
	if k == "enter" {
		return why("Answer with one of the keys below.")
	}
	return noKey
}

func (a *verbal) Pick(i int) Reply { return a.Key(a.words[i].key) }

// paintPair paints one field without captions.
func (q Question) paintPair(left, right colour.SRGB) func(*draw.Canvas, draw.Rect, bool) {
	return func(c *draw.Canvas, in draw.Rect, covered bool) {
		in, _ = in.Bottom(2)
		draw.Field(c, in, q.Setup.Viewing, draw.Pair{Left: left, Right: right}, covered)
		draw.Two(c, in, q.Setup.Viewing, draw.Pair{})
	}
}

// paintPairs paints several fields beside each other, each an item, with a
// caption below where there is one.
func (q Question) paintPairs(pairs [][]colour.SRGB, captions []string) func(*draw.Canvas, draw.Rect, bool) {
	return func(c *draw.Canvas, in draw.Rect, covered bool) {
		in, _ = in.Bottom(2)
		t := c.Tone
		between := 8
		if len(pairs) > 2 {
			between = 5
		}
		fields := in
		if captions != nil {
			fields, _ = in.Bottom(3)
		}
		w := (in.W - 2*draw.Margin - between*(len(pairs)-1)) / len(pairs)
		for i, p := range pairs {
			r := draw.Box(in.X+draw.Margin+i*(w+between), fields.Y, w, fields.H)
			draw.Field(c, r, q.Setup.Viewing, draw.Pair{Left: p[0], Right: p[1]}, covered)
			draw.Two(c, r, q.Setup.Viewing, draw.Pair{})
			if captions != nil {
				c.Write(r.X+(w-c.Width(captions[i]))/2, r.Y+r.H+2, captions[i], t.Plain, false)
			}
			c.Item(draw.Box(r.X, in.Y, w, in.H), i)
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
