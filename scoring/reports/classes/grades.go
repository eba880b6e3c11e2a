package classes

import (
	"context"
	"fmt"
	"iter"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// grade is what one person made of one assignment.
type grade struct {
	work    record.Progress
	answers int
	median  scoring.Estimate
	right   scoring.Estimate
	late    bool
	result  result
	unheld  record.Broken // tries whose chain does not hold: not counted
}

type result string

const (
	resultPassed  result = "passed"
	resultFailed  result = "not passed"
	resultDone    result = "done"      // and there was no pass mark
	resultUnknown result = "unmarked"  // done, but what the pass mark asks cannot be computed
	resultBegun   result = "under way" // broken off, can be gone on with
	resultOpen    result = "open"
	resultMissing result = "missing"             // not done, and it was due
	resultUnheld  result = "altered"             // done, but its answers are not as they were given
	resultDisplay result = "display not checked" // done, but on a display that failed its check or has none, and such were to be left out
	resultExcused result = "excused"             // need not do it, and where they did it does not count
)

// grades are those of a whole class for one assignment.
func grades(ctx context.Context, book Book, a scoring.Assignment, people []scoring.Learner, now time.Time, checked bool) ([]grade, error) {
	set := a.Set()
	within := record.Filter{Within: set.Ref.String()}
	sittings, err := book.Sittings(ctx, within)
	if err != nil {
		return nil, err
	}
	broken, err := record.VerifyChains(ctx, book, within)
	if err != nil {
		return nil, err
	}
	works := map[scoring.LearnerID]record.Progress{}
	unheld := map[scoring.LearnerID]record.Broken{}
	for _, s := range sittings {
		if what, bad := broken[s.ID]; bad {
			if unheld[s.Learner] == nil {
				unheld[s.Learner] = record.Broken{}
			}
			unheld[s.Learner][s.ID] = what
			continue
		}
		work, begun := works[s.Learner]
		if !begun {
			work = record.NewProgress(set)
		}
		work.Take(set, s, 0)
		works[s.Learner] = work
	}
	h, err := history.Read(ctx, without{book, a.Drops()}, within)
	if err != nil {
		return nil, err
	}
	list := make([]grade, len(people))
	for i, p := range people {
		g := &list[i]
		g.median, g.right = scoring.Undefined(0, "not done"), scoring.Undefined(0, "not done")
		g.work, g.unheld = works[p.ID], unheld[p.ID]
		due := a.DueFor(p.ID)
		doubted := g.work.Over() && checked && !g.done().DisplayState().Trusted()
		if g.work.Over() && !doubted {
			g.mark(a, due, h.Only(g.done().ID))
		}
		switch {
		case a.Excuses(p.ID):
			g.result, g.late = resultExcused, false
		case doubted:
			const words = "left out: its display failed the check or has none"
			g.result, g.median, g.right = resultDisplay, scoring.Undefined(0, words), scoring.Undefined(0, words)
		case g.work.Over():
		case len(g.unheld) > 0:
			g.result = resultUnheld
		case !now.Before(due):
			g.result = resultMissing
		case g.work.Begun():
			g.result = resultBegun
		default:
			g.result = resultOpen
		}
	}
	return list, nil
}

// without is a book in which some items of an assignment, from 1, have no answers.
type without struct {
	Book
	items []int
}

func (w without) Attempts(ctx context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	all := w.Book.Attempts(ctx, f)
	if len(w.items) == 0 {
		return all
	}
	return func(yield func(scoring.Attempt, error) bool) {
		for a, err := range all {
			if err == nil && slices.Contains(w.items, a.Trial.Ordinal+1) {
				continue
			}
			if !yield(a, err) {
				return
			}
		}
	}
}

// done is the sitting that was done to its end.
func (g *grade) done() scoring.Sitting { return g.work.Parts[0].Sitting }

// mark grades what was done to its end.
func (g *grade) mark(a scoring.Assignment, due time.Time, h *history.History) {
	g.late = g.done().Ended.After(due)
	g.answers = h.Attempts
	g.median = trend.Median(history.Flat(history.Over(history.WithColours(h.Kinds), history.Size)), history.Level)
	g.right = h.Right(h.Kinds)
	g.result = resultDone
	of, passes := g.median, func() bool { return g.median.Value <= a.Pass.Value }
	switch a.Pass.Rule {
	case scoring.PassNone:
		return
	case scoring.PassShare:
		of, passes = g.right, func() bool { return g.right.Value >= a.Pass.Value }
	}
	switch {
	case !of.Defined():
		g.result = resultUnknown
	case passes():
		g.result = resultPassed
	default:
		g.result = resultFailed
	}
}

// Verdicts says of the sittings that count for assignments with a pass mark, in all
// classes of a book, whether they passed.
func Verdicts(ctx context.Context, book Book, now time.Time) (map[scoring.SittingID]scoring.Verdict, error) {
	passed := map[scoring.SittingID]scoring.Verdict{}
	list, err := book.Classes(ctx)
	if err != nil {
		return nil, err
	}
	for _, class := range list {
		people, given, _, err := assigned(ctx, book, class)
		if err != nil {
			return nil, err
		}
		for _, a := range given {
			all, err := grades(ctx, book, a, people, now, false)
			if err != nil {
				return nil, err
			}
			since := lastDropped(a)
			for _, g := range all {
				if g.result == resultPassed || g.result == resultFailed {
					passed[g.done().ID] = scoring.Verdict{Passed: g.result == resultPassed, Since: since}
				}
			}
		}
	}
	return passed, nil
}

// lastDropped is when an item was last left out of the grade or counted again: nothing
// else that is decided makes a pass of a fail. Zero for never.
func lastDropped(a scoring.Assignment) (at time.Time) {
	for _, r := range a.Rulings {
		if r.What == scoring.Dropped && r.At.After(at) {
			at = r.At
		}
	}
	return at
}

// Grades says who has done the assignments of a class and who passed; with a
// number only that one's. With checked, what was done on a display that failed its check
// or has none is not graded.
func Grades(ctx context.Context, book Book, class scoring.Class, number int, now time.Time, checked bool) (report.Report, error) {
	people, given, gone, err := assigned(ctx, book, class)
	people = record.ToldApart(people)
	if err != nil {
		return report.Report{}, err
	}
	t := &report.Table{None: "nothing was assigned yet, or nobody is in the class", Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "assignment", Title: "no."}, {Key: "exercise", Title: "exercise", Left: true},
		{Key: "result", Title: "result", Left: true}, {Key: "done", Title: "done", Left: true}, {Key: "late", Title: "late", Left: true},
		{Key: "answers", Title: "answers"}, {Key: "median_dE00", Title: "median ΔE00", Estimates: true}, {Key: "right", Title: "right", Estimates: true},
		{Key: "left_early", Title: "tries left early"}, {Key: "code", Title: "code", Left: true}, {Key: "display", Title: "display", Left: true},
	}}
	var notes, commands []string
	var kinds []*history.Kind
	doubtful := false
	for _, a := range given {
		if number != 0 && a.Number != number {
			continue
		}
		kinds = append(kinds, &history.Kind{ID: a.Setup.Kind})
		notes = append(notes, fmt.Sprintf("Assignment %d (%s): %s.", a.Number, a.Code(), AssignmentWords(a)))
		notes = append(notes, rulingNotes(ctx, book, a)...)
		list, err := grades(ctx, book, a, people, now, checked)
		if err != nil {
			return report.Report{}, err
		}
		for i, g := range list {
			notes = append(notes, history.UnheldWords(g.unheld, people[i].Name)...)
			row := []report.Cell{report.Text(people[i].Name), report.Count(a.Number), history.KindCell(a.Setup.Kind), report.Text(g.result),
				report.Empty{}, report.Empty{}, report.Empty{}, report.Empty{}, report.Empty{}, report.Count(g.work.Left), report.Text(a.Code()), report.Empty{}}
			if g.work.Over() {
				row[4], row[5], row[6] = report.Text(scoring.Moment(g.done().Ended)), report.Yes(g.late), report.Count(g.answers)
				row[11] = report.Word{Key: string(g.done().DisplayState()), Shown: g.done().DisplayState().Words()}
				doubtful = doubtful || !g.done().DisplayState().Trusted()
				median, right := report.Estimate(g.median), report.Percent(g.right)
				switch a.Pass.Rule { // so that it can be seen why
				case scoring.PassMedian:
					median.Decimals = scoring.Digits(g.median.Value, median.Decimals, a.Pass.Value)
				case scoring.PassShare:
					right.Decimals = scoring.Digits(100*g.right.Value, 0, 100*a.Pass.Value)
				}
				row[7], row[8] = median, right
			}
			t.Rows = append(t.Rows, row)
		}
	}
	if number == 0 {
		notes = append(notes, goneNotes(ctx, book, gone)...)
	}
	switch {
	case checked:
		notes = append(notes, notGraded)
	case doubtful:
		notes = append(notes, "Whoever's display failed its check, or has none, may have seen other colours than were meant.")
		commands = append(commands, history.LeaveOut)
	}
	notes = append(notes, "The pass mark is laid against the number itself, not against its interval: near it, chance decides. The first try done to its end counts.",
		history.RightWords(kinds))
	return report.Report{Title: "Grades of class " + class.Name + simulatedWords(people), List: true, Cautions: scoring.Cautions, Sections: []report.Section{{Key: "grades", Table: t, Notes: notes, Commands: commands}}}, nil
}

