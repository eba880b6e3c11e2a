package ask

import (
	"fmt"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.Lighting, Screen{
		Brief: []string{
			"Two surfaces that match in daylight may part under another lamp.",
		},
		Tasks: map[string]string{
			"":                  "You go through the lamps with one pair and judge it under each.",
			exercises.TaskLamps: "You go through the lamps with one pair and judge it under each.",
			exercises.TaskWhich: "Three pairs match in daylight, and you see them under one other lamp: say which breaks under the lamp that is named.",
		},
		Lesson:   lightingLesson,
		Sides:    lightingSides,
		Ask:      newLighting,
		OwnLight: true,
		Variants: []Variant{
			{"Lighting: a pair under each lamp", "Step through the lamps and judge one pair under each of them.",
				exercises.Setup{Task: exercises.TaskLamps}, nil},
			{"Lighting: which pair will break", "Three pairs that match in daylight: which of them breaks under the lamp named?",
				exercises.Setup{Task: exercises.TaskWhich}, nil},
			{"Lighting: all lamps at once", "To look at: one pair under every lamp, with its ΔE00.", exercises.Setup{}, newLamps},
		},
		Truth: lightingTruth,
		More:  metamerismWords,
	})
}

func newLighting(q Question) (Asker, error) {
	if q.Setup.Task == exercises.TaskWhich {
		return newBreaking(q)
	}
	sample, ok := q.Trial.Patch("sample")
	if !ok {
		return nil, fmt.Errorf("trial %d has no second patch", q.Trial.Ordinal+1)
	}
	lamp := lampNamed(q.Trial.Part)
	return &verbal{
		ask: draw.UpperFirst(lamp) + ": do the two match?",
		words: []word{
			{"m", "1", "m", "they match", exercises.Match},
			{"s", "2", "s", "nearly: it may stay", exercises.Acceptable},
			{"n", "3", "n", "no: it may not stay", exercises.Mismatch},
		},
		paint: q.paintPair(q.Trial.Target, sample),
	}, nil
}

// metamerismWords gives the index of metamerism, which belongs to the pair, and says
// when such a pair is not to be expected every day.
func metamerismWords(f Feedback) (lines []string) {
	for _, m := range f.Mark.Measures {
		if strings.HasPrefix(m.Name, "index") {
			lines = append(lines, MeasureWords(m)+".")
			if f.Attempt.Trial.Rare() {
				lines = append(lines, rareWords)
			}
		}
	}
	return lines
}

// rareWords follow a pair that parts only with reflectances that wind up and down.
const rareWords = "Pairs that part like this one are rarer in the mouth."

// lampNamed is what people call a lamp.
func lampNamed(id string) string {
	if l, err := colour.LightByID(id); err == nil {
		return l.Name
	}
	return id
}

