package record

import (
	"context"
	"fmt"
	"time"

	"shadedrill/colour/fault"
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

// Rule decides something about an assignment and returns it as it is then. Like
// Enrol it counts as later than what stood before, whatever the clock says. What
// stands already is not decided again.
func Rule(ctx context.Context, book Assignments, a scoring.Assignment, r scoring.Ruling) (scoring.Assignment, error) {
	if a.Setup.Kind == "" {
		return a, NoAssignment(a.Number)
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
