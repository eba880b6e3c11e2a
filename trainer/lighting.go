package trainer

import (
	"fmt"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
)

func init() {
	registerAsker(exercises.Lighting, screen{
		brief: []string{
			"Two surfaces that match in daylight may part under another lamp.",
			"You either go through the lamps with one pair and judge it under each, or say beforehand which of three pairs will break.",
		},
		ask:      newLighting,
		ownLight: true,
		variants: []variant{
			{"Lighting: a pair under each lamp", "Step through the lamps and judge one pair under each of them.",
				exercises.Setup{Task: exercises.TaskLamps}, nil},
			{"Lighting: which pair will break", "Three pairs that match in daylight: which of them breaks under the lamp named?",
				exercises.Setup{Task: exercises.TaskWhich}, nil},
			{"Lighting: all lamps at once", "To look at: one pair under every lamp, with its ΔE00.", exercises.Setup{}, newLamps},
		},
		truth: lightingTruth,
		more:  metamerismWords,
	})
}

func newLighting(q question) (asker, error) {
	if q.setup.Task == exercises.TaskWhich {
		return newBreaking(q)
	}
	sample, ok := q.trial.Patch("sample")
	if !ok {
		return nil, fmt.Errorf("trial %d has no second patch", q.trial.Ordinal+1)
	}
	lamp := lampNamed(q.trial.Part)
	return &verbal{
		ask: "Under " + lamp + ": do the two match?",
		words: []word{
			{"m", "1", "m", "they match", exercises.Match},
			{"s", "2", "s", "it may stay", exercises.Acceptable},
			{"n", "3", "n", "it may not", exercises.Mismatch},
		},
		paint: q.paintPair(q.trial.Target, sample),
	}, nil
}

// metamerismWords gives the index of metamerism, which belongs to the pair.
func metamerismWords(f feedback) []string {
	for _, m := range f.mark.Measures {
		if strings.HasPrefix(m.Name, "index") {
			return []string{measureWords(m) + "."}
		}
	}
	return nil
}

// lampNamed is what people call a lamp.
func lampNamed(id string) string {
	if l, err := colour.LightByID(id); err == nil {
		return l.Name
	}
	return id
}

// newBreaking shows three pairs in daylight, where they match, and under one
// lamp as a clue; asked is another.
func newBreaking(q question) (asker, error) {
	daylight, err := pairsIn(q.trial, "pair")
	if err != nil {
		return nil, err
	}
	clue, err := pairsIn(q.trial, "clue")
	if err != nil {
		return nil, err
	}
	a := &verbal{ask: "Which pair will break under " + lampNamed(q.trial.Part) + "?"}
	for i := range daylight {
		n := strconv.Itoa(i + 1)
		a.words = append(a.words, word{n, "", n, "pair " + n, n})
	}
	a.paint = func(c *canvas, in rect, covered bool) {
		in, numbers := in.bottom(1)
		t := c.tone
		upper, lower := in.top(in.h / 2)
		rows := []struct {
			in      rect
			caption string
			pairs   [][]colour.SRGB
		}{
			{upper, "in daylight", daylight},
			{lower, "under " + lampNamed(exercises.ClueLamp(q.trial.Part)), clue},
		}
		for _, row := range rows {
			line, patches := row.in.top(2)
			patches, _ = patches.bottom(1)
			c.write(line.x+sideMargin, line.y, row.caption, t.plain, false)
			for i, r := range across(patches, len(row.pairs)) {
				drawField(c, r, q.setup.Viewing, fieldOf{left: row.pairs[i][0], right: row.pairs[i][1]}, covered)
			}
		}
		for i, r := range across(rect{in.x, in.y, in.w, in.h + numbers.h}, len(daylight)) {
			label := "pair " + strconv.Itoa(i+1)
			c.write(r.x+(r.w-c.width(label))/2, numbers.y, label, t.plain, false)
			c.item(r, i)
		}
	}
	return a, nil
}

// pairsIn finds the pairs "name-1", "name-2" … of a trial.
func pairsIn(t exercises.Trial, name string) ([][]colour.SRGB, error) {
	var pairs [][]colour.SRGB
	for i := 1; ; i++ {
		p := t.PatchesOf(fmt.Sprintf("%s-%d", name, i))
		if len(p) == 0 && i > 1 {
			return pairs, nil
		}
		if len(p) != 2 {
			return nil, fmt.Errorf("trial %d has no pair %s-%d", t.Ordinal+1, name, i)
		}
		pairs = append(pairs, p)
	}
}

// across divides a rectangle into n places beside each other.
func across(in rect, n int) []rect {
	const between = 5
	w := (in.w - 2*sideMargin - between*(n-1)) / n
	places := make([]rect, n)
	for i := range places {
		places[i] = rect{in.x + sideMargin + i*(w+between), in.y, w, in.h}
	}
	return places
}

// lightingTruth shows the pairs as they are: under the lamp asked, and for one
// pair in daylight beside it.
func lightingTruth(c *canvas, in rect, f feedback) {
	t := f.attempt.Trial
	q := question{trial: t, setup: f.setup}
	if t.Key != "" {
		under, err := pairsIn(t, "under")
		if err != nil {
			return
		}
		var captions []string
		for i, p := range under {
			captions = append(captions, fmt.Sprintf("pair %d, ΔE00 %.1f", i+1, colour.DeltaE00(p[0].Lab(), p[1].Lab())))
		}
		line, rest := in.top(2)
		c.write(line.x+sideMargin, line.y, "under "+lampNamed(t.Part), c.tone.plain, false)
		q.paintPairs(under, captions)(c, rest, false)
		return
	}
	daylight := t.PatchesOf("daylight")
	sample, ok := t.Patch("sample")
	if !ok || len(daylight) != 2 {
		return
	}
	under := []colour.SRGB{t.Target, sample}
	if t.Part == colour.D65().ID {
		q.paintPairs([][]colour.SRGB{under}, []string{"in daylight"})(c, in, false)
		return
	}
	q.paintPairs([][]colour.SRGB{daylight, under}, []string{"in daylight", "under " + lampNamed(t.Part)})(c, in, false)
}
