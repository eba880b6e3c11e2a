package trainer

import (
	"fmt"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
)

func init() {
	both := map[string]string{exercises.OptionNeighbours: exercises.NeighboursBoth}
	registerAsker(exercises.Thirds, screen{
		brief: []string{
			"A tooth is not of one colour. Give a tab for each third: the neck (cervical) first, then the middle, then the edge (incisal).",
			"Each is taken as in value first: the value group, then chroma and hue. The third asked is named and marked beside the tooth.",
		},
		ask:  newThirds,
		part: thirdName,
		variants: []variant{
			{"Thirds", "One tooth, three shades: cervical, middle and incisal third.", exercises.Setup{}, nil},
			{"Thirds with both neighbours", "The tooth and the two beside it: a crown is matched to both.", exercises.Setup{Options: both}, nil},
		},
	})
}

// toothNames are what people call the teeth of a scene.
var toothNames = map[string]string{"": "tooth", exercises.LeftTooth: "left neighbour", exercises.RightTooth: "right neighbour"}

// cutThird takes the part of a trial apart into tooth and third.
func cutThird(part string) (tooth, third string) {
	if tooth, third, found := strings.Cut(part, " "); found {
		return tooth, third
	}
	return "", part
}

// thirdName is what a trial asks: "cervical third, left neighbour".
func thirdName(t exercises.Trial) string {
	tooth, third := cutThird(t.Part)
	if tooth == "" {
		return third + " third"
	}
	return third + " third, " + toothNames[tooth]
}

// newThirds asks for a tab as value first does; the target is part of a tooth.
func newThirds(q question) (asker, error) {
	v, err := newSheetAsker(q)
	if err != nil {
		return nil, err
	}
	name, third := cutThird(q.trial.Part)
	v.lead = upperFirst(thirdName(q.trial))
	v.noRows = "Not here: as a flat patch the third would be another question."
	scene := toothScene{question: q, asked: name, third: third}
	for _, tooth := range []string{exercises.LeftTooth, "", exercises.RightTooth} {
		cervical, middle, incisal, ok := exercises.ToothOf(q.trial, tooth)
		if ok {
			scene.teeth = append(scene.teeth, shownTooth{tooth, tooth3(cervical, middle, incisal)})
		} else if tooth == "" {
			return nil, fmt.Errorf("trial %d has no tooth", q.trial.Ordinal+1)
		}
	}
	v.field = scene.draw
	return v, nil
}

func tooth3(cervical, middle, incisal colour.SRGB) tooth { return tooth{cervical, middle, incisal} }

type shownTooth struct {
	name   string
	colour tooth
}

// toothScene paints the teeth with the candidate beside them.
type toothScene struct {
	question
	teeth        []shownTooth
	asked, third string
}

func (s toothScene) draw(c *canvas, in rect, candidate colour.SRGB, covered bool) {
	t, ground := c.tone, s.setup.Viewing.Surround
	given := s.given()
	const captions = 15   // columns at the left, for the names of the thirds
	const leastPatch = 12 // columns of the candidate
	rows, names := in.h, 0
	if len(s.teeth) > 1 {
		names = 2 // rows for the names of the teeth
	}
	room := (in.w - captions - leastPatch - s.gap() - 2*sideMargin) / len(s.teeth)
	rows = min(rows-names, toothRows(room-1))
	w := toothWidth(rows)
	patch := max(leastPatch, min(rows*3, in.w-captions-len(s.teeth)*(w+1)-s.gap()-2*sideMargin))
	total := captions + len(s.teeth)*(w+1) + s.gap() + patch
	x := in.x + max(sideMargin, (in.w-total)/2)
	for i, third := range []string{exercises.Cervical, exercises.Middle, exercises.Incisal} {
		y := in.y + (2*i+1)*rows/6
		ink, mark := t.faint, "  "
		if third == s.third {
			ink, mark = t.strong, "▸ "
		}
		c.write(x, y, mark+third, ink, third == s.third)
		if tab := given[third]; tab != "" && rows >= 9 {
			c.write(x, y+1, "  "+c.clip(tab, captions-4), t.faint, false)
		}
	}
	x += captions
	for _, shown := range s.teeth {
		look := shown.colour
		if covered {
			grey := cover(ground)
			look = tooth3(grey, grey, grey)
		}
		drawTooth(c, rect{x, in.y, w, rows}, look, ground)
		if len(s.teeth) > 1 {
			label := strings.Fields(toothNames[shown.name])[0]
			ink := t.faint
			if shown.name == s.asked {
				ink = t.strong
			}
			c.write(x+(w-c.width(label))/2, in.y+rows+1, label, ink, shown.name == s.asked)
		}
		x += w + 1
	}
	x += s.gap()
	if covered {
		candidate = cover(ground)
	}
	c.swatch(rect{x, in.y, patch, rows}, candidate)
	if len(s.teeth) > 1 {
		c.write(x+(patch-9)/2, in.y+rows+1, "candidate", t.faint, false)
	}
}

func (s toothScene) gap() int { return max(1, s.setup.Viewing.Gap) }

// given are the tabs already named for the thirds of the tooth asked.
func (s toothScene) given() map[string]string {
	tabs := map[string]string{}
	for _, a := range s.earlier {
		for _, third := range []string{exercises.Cervical, exercises.Middle, exercises.Incisal} {
			if a.Trial.Part == exercises.ThirdsPart(s.asked, third) {
				tabs[third] = a.Answer.Tab
			}
		}
	}
	return tabs
}
