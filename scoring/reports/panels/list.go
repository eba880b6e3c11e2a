package panels

import (
	"context"
	"fmt"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// List lists a book's calibration sessions and how many have taken them.
func List(ctx context.Context, book record.Book) (report.Report, error) {
	t := &report.Table{None: "no calibration sessions yet", Columns: []report.Column{
		{Key: "session", Title: "session", Left: true}, {Key: "kind", Title: "exercise", Left: true},
		{Key: "items", Title: "items"}, {Key: "repeats", Title: "shown each"}, {Key: "library", Title: "library", Left: true},
		{Key: "begun", Title: "begun by"}, {Key: "done", Title: "finished by"}, {Key: "made", Title: "laid down", Left: true},
		{Key: "lead", Title: "lead", Left: true}, {Key: "state", Title: "state", Left: true},
	}}
	r := report.Report{Title: "Calibration sessions", List: true, Sections: []report.Section{{Key: "sessions", Table: t}}}
	panels, err := book.Panels(ctx)
	if err != nil {
		return r, err
	}
	for _, p := range panels {
		kind, library, lead := string(p.Setup.Kind), "", ""
		if k, err := exercises.ByID(p.Setup.Kind); err == nil {
			kind = k.Title()
		}
		if p.Setup.SheetID != "" {
			sheet, err := book.Sheet(ctx, p.Setup.SheetID)
			if err != nil {
				return r, err
			}
			library = sheet.Library()
		}
		if p.By != "" {
			who, err := book.Learner(ctx, p.By)
			if err != nil {
				return r, err
			}
			lead = who.Name
		}
		items := p.Setup.Count
		if n, err := plannedOf(ctx, book, p.Setup); err == nil {
			items = n / p.Setup.Repeats
		}
		set := p.Set()
		sittings, err := book.Sittings(ctx, record.Filter{Within: set.Ref.String()})
		if err != nil {
			return r, err
		}
		begun, done := map[scoring.LearnerID]bool{}, map[scoring.LearnerID]bool{}
		for _, s := range sittings {
			if _, asked := set.Part(s.Setup); asked {
				begun[s.Learner] = true
				if !s.Ended.IsZero() && !s.Left {
					done[s.Learner] = true
				}
			}
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(p.Name), report.Word{Key: string(p.Setup.Kind), Shown: kind},
			report.Count(items), report.Count(p.Setup.Repeats), report.Text(library), report.Count(len(begun)), report.Count(len(done)),
			report.Text(scoring.Date(p.At)), report.Text(lead), report.Text(stateOf(p))})
	}
	return r, nil
}

// plannedOf is how many answers a drill takes.
func plannedOf(ctx context.Context, book record.Sittings, s exercises.Setup) (int, error) {
	if s.SheetID != "" {
		sheet, err := book.Sheet(ctx, s.SheetID)
		if err != nil {
			return 0, err
		}
		s.Sheet = sheet
	}
	run, err := exercises.NewRun(s)
	if err != nil {
		return 0, err
	}
	return run.Planned(), nil
}

func stateOf(p record.Panel) string {
	if p.Closed.IsZero() {
		return "open"
	}
	return fmt.Sprintf("closed %s", scoring.Date(p.Closed))
}