// Assignments lists what a class was given to do, and how many did it. What decides the
// trials is left out: a page may be read by who is still to answer.
func Assignments(ctx context.Context, book Book, class scoring.Class, now time.Time) (report.Report, error) {
	people, given, gone, err := assigned(ctx, book, class)
	people = record.ToldApart(people)
	if err != nil {
		return report.Report{}, err
	}
	t := &report.Table{None: "nothing was assigned yet", Columns: []report.Column{
		{Key: "assignment", Title: "no."}, {Key: "exercise", Title: "exercise", Left: true}, {Key: "trials", Title: "trials"},
		{Key: "limit", Title: "limit", Left: true}, {Key: "pass", Title: "pass mark", Left: true}, {Key: "due", Title: "due", Left: true},
		{Key: "people", Title: "people"}, {Key: "done", Title: "done"}, {Key: "late", Title: "of them late"}, {Key: "passed", Title: "passed"}, {Key: "code", Title: "code", Left: true},
	}}
	var notes []string
	for _, a := range given {
		list, err := grades(ctx, book, a, people, now, false)
		if err != nil {
			return report.Report{}, err
		}
		for _, words := range rulingNotes(ctx, book, a) {
			notes = append(notes, fmt.Sprintf("Assignment %d (%s): %s", a.Number, a.Code(), words))
		}
		done, late, passed := 0, 0, 0
		for _, g := range list {
			if g.work.Over() {
				done++
			}
			if g.late {
				late++
			}
			if g.result == resultPassed {
				passed++
			}
		}
		ofPass := report.Cell(report.Count(passed))
		if a.Pass.Rule == scoring.PassNone {
			ofPass = report.Empty{}
		}
		t.Rows = append(t.Rows, []report.Cell{report.Count(a.Number), history.KindCell(a.Setup.Kind), report.Count(a.Setup.Count), report.Text(limitWords(a.Setup.Viewing.Limit)),
			report.Text(passWords(a.Pass)), report.Text(scoring.Moment(a.DueNow())), report.Count(len(people)), report.Count(done), report.Count(late), ofPass,
			report.Text(a.Code())})
	}
	return report.Report{Title: "Assignments of class " + class.Name, List: true, Sections: []report.Section{{Key: "assignments", Table: t, Notes: append(notes, goneNotes(ctx, book, gone)...)}}}, nil
}

