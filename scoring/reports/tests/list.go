package tests

import (
	"context"
	"slices"

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

// List lists the proficiency tests that some people took, with their results, and those
// of the forms that none of them has taken.
func List(ctx context.Context, book Book, people []scoring.Learner, forms []record.Form) (report.Report, error) {
	t := &report.Table{None: "no form of the test is laid down, and nobody has taken one", Columns: []report.Column{
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
	say := func(form string, cuts scoring.Cuts) {
		if said := form + ": " + cuts.Words(); !slices.Contains(levels, said) {
			levels = append(levels, said)
		}
	}
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
			date = report.Text(scoring.Date(h.First))
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(one.Who.Name), report.Text(one.Ref.Name), report.Count(max(1, one.Ref.Take)), date,
			report.Count(h.Answered()), report.Count(h.Answered() + h.Missing()), taken.shareCell(share),
			report.Estimate(errorsOf(measured(h))),
			report.Word{Key: string(level), Shown: words}, report.Text(print)})
		say(one.Ref.Name, taken.cuts())
	}
	for _, f := range forms {
		if slices.ContainsFunc(list, func(t Taking) bool { return t.Ref.Print == f.Print() }) {
			continue
		}
		items := 0
		for _, part := range f.Parts {
			items += part.Items()
		}
		others, err := book.Sittings(ctx, record.Filter{Within: f.Set().Ref.String()})
		if err != nil {
			return report.Report{}, err
		}
		who := "nobody yet"
		switch {
		case len(people) == 1:
			who = people[0].Name + ": not yet"
		case len(others) > 0:
			who = "none of these yet"
		}
		t.Rows = append(t.Rows, []report.Cell{report.Word{Shown: who}, report.Text(f.Name), report.Empty{}, report.Empty{}, report.Empty{}, report.Count(items),
			report.Empty{}, report.Empty{}, report.Empty{}, report.Text(f.Print())})
		say(f.Name, f.Levels)
	}
	return report.Report{Title: "Proficiency tests", List: true, Cautions: scoring.Cautions,
		Sections: []report.Section{{Key: "exams", Table: t, Notes: append(notes, levels...)}}}, nil
}
