package classes

import (
	"context"
	"strings"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// Of are the classes that a person is in.
func Of(ctx context.Context, book record.Classes, who scoring.LearnerID) (in []scoring.Class, err error) {
	list, err := book.Classes(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range list {
		roster, err := book.Roster(ctx, c.ID)
		if err != nil {
			return nil, err
		}
		for _, p := range roster {
			if p.ID == who {
				in = append(in, c)
			}
		}
	}
	return in, nil
}

// PeopleBook is what the list of people reads of the book.
type PeopleBook interface {
	Book
	record.People
}

// People lists everybody in a book, and what was done to people.
func People(ctx context.Context, book PeopleBook) (report.Report, error) {
	t := &report.Table{None: "nobody is in this book yet", Columns: []report.Column{
		{Key: "name", Title: "name", Left: true}, {Key: "number", Title: "number", Left: true}, {Key: "email", Title: "e-mail", Left: true},
		{Key: "role", Title: "role", Left: true}, {Key: "classes", Title: "classes", Left: true}, {Key: "sittings", Title: "sittings"},
		{Key: "last", Title: "last active", Left: true}, {Key: "simulated", Title: "simulated", Left: true},
	}}
	people, err := book.Learners(ctx)
	if err != nil {
		return report.Report{}, err
	}
	in := map[scoring.LearnerID][]string{}
	list, err := book.Classes(ctx)
	if err != nil {
		return report.Report{}, err
	}
	for _, c := range list {
		roster, err := book.Roster(ctx, c.ID)
		if err != nil {
			return report.Report{}, err
		}
		for _, p := range roster {
			in[p.ID] = append(in[p.ID], c.Name)
		}
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
		t.Rows = append(t.Rows, []report.Cell{report.Text(p.Name), optional(p.Number), optional(p.Email), report.Text(p.Role),
			optional(strings.Join(in[p.ID], ", ")), report.Count(len(sittings)), last, report.Yes(p.Simulated)})
	}
	done, err := deeds(ctx, book)
	if err != nil {
		return report.Report{}, err
	}
	return report.Report{Title: "People", List: true, Sections: []report.Section{{Key: "people", Table: t}, {Key: "done", Title: "What was done to people", Table: done}}}, nil
}

func optional(s string) report.Cell {
	if s == "" {
		return report.Empty{}
	}
	return report.Text(s)
}

// deeds lists what was done, without a name: whoever was erased has none here.
func deeds(ctx context.Context, book PeopleBook) (*report.Table, error) {
	t := &report.Table{None: "nothing yet", Columns: []report.Column{
		{Key: "at", Title: "when", Left: true}, {Key: "what", Title: "what", Left: true}, {Key: "identifier", Title: "identifier", Left: true},
		{Key: "sittings", Title: "sittings"}, {Key: "answers", Title: "answers"}, {Key: "wiped", Title: "no trace in the file", Left: true},
	}}
	list, err := book.Deeds(ctx)
	if err != nil {
		return nil, err
	}
	for _, d := range list {
		what, wiped := string(d.What), report.Cell(report.Empty{})
		if d.What.Leaves() {
			wiped = report.Yes(d.Wiped)
		}
		switch d.What {
		case record.DeedJoined:
			what = "joined with another"
		case record.DeedNumbered:
			what = "name numbered: it reads like another"
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(scoring.Zoned(d.At, time.DateTime)), report.Text(what), report.Text(string(d.Learner)),
			report.Count(d.Sittings), report.Count(d.Answers), wiped})
	}
	return t, nil
}
