package trainer

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// An assignment is begun from the menu or from the command line. Its conditions
// are the instructor's: no setting of whoever does it goes into it.

// UsualCount is how many trials a drill of an exercise has when nobody says.
func UsualCount(kind exercises.KindID) int {
	if n := ask.ScreenOf(kind).Trials; n > 0 {
		return n
	}
	return usualCount
}

// takeAssignment begins an assignment, or goes on with it where it was broken off.
func (a *app) takeAssignment(as scoring.Assignment) {
	d, err := record.TakeAssignment(a.ctx, a.cfg.Book, as, a.learner, a.check, a.cfg.Clock)
	var refused *fault.Error
	switch {
	case errors.As(err, &refused):
		a.drills++ // the menu comes next, not the assignment once more
		a.trouble("This assignment cannot be done.", err, nil)
		return
	case err != nil:
		a.trouble("The assignment cannot begin.", err, func() { a.takeAssignment(as) })
		return
	}
	a.drills++
	if _, more := d.Trial(); !more { // broken off after the last answer
		if err := d.End(a.ctx, false); err != nil {
			a.trouble("The end of the assignment could not be written to the book.", err, func() { a.takeAssignment(as) })
			return
		}
	}
	a.showDrill(d)
}

// addAssignments adds the open ones to the menu and reports whether there are any.
func (a *app) addAssignments(add func(draw.Item, string)) bool {
	due, about, err := a.openAssignments()
	if err != nil {
		due = []draw.Item{{Text: "Assignments", Do: func() { a.trouble("The book cannot be read.", err, nil) }}}
		about = []string{"They cannot be read: choose the line to see why."}
	}
	for i := range due {
		add(due[i], about[i])
	}
	return len(due) > 0
}

// mostAssignments is how many the menu shows, so that it stays a menu.
const mostAssignments = 5

// openAssignments are those that the learner has still to do: first those that
// can be in time, the next due first, then the overdue ones, the latest first.
func (a *app) openAssignments() (list []draw.Item, about []string, err error) {
	open, err := record.OpenAssignments(a.ctx, a.cfg.Book, a.learner.ID)
	if err != nil {
		return nil, nil, err
	}
	now := a.now()
	overdue := func(as scoring.Assignment) bool { return !now.Before(as.Due) }
	open = slices.DeleteFunc(open, func(as scoring.Assignment) bool { return !ask.Shown(as.Setup.Kind) })
	slices.SortStableFunc(open, func(x, y scoring.Assignment) int {
		switch late := overdue(x); {
		case late != overdue(y) && late:
			return 1
		case late != overdue(y):
			return -1
		case late:
			return y.Due.Compare(x.Due)
		}
		return x.Due.Compare(y.Due)
	})
	for _, as := range open[:min(len(open), mostAssignments)] {
		kind, err := exercises.ByID(as.Setup.Kind)
		if err != nil {
			continue
		}
		// The columns of the menu are narrow: the day stands below it.
		extra := ""
		text := fmt.Sprintf("Due %s: %s, the same for your whole class, once.", as.Due.Local().Format("2 January at 15:04"), draw.Count(as.Setup.Count, "trial", "trials"))
		if overdue(as) {
			extra = "late"
			text = "Was due" + strings.TrimPrefix(text, "Due") + " It will count as late."
		}
		switch as.Pass.Rule {
		case scoring.PassMedian:
			text += fmt.Sprintf(" To pass: a median ΔE00 of at most %g.", as.Pass.Value)
		case scoring.PassShare:
			text += fmt.Sprintf(" To pass: at least %g %% right.", 100*as.Pass.Value)
		}
		list = append(list, draw.Item{Text: fmt.Sprintf("Assignment %d: %s", as.Number, kind.Title()), Extra: extra, Do: func() { a.takeAssignment(as) }})
		about = append(about, text)
	}
	return list, about, nil
}
