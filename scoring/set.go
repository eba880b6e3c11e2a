package scoring

import (
	"fmt"
	"hash/fnv"
	"maps"
	"reflect"
	"strconv"
	"strings"
	"time"

	"shadedrill/exercises"
)

// SetKind is what a set is: see the constants.
type SetKind string

// The kinds of a set. Their texts stand in books; what else one kind knows of
// itself is said in its words (set_words.go) and where it is made: [Assignment.Set],
// [NewTest], and a calibration session's in record.
const (
	AssignmentSet SetKind = "assignment" // what a class is given to do
	PanelSet      SetKind = "panel"      // a calibration session
	TestSet       SetKind = "exam"       // a form of the proficiency test
)

// SetRef names a set for the sittings of it: [Sitting.Within] holds its text. The
// zero value names none.
type SetRef struct {
	Kind SetKind
	// Name is an assignment's identifier, a session's name, a form's name.
	Name string
	// Print is, of a form that was laid down, its fingerprint: two forms may bear one
	// name. An open form, whose name decided its items, has none.
	Print string
	// Take is, of a set that can be taken again, which time it is, from 1; else 0.
	Take int
}

// String is the text that a book keeps: "assignment:ID", "panel:NAME",
// "exam:FORM.FINGERPRINT", of an open form "exam:FORM:TAKE".
func (r SetRef) String() string {
	switch {
	case r.Kind == "":
		return ""
	case r.again():
		return fmt.Sprintf("%s:%s:%d", r.Kind, r.Name, r.Take)
	case r.Print != "":
		return fmt.Sprintf("%s:%s.%s", r.Kind, r.Name, r.Print)
	}
	return string(r.Kind) + ":" + r.Name
}

// ParseSetRef reads what String writes; false for any other text.
func ParseSetRef(text string) (SetRef, bool) {
	kind, name, _ := strings.Cut(text, ":")
	r := SetRef{Kind: SetKind(kind), Name: name}
	if r.Kind == TestSet {
		r.Name, r.Print, _ = strings.Cut(name, ".")
	}
	if r.again() {
		var take string
		r.Name, take, _ = strings.Cut(name, ":")
		r.Take, _ = strconv.Atoi(take)
	}
	if r.Kind.Words().Noun == "" || r.Name == "" || r.again() && r.Take < 1 || r.String() != text {
		return SetRef{}, false
	}
	return r, true
}

// again reports whether the set can be taken a second time: open forms could.
func (r SetRef) again() bool { return r.Kind == TestSet && r.Print == "" }

// Set names the set that a sitting belongs to; the zero value if there is none.
func (s Sitting) Set() SetRef {
	r, _ := ParseSetRef(s.Within)
	return r
}

// Set is what several people take: the same questions, looked at in the same way,
// whatever settings somebody has.
type Set struct {
	Ref SetRef // its Take is 0: how often it was taken differs from person to person
	// Number is how people call an assignment; else 0.
	Number int
	// Parts are the drills, one taken after the other. Where Sheet is nil, SheetID
	// names one in the book.
	Parts []exercises.Setup
	// Class, when not empty, is the one whose members alone may take it.
	Class ClassID
	// Due is until when it counts as in time, Closed since when nobody may begin it;
	// zero for never.
	Due, Closed time.Time
	Pass        PassMark
	// Over says when a person is through with a part.
	Over Over
	// Again allows a further take once all parts are over.
	Again bool
	// Order, when not empty, gives everybody the same items in an order of their own,
	// which it and the person decide.
	Order string
	// Stated says that no book keeps what is asked: whoever takes it states it anew,
	// and what was asked before under its name must be the same.
	Stated bool
}

// Over says when a person is through with a part of a set.
type Over string

const (
	// OnLeaving: with its end, early or not; what was given counts.
	OnLeaving Over = ""
	// AtItsEnd: with its last answer; what was left early does not count, and the
	// part can be begun anew.
	AtItsEnd Over = "at its end"
)

// Take names the nth time that a person takes the set.
func (s Set) Take(n int) SetRef {
	ref := s.Ref
	if s.Again {
		ref.Take = n
	}
	return ref
}

// SetupFor is what one person is asked in a part. The order of their own depends
// on set and person alone, so that it is the same again after an interruption and
// on another machine.
func (s Set) SetupFor(part int, who LearnerID) exercises.Setup {
	setup := s.Parts[part]
	if s.Order != "" {
		h := fnv.New64a()
		fmt.Fprintf(h, "%s\x00%d\x00%s", s.Order, setup.Seed, who)
		setup.OrderSeed = h.Sum64() | 1
	}
	return setup
}

// Part finds the part that a sitting asked, false where the set does not ask that:
// a sitting may come from another book, and bear the set's name over other trials.
func (s Set) Part(asked exercises.Setup) (int, bool) {
	for i, part := range s.Parts {
		if s.Order != "" { // the items of everybody, whatever their order
			asked.OrderSeed = part.OrderSeed
		}
		if Asks(part, asked) {
			return i, true
		}
	}
	return 0, false
}

// Asks reports whether two drills ask the same in the same way: everything in the
// setup but what cannot make a question another. That is the sheet itself, for
// which its fingerprint stands, a list of experience that no question of a set
// comes from, and what a test notes of its parts where an older one did not. The seed
// of a form that was laid down stands in the form alone; its fingerprint, which the
// reference holds, stands for it.
func Asks(a, b exercises.Setup) bool {
	if a.Stream == exercises.TestStream && b.Stream == exercises.TestStream && min(a.Seed, b.Seed) == 0 {
		a.Seed, b.Seed = 0, 0
	}
	for _, s := range []*exercises.Setup{&a, &b} {
		if s.Sheet != nil {
			s.SheetID = s.Sheet.Fingerprint()
		}
		s.Sheet, s.Experience = nil, nil
		s.Options = maps.Clone(s.Options)
	}
	for _, note := range []string{OptionPart, OptionExercises} {
		_, here := a.Options[note]
		if _, there := b.Options[note]; here != there {
			delete(a.Options, note)
			delete(b.Options, note)
		}
	}
	for _, s := range []*exercises.Setup{&a, &b} {
		if len(s.Options) == 0 {
			s.Options = nil
		}
	}
	return reflect.DeepEqual(a, b)
}
