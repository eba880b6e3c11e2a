package ask

import (
	"fmt"
	"slices"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/trainer/draw"
)

func init() {
	both := map[string]string{exercises.OptionNeighbours: exercises.NeighboursBoth}
	register(exercises.Thirds, Screen{
		Brief: []string{
			"A tooth is not of one colour. Give a tab for each third: the neck (cervical) first, then the middle, then the edge (incisal).",
			"Each is taken as in value first: the value group, then chroma and hue. The third asked is named and marked beside the tooth.",
		},
		Lesson: thirdsLesson,
		Ask:    newThirds,
		Part:   thirdName,
		Variants: []Variant{
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
func newThirds(q Question) (Asker, error) {
	v, err := newSheetAsker(q)
	if err != nil {
		return nil, err
	}
	name, third := cutThird(q.Trial.Part)
	v.lead = draw.UpperFirst(thirdName(q.Trial))
	v.noRows = "Not here: as a flat patch the third would be another question."
	scene := toothScene{Question: q, asked: name, third: third}
	for _, tooth := range []string{exercises.LeftTooth, "", exercises.RightTooth} {
		cervical, middle, incisal, ok := exercises.ToothOf(q.Trial, tooth)
		if ok {
			scene.teeth = append(scene.teeth, shownTooth{tooth, draw.Tooth{Cervical: cervical, Middle: middle, Incisal: incisal}})
		} else if tooth == "" {
			return nil, fmt.Errorf("trial %d has no tooth", q.Trial.Ordinal+1)
		}
	}
	v.field = scene.draw
	return v, nil
}

type shownTooth struct {
	name   string
	colour draw.Tooth
}

// toothScene paints the teeth, and the candidate beside the third that is asked about.
type toothScene struct {
	Question
	teeth        []shownTooth
	asked, third string
}

func (s toothScene) draw(c *draw.Canvas, in draw.Rect, candidate colour.SRGB, covered bool) {
	t, ground := c.Tone, s.Setup.Viewing.Surround
	given := s.given()
	const captions = 15   // columns at the left, for the names of the thirds
	const leastPatch = 12 // columns of the candidate
	rows, names := in.H, 0
	if len(s.teeth) > 1 {
		names = 2 // rows for the names of the teeth
	}
	room := (in.W - captions - leastPatch - s.gap() - 2*draw.Margin) / len(s.teeth)
	rows = min(rows-names, draw.ToothRows(room-1))
	w := draw.ToothWidth(rows)
	patch := max(leastPatch, min(rows*3, in.W-captions-len(s.teeth)*(w+1)-s.gap()-2*draw.Margin))
	total := captions + len(s.teeth)*(w+1) + s.gap() + patch
	x := in.X + max(draw.Margin, (in.W-total)/2)
	for i, third := range []string{exercises.Cervical, exercises.Middle, exercises.Incisal} {
		y := in.Y + (2*i+1)*rows/6
		ink, mark := t.Faint, "  "
		if third == s.third {
			ink, mark = t.Strong, "▸ "
		}
		c.Write(x, y, mark+third, ink, third == s.third)
		if tab := given[third]; tab != "" && rows >= 9 {
			c.Write(x, y+1, "  "+c.Clip(tab, captions-4), t.Faint, false)
		}
	}
	x += captions
	if covered {
		candidate = draw.Cover(ground)
	}
	for _, shown := range s.teeth {
		look := shown.colour
		if covered {
			grey := draw.Cover(ground)
			look = draw.Tooth{Cervical: grey, Middle: grey, Incisal: grey}
		}
		box, asked := draw.Box(x, in.Y, w, rows), shown.name == s.asked
		third := slices.Index([]string{exercises.Cervical, exercises.Middle, exercises.Incisal}, s.third)
		switch gap := s.Setup.Viewing.Gap; {
		case asked && gap == 0:
			look.DrawBeside(c, box, ground, third, candidate, patch)
		case asked:
			look.Draw(c, box, ground)
			c.Swatch(draw.Box(x+w+gap, in.Y+rows*third/3, patch, rows*(third+1)/3-rows*third/3), candidate)
		default:
			look.Draw(c, box, ground)
		}
		if len(s.teeth) > 1 {
			label := strings.Fields(toothNames[shown.name])[0]
			ink := t.Faint
			if shown.name == s.asked {
				ink = t.Strong
			}
			c.Write(x+(w-c.Width(label))/2, in.Y+rows+1, label, ink, shown.name == s.asked)
		}
		if asked {
			x += s.Setup.Viewing.Gap + patch
			if len(s.teeth) > 1 {
				c.Write(x-patch+(patch-9)/2, in.Y+rows+1, "candidate", t.Faint, false)
			}
		}
		x += w + 1
	}
}

func (s toothScene) gap() int { return max(1, s.Setup.Viewing.Gap) }

// given are the tabs already named for the thirds of the tooth asked.
func (s toothScene) given() map[string]string {
	tabs := map[string]string{}
	for _, a := range s.Earlier {
		for _, third := range []string{exercises.Cervical, exercises.Middle, exercises.Incisal} {
			if a.Trial.Part == exercises.ThirdsPart(s.asked, third) {
				tabs[third] = a.Answer.Tab
			}
		}
	}
	return tabs
}

// thirdsLesson is that of a tab, and after the last third how the tooth as a whole runs.
func thirdsLesson(f Feedback) Lesson {
	if !f.Mark.HasColour {
		return Lesson{}
	}
	out := colourLesson(f)
	for _, c := range f.Mark.Checks {
		if !c.Right {
			attribute := strings.TrimPrefix(c.Name, "gradient of ")
			out.Far += fmt.Sprintf(" In %s your three do not change from neck to edge as the tooth does.", attribute)
			out.Rule = rules[ruleGradient]
			return out
		}
	}
	if len(f.Mark.Checks) > 0 {
		out.Far += " From neck to edge your three change as the tooth does."
	}
	return out
}
