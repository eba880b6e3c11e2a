package serve

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/tests"
	"shadedrill/trainer"
)

// assign gives a class a drill to do.
func (s *Server) assign(v *visit) error {
	class, _, err := v.classFor(assign)
	if err != nil {
		return err
	}
	a, err := s.assignment(v.r.PostFormValue("kind"), v.r.PostFormValue("count"), v.r.PostFormValue("pass"), v.r.PostFormValue("due"))
	if err != nil {
		return err
	}
	a.Class, a.At = class.ID, s.Clock()
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		have, err := m.Assignments(v.ctx, class.ID)
		if err != nil {
			return err
		}
		for _, b := range have { // pressed twice, or by two who run the class
			if b.Gone().IsZero() && b.Setup.Kind == a.Setup.Kind && b.Setup.Count == a.Setup.Count && b.Pass == a.Pass && b.Due.Equal(a.Due) {
				return fault.New("The class was given just this already: "+b.Set().Name()+".", "another due day, another number of trials or another exercise makes it a further one")
			}
		}
		if err := m.PutSheet(v.ctx, a.Setup.Sheet); err != nil {
			return err
		}
		given, err := m.AddAssignment(v.ctx, a)
		if err != nil {
			return err
		}
		return v.note(m, "given: "+given.Set().Name(), class.ID, "")
	})
	if err != nil {
		return err
	}
	return v.to(classPath(class))
}

// mostTrials of an assignment; house choice: an hour or so.
const mostTrials = 200

// assignment is what a form says, with the usual library and way of looking.
func (s *Server) assignment(kind, count, pass, due string) (scoring.Assignment, error) {
	var none scoring.Assignment
	k, err := givenKind(kind)
	if err != nil {
		return none, err
	}
	setup, err := usualSetup(k)
	if err != nil {
		return none, err
	}
	if setup.Count = number(count); strings.TrimSpace(count) == "" {
		setup.Count = trainer.UsualCount(k.ID())
	}
	if setup.Count < 1 || setup.Count > mostTrials {
		return none, wrongAt("count", fault.New("That number of trials cannot be given.", "from 1 to "+strconv.Itoa(mostTrials)))
	}
	mark := scoring.PassMark{Rule: scoring.PassNone}
	if pass = strings.TrimSpace(strings.Replace(pass, ",", ".", 1)); pass != "" && pass != "none" {
		text, share := strings.CutSuffix(pass, "%")
		mark.Rule = scoring.PassMedian
		if mark.Value, err = strconv.ParseFloat(strings.TrimSpace(text), 64); err != nil {
			return none, wrongAt("pass", fault.New("That is no pass mark.", "a median ΔE00 such as 2.0, a share right such as 80%, or nothing"))
		}
		if share {
			mark.Rule, mark.Value = scoring.PassShare, mark.Value/100
		}
	}
	if err := record.CheckPass(mark); err != nil {
		return none, wrongAt("pass", err)
	}
	if err := scoring.Gradable(setup, mark.Rule); err != nil {
		return none, wrongAt("pass", fault.Wrap(err, "another pass mark, or none"))
	}
	until, ok := trainer.DueAt(due)
	if !ok {
		return none, wrongAt("due", errDue)
	}
	if _, err := exercises.NewRun(setup); err != nil {
		return none, err
	}
	return scoring.Assignment{Setup: setup, Pass: mark, Due: until}, nil
}

// setLine is something that a class was given, as its page shows it.
type setLine struct {
	Ref    setRef
	Name   string // "assignment 3"
	Words  string
	Done   int // people who are through with it
	Of     int
	Report string // address of what it shows, if whoever asks may read that
	Page   string // address of what can be decided about it
	State  string // "open", "closed"; "" where it is neither
	// What can be done with it now.
	Begins, Collects, Closes bool
}

