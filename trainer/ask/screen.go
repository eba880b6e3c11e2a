package ask

import (
	"fmt"
	"slices"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// Screen is how a kind of exercise looks.
type Screen struct {
	// Brief tells a newcomer what will happen, a line each.
	Brief []string
	// Tasks say what is asked, of kinds whose tasks differ; see [Screen.Briefing].
	Tasks map[string]string
	// Notes are further lines for the help, such as figures with their sources.
	Notes func() []string
	Ask   func(Question) (Asker, error)
	// Part names what of a scene a trial asks, for the title of its feedback.
	Part func(exercises.Trial) string
	// Worked makes a trial into one that is gone through with words: the trial to show and
	// the steps; nil where the exercise explains itself.
	Worked func(exercises.Trial, exercises.Setup) (exercises.Trial, []Worked)
	// Lesson says in three sentences what an answer teaches; nil where the answer is a
	// colour and nothing else has to be said.
	Lesson func(Feedback) Lesson
	// Sides are what the feedback shows in turn at one place; nil for target and answer.
	Sides func(Feedback) []Side
	// More adds lines to the feedback.
	More func(Feedback) []string
	// Words, when not nil, takes the place of what the feedback says of checks and
	// measures; summary that of a drill's summary.
	Words   func(Feedback) []draw.Line
	Summary func(exercises.Setup, []Result) []draw.Line
	// Units is what the trials are called, one and many, where not trial and trials.
	Units [2]string
	// Quiet leaves out the feedback after each trial, where a single answer is
	// neither right nor wrong.
	Quiet bool
	// Trials is how many a drill of this kind has when nobody says otherwise; 0
	// is the usual number.
	Trials int
	// OwnLight leaves out the lamp of the settings, for kinds that choose it
	// themselves.
	OwnLight bool
	// Variants are the entries in the menu, where a kind has more than one; each
	// sets what differs in the setup.
	Variants []Variant
	// Truth, when not nil, paints what was right in place of the patches of the
	// usual feedback.
	Truth func(c *draw.Canvas, in draw.Rect, f Feedback)
}

// Briefing is what is said before a drill: of several tasks, the one that it asks.
func (s Screen) Briefing(setup exercises.Setup) []string {
	if words := s.Tasks[setup.Task]; words != "" {
		return append(slices.Clone(s.Brief), words)
	}
	return s.Brief
}

// Worked is a step of a worked trial: the keys that lead to it, and what is said.
type Worked struct {
	Keys []string
	Says string
}

// Variant is one of several drills of a kind.
type Variant struct {
	Title, About string
	Setup        exercises.Setup
	// Show, when not nil, makes something to look at: nothing is asked.
	Show func(seed uint64) Exhibit
}

var screens = map[exercises.KindID]Screen{}

// Exhibit is for looking, not for answering.
type Exhibit interface {
	Title() string
	Draw(c *draw.Canvas, in draw.Rect)
	// Next is another one of the kind.
	Next()
	Help() []string
}

func register(id exercises.KindID, s Screen) { screens[id] = s }

// ScreenOf is how a kind looks; the zero screen where [Shown] says no.
func ScreenOf(id exercises.KindID) Screen { return screens[id] }

// Shown reports whether the trainer has a screen for a kind.
func Shown(id exercises.KindID) bool {
	_, ok := screens[id]
	return ok
}

// Feedback is an answer that is in the book, with its mark.
type Feedback struct {
	Attempt scoring.Attempt
	Mark    scoring.Mark
	Setup   exercises.Setup
}

// Result is a marked answer of the sitting.
type Result struct {
	Attempt scoring.Attempt
	Mark    scoring.Mark
}

// Unit is what a trial of this kind is called.
func (s Screen) Unit() string {
	if s.Units[0] != "" {
		return s.Units[0]
	}
	return "trial"
}

// TrialCount is a number of trials, by what they are called: "1 case", "12 trials".
func (s Screen) TrialCount(n int) string {
	if s.Units[0] != "" {
		return scoring.Count(n, s.Units[0], s.Units[1])
	}
	return scoring.Count(n, "trial", "trials")
}

// MeasureWords say a measure in a line.
func MeasureWords(m scoring.Measure) string {
	text := fmt.Sprintf("%s %.3g", draw.UpperFirst(m.Name), m.Value)
	if m.Unit != "" {
		text += " " + m.Unit
	}
	return text
}

// byAttribute are the variants of a kind that can be narrowed to one attribute: first
// the usual drill, then each attribute alone, with a half sentence about it.
func byAttribute(title string, usual Variant, alone string) []Variant {
	list := []Variant{usual}
	for _, name := range exercises.AttributeNames() {
		list = append(list, Variant{title + ": " + name + " alone", "Only " + name + ": " + alone + ".", exercises.Setup{Attribute: name}, nil})
	}
	return list
}
