package tests

import (
	"context"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// Of lists the takings of forms by some people, one person after the other, each
// person's oldest first.
func Of(ctx context.Context, book Book, people []scoring.Learner) (list []Taking, err error) {
	for _, who := range people {
		taken, err := record.Taken(ctx, book, who.ID, scoring.TestSet)
		if err != nil {
			return nil, err
		}
		for _, ref := range taken {
			list = append(list, Taking{who, ref})
		}
	}
	return list, nil
}

// Taking is one person's taking of a form.
type Taking struct {
	Who scoring.Learner
	Ref scoring.SetRef
}

// List lists the proficiency tests that some people took, with their results.
func List(ctx context.Context, book Book, people []scoring.Learner) (report.Report, error) {
	t := &report.Table{None: "nobody has taken a test yet", Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "form", Title: "form", Left: true}, {Key: "take", Title: "take"},
		{Key: "date", Title: "date", Left: true}, {Key: "answers", Title: "answers"}, {Key: "items", Title: "items"},
		{Key: "right", Title: "right", Estimates: true}, {Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "class", Title: "level", Left: true}, {Key: "fingerprint", Title: "fingerprint", Left: true},
	}}
	list, err := Of(ctx, book, record.ToldApart(people))
	if err != nil {
		return report.Report{}, err
	}
	var notes, levels []string
	for _, one := range list {
		taken, err := read(ctx, book, one.Who.ID, one.Ref)
		if err != nil {
			return report.Report{}, err
		}
		h := taken.history
		share, level, uncertain := taken.level()
		words := string(level)
		switch why := taken.incomplete(); {
		case len(taken.faults) > 0:
			words = "not as it was taken"
			for _, fault := range taken.faults {
				notes = append(notes, one.Who.Name+", form "+one.Ref.Name+": "+fault)
			}
		case taken.begun+taken.waiting > 0:
			words = "under way"
		case len(why) > 0:
			words = "broken off"
		case uncertain != "" && share.Defined():
			share = share.Warn(uncertain)
		}
		print := one.Ref.Print
		if print == "" {
			print = "open form"
		}
		date := report.Cell(report.Empty{})
		if !h.First.IsZero() {
			date = report.Text(h.First.UTC().Format(time.DateOnly))
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(one.Who.Name), report.Text(one.Ref.Name), report.Count(max(1, one.Ref.Take)), date,
			report.Count(h.Answered()), report.Count(h.Answered() + h.Missing()), taken.shareCell(share),
			report.Estimate(errorsOf(measured(h))),
			report.Word{Key: string(level), Shown: words}, report.Text(print)})
		if said := one.Ref.Name + ": " + taken.cuts().Words(); !slices.Contains(levels, said) {
			levels = append(levels, said)
		}
	}
	return report.Report{Title: "Proficiency tests", List: true, Cautions: scoring.Cautions,
		Sections: []report.Section{{Key: "exams", Table: t, Notes: append(notes, levels...)}}}, nil
}
