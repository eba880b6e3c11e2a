package trainer

import (
	"fmt"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// asker is the part of the drill screen that belongs to one kind of exercise: it
// paints the question, keeps the choice and says when it has become an answer.
// Frame, time, rest, feedback and summary are the same for all kinds.
//
// A kind's file registers its asker from init:
//
//	func init() { registerAsker(exercises.Halfway, screen{brief: …, ask: newHalfway}) }
type asker interface {
	// prompt says in one line what is to be done now.
	prompt() string
	// draw paints the question. Once the look is over, covered is true and no
	// colour of the trial may be seen; the choice still may.
	draw(c *canvas, in rect, covered bool)
	// keys lists the keys that do something now.
	keys() []keyHelp
	// key handles a key and pick a click on the canvas item i.
	key(k string) reply
	pick(i int) reply
}

// reply is what a key or click has led to.
type reply struct {
	unknown bool   // the key has no use in this exercise
	say     string // a line for the person: why nothing happened, what comes now
	begun   bool   // the trial's time starts now: what came before was preparation
	decided bool   // a first decision was taken
	answer  *exercises.Answer
}

var noKey = reply{unknown: true}

func why(text string) reply { return reply{say: text} }

// question is all that an asker is told.
type question struct {
	trial exercises.Trial
	setup exercises.Setup
	// earlier are the answers already given to trials of the same scene.
	earlier []scoring.Attempt
}

// screen is how a kind of exercise looks.
type screen struct {
	// brief tells a newcomer what will happen, a line each.
	brief []string
	// notes are further lines for the help, such as figures with their sources.
	notes func() []string
	ask   func(question) (asker, error)
	// part names what of a scene a trial asks, for the title of its feedback.
	part func(exercises.Trial) string
	// more adds lines to the feedback.
	more func(feedback) []string
	// words, when not nil, takes the place of what the feedback says of checks and
	// measures; summary that of a drill's summary.
	words   func(feedback) []proseLine
	summary func(exercises.Setup, []result) []proseLine
	// units is what the trials are called, one and many, where not trial and trials.
	units [2]string
	// quiet leaves out the feedback after each trial, where a single answer is
	// neither right nor wrong.
	quiet bool
	// trials is how many a drill of this kind has when nobody says otherwise; 0
	// is the usual number.
	trials int
	// ownLight leaves out the lamp of the settings, for kinds that choose it
	// themselves.
	ownLight bool
	// variants are the entries in the menu, where a kind has more than one; each
	// sets what differs in the setup.
	variants []variant
	// truth, when not nil, paints what was right in place of the patches of the
	// usual feedback.
	truth func(c *canvas, in rect, f feedback)
}

// variant is one of several drills of a kind.
type variant struct {
	title, about string
	setup        exercises.Setup
	// show, when not nil, makes something to look at: nothing is asked.
	show func(seed uint64) exhibit
}

var screens = map[exercises.KindID]screen{}

// exhibit is for looking, not for answering.
type exhibit interface {
	title() string
	draw(c *canvas, in rect)
	// next is another one of the kind.
	next()
	help() []string
}

func registerAsker(id exercises.KindID, s screen) { screens[id] = s }

// screenOf is how a kind looks; the zero screen where [Shown] says no.
func screenOf(id exercises.KindID) screen { return screens[id] }

// Shown reports whether the trainer has a screen for a kind.
func Shown(id exercises.KindID) bool {
	_, ok := screens[id]
	return ok
}

// feedback is an answer that is in the book, with its mark.
type feedback struct {
	attempt scoring.Attempt
	mark    scoring.Mark
	setup   exercises.Setup
}

// result is a marked answer of the sitting.
type result struct {
	attempt scoring.Attempt
	mark    scoring.Mark
}

// unit is what a trial of this kind is called.
func (s screen) unit() string {
	if s.units[0] != "" {
		return s.units[0]
	}
	return "trial"
}

func (s screen) trialCount(n int) string {
	if s.units[0] != "" {
		return count(n, s.units[0], s.units[1])
	}
	return count(n, "trial", "trials")
}

func measureWords(m scoring.Measure) string {
	text := fmt.Sprintf("%s %.3g", upperFirst(m.Name), m.Value)
	if m.Unit != "" {
		text += " " + m.Unit
	}
	return text
}

// byAttribute are the variants of a kind that can be narrowed to one attribute: first
// the usual drill, then each attribute alone, with a half sentence about it.
func byAttribute(title string, usual variant, alone string) []variant {
	list := []variant{usual}
	for _, name := range exercises.AttributeNames() {
		list = append(list, variant{title + ": " + name + " alone", "Only " + name + ": " + alone + ".", exercises.Setup{Attribute: name}, nil})
	}
	return list
}
