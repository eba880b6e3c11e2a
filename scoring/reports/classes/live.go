package classes

import (
	"context"
	"fmt"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// leastAway is after how long without an answer somebody who has a drill open counts
// as no longer at it; house choice: longer than any look and pause.
const leastAway = 15 * time.Minute

// Live says who of a class is at a drill at this moment and how far: which trial, not
// what it shows or what was answered: a silent session stays silent, and its answers
// are counted and no more.
func Live(ctx context.Context, book history.Book, class Scope, now time.Time) (report.Report, error) {
	t := &report.Table{None: "nobody of the class is at a drill", Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "exercise", Title: "exercise", Left: true}, {Key: "within", Title: "of", Left: true},
		{Key: "answers", Title: "answers"}, {Key: "planned", Title: "of how many"}, {Key: "seconds", Title: "seconds since the last"},
	}}
	r := report.Report{Title: "Class " + class.Name + " now", Sections: []report.Section{{Key: "live", Table: t}}}
	for _, p := range class.People {
		sittings, err := book.Sittings(ctx, record.Filter{Learner: p.ID})
		if err != nil {
			return r, err
		}
		for i := len(sittings) - 1; i >= 0; i-- {
			s := sittings[i]
			if !s.Ended.IsZero() {
				continue
			}
			n, last := 0, s.Started
			for a, err := range book.Attempts(ctx, record.Filter{Sitting: s.ID, Learner: p.ID, Light: true, Silent: true}) {
				if err != nil {
					return r, err
				}
				n++
				if a.At.After(last) {
					last = a.At
				}
			}
			since := now.Sub(last)
			if since > leastAway {
				break // and older ones are further away
			}
			t.Rows = append(t.Rows, []report.Cell{report.Text(p.Name), history.KindCell(s.Setup.Kind), report.Text(class.setWords(s)),
				report.Count(n), planned(ctx, book, s), report.Count(int(max(0, since).Seconds()))})
			break
		}
	}
	r.Lead = []string{fmt.Sprintf("%d of %d %s at a drill.", len(t.Rows), len(class.People), scoring.Plural(len(t.Rows), "is", "are"))}
	return r, nil
}

// setWords names what a sitting belongs to; empty for practice of one's own.
func (c Scope) setWords(s scoring.Sitting) string {
	ref := s.Set()
	if name, known := c.Sets[ref.String()]; known {
		return name
	}
	if ref.Kind == "" {
		return ""
	}
	return fmt.Sprintf("%s %s", ref.Kind.Words().Noun, ref.Name)
}

// planned is how many answers a drill takes, where that can be told.
func planned(ctx context.Context, book history.Book, s scoring.Sitting) report.Cell {
	setup, err := record.SetupOf(ctx, book, s)
	if err != nil {
		return report.Empty{}
	}
	run, err := exercises.NewRun(setup)
	if err != nil || run.Planned() == 0 { // a form keeps its seed to itself
		if s.Setup.Count > 0 {
			return report.Count(s.Setup.Count)
		}
		return report.Empty{}
	}
	return report.Count(run.Planned())
}