// setsOf are the sets that a class was given: its assignments, its forms of the test, and
// the calibration sessions of those who run it.
func (s *Server) setsOf(ctx context.Context, class scoring.Class, roster []scoring.Learner) (list []setLine, err error) {
	learners, members := 0, map[personID]bool{}
	for _, l := range roster {
		members[l.ID] = true
		if l.Role == scoring.RoleLearner {
			learners++
		}
	}
	add := func(set scoring.Set, words string) error {
		taken, err := s.Book.Sittings(ctx, record.Filter{Within: set.Ref.String()})
		ended := map[personID]int{}
		for _, one := range taken {
			if members[one.Learner] && !one.Ended.IsZero() && !one.Left {
				ended[one.Learner]++
			}
		}
		line := setLine{Ref: set.Ref.String(), Name: set.Name(), Words: words, Of: learners, Begins: true, Collects: true}
		for _, n := range ended {
			if n >= len(set.Parts) {
				line.Done++
			}
		}
		closed := !set.Closed.IsZero()
		switch set.Ref.Kind {
		case scoring.PanelSet: // closed for good
			line.Begins, line.Closes = !closed, !closed
			if closed {
				line.State = "closed"
			}
		case scoring.TestSet: // open between "begin now" and "collect"
			line.Collects = !closed
			line.State = map[bool]string{true: "closed", false: "open"}[closed]
		case scoring.AssignmentSet:
			line.Begins, line.Collects = !closed, !closed
			if closed {
				line.State = "taken back"
			}
			line.Page = fmt.Sprintf("%s/assignments/%d", classPath(class), set.Number)
		}
		page := map[scoring.SetKind]string{scoring.AssignmentSet: "grades", scoring.PanelSet: "session", scoring.TestSet: "tests"}[set.Ref.Kind]
		line.Report = classPath(class) + "/" + page + ".html"
		if set.Ref.Kind == scoring.PanelSet {
			line.Report += "?of=" + url.QueryEscape(set.Ref.Name)
		}
		list = append(list, line)
		return err
	}
	given, err := s.Book.Assignments(ctx, class.ID)
	if err != nil {
		return nil, err
	}
	for _, a := range given {
		if err := add(a.Set(), classes.AssignmentWords(a)); err != nil {
			return nil, err
		}
	}
	forms, err := s.Book.Forms(ctx)
	if err != nil {
		return nil, err
	}
	for _, f := range forms {
		if f.Class == class.ID {
			if err := add(f.Set(), "proficiency test: "+tests.FormWords(f)); err != nil {
				return nil, err
			}
		}
	}
	sessions, err := s.sessions(ctx, class.ID, roster)
	if err != nil {
		return nil, err
	}
	for _, p := range sessions {
		if err := add(p.Set(), sessionWords(p)); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// ofClass is the set of a class that a form names, where the table allows to open and
// collect it.
func (v *visit) ofClass() (class scoring.Class, roster []scoring.Learner, set scoring.Set, err error) {
	text := v.r.PostFormValue("set")
	do := assign
	if ref, ok := scoring.ParseSetRef(text); ok && ref.Kind == scoring.PanelSet {
		do = makeSession
	}
	if class, roster, err = v.classFor(do); err != nil {
		return class, roster, set, err
	}
	given, err := v.s.setsOf(v.ctx, class, roster)
	if err != nil {
		return class, roster, set, err
	}
	if !slices.ContainsFunc(given, func(l setLine) bool { return l.Ref == text }) {
		return class, roster, set, errForbidden
	}
	set, err = setOf(v.ctx, v.s.Book, text)
	return class, roster, set, err
}

// beginNow opens a set for a room: who is here now finds it before them, who comes
// later at their next start. A form of the test that was closed can be taken again.
func (s *Server) beginNow(v *visit) error {
	class, roster, set, err := v.ofClass()
	if err != nil {
		return err
	}
	if words := set.Ref.Kind.Words(); set.Ref.Kind != scoring.TestSet && !set.Closed.IsZero() {
		return fault.New(capital(set.Name())+" was "+words.Closed+".", words.Another)
	}
	err = v.once(class, "begun now: "+set.Name(), func(m record.Book) error {
		if set.Ref.Kind == scoring.TestSet {
			set.Closed = time.Time{}
			if err := m.CloseForm(v.ctx, set.Ref.Print, set.Closed); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, l := range roster {
		if l.Role != scoring.RoleLearner {
			continue
		}
		progress, err := record.ProgressOf(v.ctx, s.Book, set, l.ID)
		if err != nil {
			return err
		}
		if record.Refusal(set, progress, l.Name) != nil {
			continue
		}
		if d := s.drills.of(l.ID); d != nil && d.at(set.Ref.String()) {
			continue // is at it: somebody has begun it just before
		}
		s.drills.mu.Lock()
		s.drills.next[l.ID] = set.Ref.String()
		s.drills.mu.Unlock()
		s.end(v.ctx, l.ID, "your "+v.group()+" begins")
	}
	return v.to(classPath(class) + "/live?begun=" + url.QueryEscape(set.Ref.String()))
}

// collect ends a set for a room: what was given is kept, and nobody goes on. A form of
// the test is closed by it: nobody begins it, or its second part, any more.
func (s *Server) collect(v *visit) error {
	class, roster, set, err := v.ofClass()
	if err != nil {
		return err
	}
	ask := "Whoever is still at " + set.Name() + " is stopped. What was given is kept, but counts as left early."
	if set.Ref.Kind == scoring.TestSet {
		ask += " Nobody can begin it any more, nor a part of it, until you begin it again."
	}
	if ok, err := v.confirmed(ask); !ok {
		return err
	}
	s.unbegin(roster, set.Ref)
	err = v.once(class, "collected: "+set.Name(), func(m record.Book) error {
		if set.Ref.Kind == scoring.TestSet {
			return m.CloseForm(v.ctx, set.Ref.Print, s.Clock())
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, l := range roster {
		progress, err := record.ProgressOf(v.ctx, s.Book, set, l.ID)
		if err != nil {
			return err
		}
		if !progress.Begun() || progress.Over() {
			continue
		}
		s.end(v.ctx, l.ID, "your "+v.group()+" is over")
		open, err := s.Book.Sittings(v.ctx, record.Filter{Learner: l.ID, Within: set.Ref.String(), Unfinished: true})
		if err != nil {
			return err
		}
		for _, sitting := range open {
			if err := s.Book.EndSitting(v.ctx, sitting.ID, s.Clock(), true); err != nil {
				return err
			}
		}
	}
	return v.to(classPath(class) + "/live?collected=" + url.QueryEscape(set.Ref.String()))
}

// pressedTwice is for how long the same again is a button pressed twice, or a slow page
// loaded anew, and no wish of its own. House choice.
const pressedTwice = 10 * time.Second

// once does something for a room in the book and writes it down, unless it is the last
// that was done there, just now.
func (v *visit) once(class scoring.Class, what string, do func(record.Book) error) error {
	return v.s.Book.Merge(v.ctx, func(m record.Book) error {
		done, err := m.ServedIn(v.ctx, class.ID)
		if err != nil {
			return err
		}
		if n := len(done); n > 0 && done[n-1].What == what && v.s.Clock().Sub(done[n-1].At).Abs() < pressedTwice {
			return nil
		}
		if err := do(m); err != nil {
			return err
		}
		return v.note(m, what, class.ID, "")
	})
}

// unbegin takes a set out of the next start of who has not come yet.
func (s *Server) unbegin(roster []scoring.Learner, ref scoring.SetRef) {
	s.drills.mu.Lock()
	defer s.drills.mu.Unlock()
	for _, l := range roster {
		if s.drills.next[l.ID] == ref.String() {
			delete(s.drills.next, l.ID)
		}
	}
}
