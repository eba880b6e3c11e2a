package serve

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
	"shadedrill/trainer"
)

// assignmentFor is the assignment of a class that a request names, where the table allows
// to decide about it.
func (v *visit) assignmentFor() (class scoring.Class, roster []scoring.Learner, a scoring.Assignment, err error) {
	if class, roster, err = v.classFor(decide); err != nil {
		return class, roster, a, err
	}
	a, err = v.s.Book.Assignment(v.ctx, number(v.r.PathValue("number")))
	if err == nil && a.Class != class.ID {
		err = errForbidden
	}
	return class, roster, a, err
}

// ruled is something that stands about an assignment, as its page shows it.
type ruled struct {
	scoring.Ruling
	Words, Decider string
}

// assignmentPage shows what was decided about an assignment, and what can be.
func (s *Server) assignmentPage(v *visit) error {
	class, roster, a, err := v.assignmentFor()
	if err != nil {
		return err
	}
	var list []ruled
	for i, r := range a.Rulings {
		if !slices.ContainsFunc(a.Rulings[i+1:], r.Same) { // the last about each thing
			list = append(list, ruled{r, classes.RulingWords(a, r, v.name), v.name(r.By)})
		}
	}
	learners := slices.DeleteFunc(roster, func(l scoring.Learner) bool { return l.Role != scoring.RoleLearner })
	return v.show("assignment", map[string]any{"Title": capital(a.Set().Name()), "Class": class, "At": assignmentPath(a), "Words": classes.AssignmentWords(a), "Rulings": list, "People": learners,
		"Gone": !a.Gone().IsZero(), "Due": a.DueNow().Local().Format(time.DateOnly)})
}

func assignmentPath(a scoring.Assignment) string {
	return fmt.Sprintf("/classes/%s/assignments/%d", a.Class, a.Number)
}

// name is what a person is called; somebody who was erased has no name.
func (v *visit) name(id personID) string {
	if id == "" {
		return "somebody who gave no name"
	}
	l, err := v.s.Book.Learner(v.ctx, id)
	if err != nil {
		return "somebody who is not in the book any more"
	}
	return l.Name
}

// errAsk gives up what was tried: it is first to be confirmed.
var errAsk = errors.New("to be confirmed")

// rule decides something about an assignment. What it would be is tried before it is
// asked about, so that nobody confirms what cannot be.
func (s *Server) rule(v *visit) error {
	class, _, a, err := v.assignmentFor()
	if err != nil {
		return err
	}
	r, err := v.ruling()
	if err != nil {
		return err
	}
	words := classes.RulingWords(a, r, v.name)
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		// What somebody else has decided in this moment stands.
		now, err := m.Assignment(v.ctx, a.Number)
		if err != nil {
			return err
		}
		if _, err := record.Rule(v.ctx, m, now, r); err != nil {
			return err
		}
		if v.r.PostFormValue("confirm") != "yes" {
			return errAsk
		}
		// No name stands in the log, and no reason, which may hold one.
		return v.note(m, a.Set().Name()+": "+classes.RulingWords(a, r, func(personID) string { return "this person" }), class.ID, r.Learner)
	})
	if errors.Is(err, errAsk) {
		begun, err := s.Book.Sittings(v.ctx, record.Filter{Within: a.Set().Ref.String()})
		if err != nil {
			return err
		}
		if r.What == scoring.Removed && !r.Back && len(begun) > 0 {
			words += ", and nobody is graded by it"
		}
		_, err = v.confirmed("This is decided about " + a.Set().Name() + ": " + words + ". Grades are computed by it from now on; it can be taken back.")
		return err
	}
	if err != nil {
		return wrongAt(map[scoring.RulingKind]string{scoring.DueMoved: "until", scoring.Extended: "until", scoring.Dropped: "item"}[r.What], err)
	}
	return v.to(assignmentPath(a))
}

// ruling is what a form decides.
func (v *visit) ruling() (r scoring.Ruling, err error) {
	r = scoring.Ruling{What: scoring.RulingKind(v.r.PostFormValue("what")), Learner: personID(v.r.PostFormValue("who")), Item: number(v.r.PostFormValue("item")),
		Back: v.r.PostFormValue("back") != "", Why: strings.TrimSpace(v.r.PostFormValue("why")), By: v.who.ID, At: v.s.Clock()}
	if (r.What == scoring.DueMoved || r.What == scoring.Extended) && !r.Back {
		var ok bool
		if r.Until, ok = trainer.DueAt(v.r.PostFormValue("until")); !ok {
			return r, wrongAt("until", errDue)
		}
	}
	if _, err := record.CheckRuling(r); err != nil {
		return r, fault.Wrap(err, "choose again")
	}
	return r, nil
}

var errDue = fault.New("The due day is no day.", "such as 2030-05-31")

func capital(text string) string { return strings.ToUpper(text[:1]) + text[1:] }