// assigned are those of a class who are graded, what it is to do, and what it was to
// do before that was taken back.
func assigned(ctx context.Context, book Book, class scoring.Class) (people []scoring.Learner, given, gone []scoring.Assignment, err error) {
	roster, err := book.Roster(ctx, class.ID)
	if err != nil {
		return nil, nil, nil, err
	}
	for _, p := range roster {
		if p.Role == scoring.RoleLearner { // leads and instructors are not graded
			people = append(people, p)
		}
	}
	all, err := book.Assignments(ctx, class.ID)
	for _, a := range all {
		if a.Gone().IsZero() {
			given = append(given, a)
		} else {
			gone = append(gone, a)
		}
	}
	return people, given, gone, err
}

// notGraded is said where only checked displays were asked for.
const notGraded = "Not graded is what was done on a display that failed its check or has none."

// AssignmentWords is an assignment in one line.
func AssignmentWords(a scoring.Assignment) string {
	return fmt.Sprintf("%s, %s, %s, %s, due %s", history.KindTitle(a.Setup.Kind), scoring.Count(a.Setup.Count, "trial", "trials"), limitWords(a.Setup.Viewing.Limit), passWords(a.Pass), scoring.Moment(a.DueNow()))
}

func limitWords(limit time.Duration) string {
	if limit == 0 {
		return "no limit"
	}
	return fmt.Sprintf("%g s a look", limit.Seconds())
}

func passWords(p scoring.PassMark) string {
	switch p.Rule {
	case scoring.PassMedian:
		return fmt.Sprintf("median ΔE00 at most %g", p.Value)
	case scoring.PassShare:
		return fmt.Sprintf("at least %g %% right", 100*p.Value)
	}
	return "no pass mark"
}
