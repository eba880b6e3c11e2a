package panels

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// away is after how long without an answer somebody counts as no longer at it; house
// choice: longer than any look and pause.
const away = 15 * time.Minute

// Live says how far each has come who has begun a session: at which answer, not what it
// shows or what was answered, so that the session stays silent.
func Live(ctx context.Context, book record.Book, p record.Panel, now time.Time) (report.Report, error) {
	t := &report.Table{None: "nobody has begun it", Columns: []report.Column{
		{Key: "person", Title: "person", Left: true}, {Key: "state", Title: "state", Left: true},
		{Key: "answers", Title: "answers"}, {Key: "planned", Title: "of how many"}, {Key: "seconds", Title: "seconds since the last"},
	}}
	r := report.Report{Title: "Calibration session " + p.Name + " now", Sections: []report.Section{{Key: "live", Table: t}}}
	set := p.Set()
	sittings, err := book.Sittings(ctx, record.Filter{Within: set.Ref.String()})
	if err != nil {
		return r, err
	}
	of, err := plannedOf(ctx, book, p.Setup)
	if err != nil {
		of = 0
	}
	var people []scoring.Learner
	for _, s := range sittings {
		if slices.ContainsFunc(people, func(l scoring.Learner) bool { return l.ID == s.Learner }) {
			continue
		}
		who, err := book.Learner(ctx, s.Learner)
		if err != nil {
			return r, err
		}
		people = append(people, who)
	}
	slices.SortFunc(people, func(a, b scoring.Learner) int { return strings.Compare(record.NameKey(a.Name), record.NameKey(b.Name)) })
	at, through := 0, 0
	for _, who := range people {
		progress, err := record.ProgressOf(ctx, book, set, who.ID)
		if err != nil {
			return r, err
		}
		if !progress.Begun() {
			continue
		}
		part := progress.Parts[0]
		last := part.Sitting.Started
		for a, err := range book.Attempts(ctx, record.Filter{Sitting: part.Sitting.ID, Learner: who.ID, Light: true, Silent: true}) {
			if err != nil {
				return r, err
			}
			if a.At.After(last) {
				last = a.At
			}
		}
		since := report.Cell(report.Count(int(max(0, now.Sub(last)).Seconds())))
		state := "at it"
		switch {
		case part.Over():
			state, since = "through", report.Empty{}
			through++
		case now.Sub(last) > away:
			state, since = "broken off", report.Empty{}
		default:
			at++
		}
		planned := report.Cell(report.Empty{})
		if of > 0 {
			planned = report.Count(of)
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(who.Name), report.Text(state), report.Count(part.Given), planned, since})
	}
	r.Lead = []string{fmt.Sprintf("%d at it now, %d through.", at, through)}
	return r, nil
}