// newBreaking shows three pairs in daylight, where they match, and under one
// lamp as a clue; asked is another.
func newBreaking(q Question) (Asker, error) {
	daylight, err := pairsIn(q.Trial, "pair")
	if err != nil {
		return nil, err
	}
	clue, err := pairsIn(q.Trial, "clue")
	if err != nil {
		return nil, err
	}
	a := &verbal{ask: "Which pair will break under this lamp: " + lampNamed(q.Trial.Part) + "?"}
	for i := range daylight {
		n := strconv.Itoa(i + 1)
		a.words = append(a.words, word{n, "", n, "pair " + n, n})
	}
	a.paint = func(c *draw.Canvas, in draw.Rect, covered bool) {
		in, numbers := in.Bottom(1)
		t := c.Tone
		upper, lower := in.Top(in.H / 2)
		rows := []struct {
			in      draw.Rect
			caption string
			pairs   [][]colour.SRGB
		}{
			{upper, "in daylight", daylight},
			{lower, "under " + lampNamed(exercises.ClueLamp(q.Trial.Part)), clue},
		}
		for _, row := range rows {
			line, patches := row.in.Top(2)
			patches, _ = patches.Bottom(1)
			c.Write(line.X+draw.Margin, line.Y, row.caption, t.Plain, false)
			for i, r := range across(patches, len(row.pairs)) {
				draw.Field(c, r, q.Setup.Viewing, draw.Pair{Left: row.pairs[i][0], Right: row.pairs[i][1]}, covered)
				draw.Two(c, r, q.Setup.Viewing, draw.Pair{})
			}
		}
		for i, r := range across(draw.Box(in.X, in.Y, in.W, in.H+numbers.H), len(daylight)) {
			label := "pair " + strconv.Itoa(i+1)
			c.Write(r.X+(r.W-c.Width(label))/2, numbers.Y, label, t.Plain, false)
			c.Item(r, i)
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
func across(in draw.Rect, n int) []draw.Rect {
	const between = 5
	w := (in.W - 2*draw.Margin - between*(n-1)) / n
	places := make([]draw.Rect, n)
	for i := range places {
		places[i] = draw.Box(in.X+draw.Margin+i*(w+between), in.Y, w, in.H)
	}
	return places
}

// lightingTruth shows the pairs as they are: under the lamp asked, and for one
// pair in daylight beside it.
func lightingTruth(c *draw.Canvas, in draw.Rect, f Feedback) {
	t := f.Attempt.Trial
	q := Question{Trial: t, Setup: f.Setup}
	if t.Key != "" {
		under, err := pairsIn(t, "under")
		if err != nil {
			return
		}
		var captions []string
		for i, p := range under {
			captions = append(captions, fmt.Sprintf("pair %d, ΔE00 %.1f", i+1, colour.DeltaE00(p[0].Lab(), p[1].Lab())))
		}
		line, rest := in.Top(2)
		c.Write(line.X+draw.Margin, line.Y, "under "+lampNamed(t.Part), c.Tone.Plain, false)
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

// lightingLesson says what the lamp made of the pair, or of the pair that breaks.
func lightingLesson(f Feedback) Lesson {
	t, said := f.Attempt.Trial, f.Attempt.Answer.Choice
	lamp := draw.UpperFirst(lampNamed(t.Part))
	if t.Key != "" {
		broken := t.PatchesOf("under-" + t.Key)
		if len(broken) != 2 {
			return Lesson{}
		}
		out := Lesson{What: fmt.Sprintf("%s: pair %s breaks, and you said so.", lamp, t.Key), Rule: rules[ruleSeen]}
		if said != t.Key {
			out.What = fmt.Sprintf("%s: pair %s breaks; you said pair %s.", lamp, t.Key, said)
			out.Rule = rules[ruleLamp]
		}
		out.Far = "The difference in that pair under that lamp: " + draw.LowerFirst(seen(colour.DeltaE00(broken[0].Lab(), broken[1].Lab())))
		return out
	}
	sample, ok := t.Patch("sample")
	if !ok {
		return Lesson{}
	}
	d := colour.Compare(t.Target.Lab(), sample.Lab(), colour.Unit)
	out := Lesson{What: fmt.Sprintf("%s: the two look alike.", lamp), Far: seen(d.E), Rule: rules[ruleSeen]}
	if words := scoring.InWords(d, t.Target.Lab(), sample.Lab()); words != "" {
		out.What = fmt.Sprintf("%s: the second is %s.", lamp, words)
	}
	if s, right, ok := verdictSaid(f.Mark, []string{exercises.Match, exercises.Acceptable, exercises.Mismatch}, said); ok {
		out.Far += " " + draw.UpperFirst(verdictSentence([]string{"they match", "it may stay", "it may not stay"}, right, s))
		switch {
		case s == right:
		case d.E <= scoring.Perceptibility.Value: // there was nothing to look for
			out.Rule = rules[ruleVerdict]
		default:
			out.Rule = rules[largestPart(d.L, d.C, d.H)]
		}
	}
	return out
}

// lightingSides shows the pairs in daylight and under the lamp in turn.
func lightingSides(f Feedback) []Side {
	t := f.Attempt.Trial
	q := Question{Trial: t, Setup: f.Setup}
	side := func(label string, pairs [][]colour.SRGB) Side {
		return Side{label, func(c *draw.Canvas, in draw.Rect) { q.paintPairs(pairs, nil)(c, in, false) }}
	}
	if t.Key != "" {
		daylight, err := pairsIn(t, "pair")
		under, failed := pairsIn(t, "under")
		if err != nil || failed != nil {
			return nil
		}
		return []Side{side("in daylight", daylight), side("under "+lampNamed(t.Part), under)}
	}
	daylight := t.PatchesOf("daylight")
	sample, ok := t.Patch("sample")
	if !ok || len(daylight) != 2 || t.Part == colour.D65().ID {
		return nil
	}
	return []Side{side("in daylight", [][]colour.SRGB{daylight}), side("under "+lampNamed(t.Part), [][]colour.SRGB{{t.Target, sample}})}
}
