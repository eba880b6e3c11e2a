package classes

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// UsualPoints is what an assignment is worth where nobody says otherwise; house choice.
const UsualPoints = 10

// points are what a person gets for an assignment, of most; ok is false while it can
// still be done. House rule: for a share right that share of the points, for a median
// ΔE00 all of them up to the pass mark and then less, none from twice the mark on, and
// without a pass mark all for having done it.
func (g grade) points(a scoring.Assignment, most float64) (float64, bool) {
	switch g.result {
	case resultMissing:
		return 0, true
	case resultOpen, resultBegun, resultUnknown, resultUnheld, resultExcused, resultDisplay:
		return 0, false
	}
	switch a.Pass.Rule {
	case scoring.PassShare:
		return most * g.right.Value, true
	case scoring.PassMedian:
		return most * math.Max(0, math.Min(1, 2-g.median.Value/a.Pass.Value)), true
	}
	return most, true
}

// WideGrades has a row a student and a column an assignment with points out of a
// maximum, as learning-management systems import grades.
func WideGrades(ctx context.Context, book Book, class scoring.Class, most float64, now time.Time, checked bool) (report.Report, error) {
	people, given, gone, err := assigned(ctx, book, class)
	if err != nil {
		return report.Report{}, err
	}
	t := &report.Table{None: "nobody is in the class", Columns: []report.Column{
		{Key: "id", Title: "ID", Left: true}, {Key: "name", Title: "name", Left: true}, {Key: "email", Title: "e-mail", Left: true}}}
	for _, p := range people {
		t.Rows = append(t.Rows, []report.Cell{report.Text(p.Number), report.Text(p.Name), report.Text(p.Email)})
	}
	var notes []string
	for _, a := range given {
		title := fmt.Sprintf("assignment %s (%g)", a.Code(), most)
		if slices.ContainsFunc(given, func(o scoring.Assignment) bool { return o.Number != a.Number && o.Code() == a.Code() }) {
			title = fmt.Sprintf("assignment %s, number %d (%g)", a.Code(), a.Number, most)
		}
		t.Columns = append(t.Columns, report.Column{Key: title, Title: title})
		notes = append(notes, fmt.Sprintf("Assignment %s is number %d here: %s.", a.Code(), a.Number, AssignmentWords(a)))
		notes = append(notes, rulingNotes(ctx, book, a)...)
		list, err := grades(ctx, book, a, people, now, checked)
		if err != nil {
			return report.Report{}, err
		}
		for i, g := range list {
			cell := report.Cell(report.Empty{})
			if points, known := g.points(a, most); known {
				cell = report.Number{Value: math.Round(10*points) / 10, Decimals: 1}
			}
			t.Rows[i] = append(t.Rows[i], cell)
		}
	}
	notes = append(notes, goneNotes(ctx, book, gone)...)
	if checked {
		notes = append(notes, notGraded)
	}
	notes = append(notes, "Points (house rule): of a share right that share of them; of a median ΔE00 all up to the pass mark and then less, none from twice the mark on; without a pass mark all for having done it. Empty: excused, done on a display that was to be left out, not done and not due yet, or not to be marked. Late is not deducted: that is told by the grades a row an assignment.")
	return report.Report{Title: "Grade book of class " + class.Name + simulatedWords(people), List: true, Cautions: scoring.Cautions,
		Sections: []report.Section{{Key: "grades", Table: t, Notes: notes}}}, nil
}

// simulatedWords is added to a title where simulated people stand below it.
func simulatedWords(people []scoring.Learner) string {
	for _, p := range people {
		if p.Simulated {
			return " (with simulated people)"
		}
	}
	return ""
}
