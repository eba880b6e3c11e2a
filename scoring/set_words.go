package scoring

import "fmt"

// SetWords are what people call a kind of set, and what they do with it.
type SetWords struct {
	Noun      string // "assignment"
	Did, Done string // "took", "taken"
	Made      string // how it came about
	Anew      string // how there can be another one
	Once      string // why nobody takes it a second time
	Closed    string // what was done to it once nobody may begin it
	Another   string // what to do then
}

var setWords = map[SetKind]SetWords{
	AssignmentSet: {Noun: "assignment", Did: "did", Done: "done", Made: "was given", Anew: "let the instructor assign it anew",
		Once:   "an assignment is done once: whoever has seen its answers would have an easier time",
		Closed: "taken back", Another: "nothing is to be done for it"},
	PanelSet: {Noun: "calibration session", Did: "took", Done: "taken", Made: "was laid down", Anew: "let the lead lay down a new calibration session",
		Once:   "a session is taken once: whoever has seen its end would have an easier time",
		Closed: "closed", Another: "ask the lead to lay down another"},
	TestSet: {Noun: "form", Did: "took", Done: "taken", Made: "was laid down", Anew: "let the instructor lay down a new form",
		Once:   "a form is taken once: whoever has seen its end would have an easier time",
		Closed: "closed", Another: "ask the instructor to lay down another"},
}

// Words are those of a kind; none for a kind that is unknown.
func (k SetKind) Words() SetWords { return setWords[k] }

// Name is what people call the set: "assignment 3", `the calibration session "Spring"`,
// "form A".
func (s Set) Name() string {
	switch s.Ref.Kind {
	case AssignmentSet:
		return fmt.Sprintf("assignment %d", s.Number)
	case PanelSet:
		return fmt.Sprintf("the calibration session %q", s.Ref.Name)
	}
	return s.Ref.Kind.Words().Noun + " " + s.Ref.Name
}

// SetTitle says to whoever sits a drill what it is part of: "calibration session
// Spring", "proficiency test, form A, part 1 of 2"; empty for a drill of their own.
func (s Sitting) SetTitle() string {
	switch ref := s.Set(); ref.Kind {
	case "":
		return ""
	case AssignmentSet:
		return "assignment of your class"
	case TestSet:
		title := "proficiency test, form " + ref.Name
		if part, of := PartOf(s.Setup); of > 1 {
			title += fmt.Sprintf(", part %d of %d", part, of)
		}
		return title
	default:
		return ref.Kind.Words().Noun + " " + ref.Name
	}
}
