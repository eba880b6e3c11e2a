package classes

import (
	"context"
	"fmt"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// Book is what lists of classes read of the book.
type Book interface {
	history.Book
	record.Classes
	record.Assignments
}

// List lists the classes of a book.
func List(ctx context.Context, book Book) (report.Report, error) {
	t := &report.Table{None: "there is no class yet", Columns: []report.Column{
		{Key: "class", Title: "class", Left: true}, {Key: "people", Title: "people"}, {Key: "assignments", Title: "assignments"},
		{Key: "since", Title: "since", Left: true},
	}}
	list, err := book.Classes(ctx)
	if err != nil {
		return report.Report{}, err
	}
	for _, c := range list {
		people, err := book.Roster(ctx, c.ID)
		if err != nil {
			return report.Report{}, err
		}
		_, given, _, err := assigned(ctx, book, c)
		if err != nil {
			return report.Report{}, err
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(c.Name), report.Count(len(people)), report.Count(len(given)), date(c.At)})
	}
	return report.Report{Title: "Classes", List: true, Sections: []report.Section{{Key: "classes", Table: t}}}, nil
}

// Roster lists who is in a class. Its CSV can be enrolled from.
func Roster(ctx context.Context, book Book, class scoring.Class) (report.Report, error) {
	t := &report.Table{None: "nobody is in this class yet", Columns: []report.Column{
		{Key: "name", Title: "name", Left: true}, {Key: "number", Title: "number", Left: true}, {Key: "role", Title: "role", Left: true}, {Key: "simulated", Title: "simulated", Left: true},
		{Key: "sittings", Title: "sittings"}, {Key: "last", Title: "last active", Left: true},
	}}
	people, err := book.Roster(ctx, class.ID)
	if err != nil {
		return report.Report{}, err
	}
	for _, p := range people {
		sittings, err := record.Answered(ctx, book, record.Filter{Learner: p.ID})
		if err != nil {
			return report.Report{}, err
		}
		last := report.Cell(report.Empty{})
		if n := len(sittings); n > 0 {
			last = date(sittings[n-1].Started)
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(p.Name), optional(p.Number), report.Text(p.Role), report.Yes(p.Simulated), report.Count(len(sittings)), last})
	}
	t.HideUniform("number")
	return report.Report{Title: fmt.Sprintf("Class %s", class.Name), List: true, Sections: []report.Section{{Key: "roster", Table: t}}}, nil
}

func date(t time.Time) report.Cell { return report.Text(scoring.Date(t)) }

// LaidDown counts in words what was laid down for a class alone, and goes with it.
func LaidDown(ctx context.Context, book record.Book, class scoring.Class) (string, error) {
	given, err := book.Assignments(ctx, class.ID)
	if err != nil {
		return "", err
	}
	words := scoring.Count(len(given), "assignment", "assignments")
	forms, err := book.Forms(ctx)
	if err != nil {
		return "", err
	}
	sessions, err := book.Panels(ctx)
	if err != nil {
		return "", err
	}
	forms = slices.DeleteFunc(forms, func(f record.Form) bool { return f.Class != class.ID })
	sessions = slices.DeleteFunc(sessions, func(p record.Panel) bool { return p.Class != class.ID })
	if n := len(forms); n > 0 {
		words += ", " + scoring.Count(n, "form of the test", "forms of the test")
	}
	if n := len(sessions); n > 0 {
		words += ", " + scoring.Count(n, "calibration session", "calibration sessions")
	}
	return words, nil
}
