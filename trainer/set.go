package trainer

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// A set (assignment, calibration session, test) is begun from the menu or from the
// command line. What it asks and how it is looked at was laid down: no setting of
// whoever takes it goes into it.

// takeSet begins what is next of a set, or goes on with it where it was broken off.
func (a *app) takeSet(s scoring.Set) {
	d, err := record.Take(a.ctx, a.cfg.Book, s, a.learner, a.check, a.cfg.Clock)
	if err != nil {
		var refused record.Refused
		again := func() { a.takeSet(s) }
		if errors.As(err, &refused) {
			a.drills++ // the menu comes next, not the set once more
			again = nil
		}
		words := s.Ref.Kind.Words()
		a.trouble(fmt.Sprintf("This %s cannot be %s.", words.Noun, words.Done), err, again)
		return
	}
	a.drills++
	a.set = s
	a.showDrill(d)
}

// goOnWithSet takes the next part of the set of which a drill was done to its end;
// false when there is none.
func (a *app) goOnWithSet(done scoring.Sitting) bool {
	if len(a.set.Parts) < 2 {
		return false
	}
	p, err := record.ProgressOf(a.ctx, a.cfg.Book, a.set, a.learner.ID)
	if err != nil || p.Ref != done.Set() || p.Over() || len(p.Others) > 0 {
		return false
	}
	a.takeSet(a.set)
	return true
}

// mostAssignments is how many the menu shows, so that it stays a menu.
const mostAssignments = 5

// openSets are what the learner finds in the menu to begin or to go on with: first
// the assignments, those that can be in time before the others, then the sessions.
func (a *app) openSets() (list []draw.Item, about []string, err error) {
	open, err := record.OpenSets(a.ctx, a.cfg.Book, a.learner.ID)
	if err != nil {
		return nil, nil, err
	}
	slices.SortStableFunc(open, func(x, y record.OpenSet) int { return a.byDue(x.Set, y.Set) })
	assignments := 0
	for _, s := range open {
		kind, err := exercises.ByID(s.Parts[0].Kind)
		if err != nil || !ask.Shown(kind.ID()) {
			continue
		}
		item, text := draw.Item{Do: func() { a.takeSet(s.Set) }}, ""
		if s.Due.IsZero() {
			item.Text, item.Extra, text = sessionWords(s)
		} else {
			if assignments++; assignments > mostAssignments {
				continue
			}
			item.Text, item.Extra, text = a.assignmentWords(s.Set, kind)
		}
		list, about = append(list, item), append(about, text)
	}
	return list, about, nil
}

func (a *app) overdue(s scoring.Set) bool { return !s.Due.IsZero() && !a.now().Before(s.Due) }

// byDue puts the next due first, then the overdue, the latest of them first, then
// what is never due.
func (a *app) byDue(x, y scoring.Set) int {
	place := func(s scoring.Set) int {
		switch {
		case s.Due.IsZero():
			return 2
		case a.overdue(s):
			return 1
		}
		return 0
	}
	switch at := place(x); {
	case at != place(y):
		return at - place(y)
	case at == 1:
		return y.Due.Compare(x.Due)
	}
	return x.Due.Compare(y.Due)
}

// assignmentWords is the line of an assignment and what stands below it: the columns
// of the menu are narrow.
func (a *app) assignmentWords(s scoring.Set, kind exercises.Kind) (line, extra, about string) {
	about = fmt.Sprintf("Due %s: %s, the same for your whole class, once.", scoring.Zoned(s.Due, "2 January at 15:04"), scoring.Count(s.Parts[0].Count, "trial", "trials"))
	if a.overdue(s) {
		extra = "late"
		about = "Was due" + strings.TrimPrefix(about, "Due") + " It will count as late."
	}
	switch s.Pass.Rule {
	case scoring.PassMedian:
		about += fmt.Sprintf(" To pass: half of your answers within ΔE00 %g.", s.Pass.Value)
	case scoring.PassShare:
		about += fmt.Sprintf(" To pass: at least %g %% right.", 100*s.Pass.Value)
	}
	about += " Its code, in grades: " + s.Ref.Code() + "."
	return fmt.Sprintf("Assignment %d: %s", s.Number, kind.Title()), extra, about
}

// sessionWords are those of a calibration session.
func sessionWords(s record.OpenSet) (line, extra, about string) {
	about = "Your team looks at the same shades: everybody on their own, without feedback before the end. It is taken once."
	if given := s.Progress.Given(); given > 0 {
		extra = "broken off"
		about = fmt.Sprintf("You broke it off after %s. It goes on where you left it.", scoring.Count(given, "answer", "answers"))
	}
	return "Calibration session " + s.Ref.Name, extra, about
}

// planned is how many trials a sitting has at most; its setup's count where that
// cannot be found out.
func (a *app) planned(s scoring.Sitting) int {
	setup, err := record.SetupOf(a.ctx, a.cfg.Book, s)
	if err != nil {
		return s.Setup.Count
	}
	run, err := exercises.NewRun(setup)
	if err != nil {
		return s.Setup.Count
	}
	return run.Planned()
}
