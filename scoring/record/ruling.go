package record

import (
	"context"
	"fmt"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// CheckRuling brings what was decided about an assignment into the form in which a
// book keeps it.
func CheckRuling(r scoring.Ruling) (scoring.Ruling, error) {
	const what = "what was decided about an assignment"
	if err := CheckMoment(what, r.At); err != nil {
		return r, err
	}
	r.At = moment(r.At)
	personal := r.What == scoring.Extended || r.What == scoring.Excused
	until := (r.What == scoring.DueMoved || r.What == scoring.Extended) && !r.Back
	switch r.What {
	case scoring.DueMoved, scoring.Extended, scoring.Excused, scoring.Dropped, scoring.Removed:
	default:
		return r, fmt.Errorf("%s is of the unknown kind %q", what, fault.Excerpt(string(r.What)))
	}
	switch {
	case personal != (r.Learner != ""):
		return r, fmt.Errorf("%s (%s) names a person where none is meant, or none where one is", what, r.What)
	case (r.What == scoring.Dropped) != (r.Item != 0) || r.Item < 0 || r.Item > mostItems:
		return r, fmt.Errorf("%s (%s) names the item %d", what, r.What, r.Item)
	case until == r.Until.IsZero():
		return r, fmt.Errorf("%s (%s) has a due date where none is meant, or none where one is", what, r.What)
	}
	if until {
		if err := CheckMoment("the due date of an assignment", r.Until); err != nil {
			return r, err
		}
		r.Until = moment(r.Until)
	}
	for _, id := range []scoring.LearnerID{r.Learner, r.By} {
		if id != "" {
			if err := checkID(what, string(id)); err != nil {
				return r, err
			}
		}
	}
	return r, checkText(what, r.Why)
}

// mostItems is more than any drill has trials; house choice.
const mostItems = 100_000

// Rule decides something about an assignment and returns it as it is then. What makes
// no sense is refused: see [fault.Error]. Like Enrol it counts as later than what stood
// before, whatever the clock says.
func Rule(ctx context.Context, book Book, a scoring.Assignment, r scoring.Ruling) (scoring.Assignment, error) {
	if err := sensible(ctx, book, a, r); err != nil {
		return a, err
	}
	for _, old := range a.Rulings {
		if old.Same(r) && !moment(r.At).After(old.At) {
			r.At = old.At.Add(time.Millisecond)
		}
	}
	if err := book.PutRuling(ctx, a.ID, r); err != nil {
		return a, err
	}
	return book.Assignment(ctx, a.Number)
}

// sensible says why something is not to be decided about an assignment.
func sensible(ctx context.Context, book Book, a scoring.Assignment, r scoring.Ruling) error {
	name := a.Set().Name()
	old, stands := a.Standing(r)
	switch {
	case !a.Gone().IsZero() && r.What != scoring.Removed:
		return fault.New(name+" was taken back", "give it again first, if you mean it")
	case r.Back && !stands:
		return fault.New("nothing of the kind was decided about "+name+", so nothing can be taken back", "what was decided stands below its grades")
	case stands && !r.Back && old.Until.Equal(moment(r.Until)):
		return fault.New("that was decided about "+name+" already", "what was decided stands below its grades")
	case r.Back:
		return nil
	}
	switch r.What {
	case scoring.Extended:
		if due := a.DueNow(); !r.Until.After(due) {
			return fault.New("that is no longer than the class has, which is until "+scoring.Moment(due), "a later day")
		}
		return enrolled(ctx, book, a, r.Learner)
	case scoring.Excused:
		return enrolled(ctx, book, a, r.Learner)
	case scoring.Dropped:
		return droppable(ctx, book, a, r)
	}
	return nil
}

func enrolled(ctx context.Context, book Book, a scoring.Assignment, who scoring.LearnerID) error {
	switch on, err := onRoster(ctx, book, a.Class, who); {
	case err != nil:
		return err
	case !on:
		return fault.New("nobody of that name is in the class that "+a.Set().Name()+" was given to", "somebody on its roster")
	}
	return nil
}

// droppable says why an item cannot be left out of everybody's grade.
func droppable(ctx context.Context, book Book, a scoring.Assignment, r scoring.Ruling) error {
	name, setup := a.Set().Name(), a.Setup
	if exercises.TraitsOf(setup.Kind).AnswerDriven {
		title := string(setup.Kind)
		if kind, err := exercises.ByID(setup.Kind); err == nil {
			title = kind.Title()
		}
		return fault.New(fmt.Sprintf("%s chooses each trial by the answers before it: in %s no item is everybody's", title, name), "excuse whom it concerns, or take the assignment back")
	}
	if setup.SheetID != "" {
		sheet, err := book.Sheet(ctx, setup.SheetID)
		if err != nil {
			return err
		}
		setup.Sheet = sheet
	}
	run, err := exercises.NewRun(setup)
	if err != nil {
		return err
	}
	switch items := run.Planned(); {
	case r.Item < 1 || r.Item > items:
		return fault.New(fmt.Sprintf("%s has no item %d", name, r.Item), fmt.Sprintf("they are numbered from 1 to %d", items))
	case len(a.Drops())+1 >= items:
		return fault.New("it is the last item of "+name+" that counts", "take the assignment back, or excuse whom it concerns")
	case strings.TrimSpace(r.Why) == "":
		return fault.New("an item is left out of everybody's grade for a reason", "say why: it is written down")
	case r.By == "":
		return fault.New("whoever leaves an item out of everybody's grade gives their name", "it is written down")
	}
	return nil
}
