// Package learners reports to whoever practises: how large the errors are, which
// way they run, whether they shrink, where they are largest, and what to practise
// today.
package learners

import (
	"context"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/thresholds"
)

// Progress reports on one person's answers: how large the errors are, which way
// they run, whether they shrink, and where they are largest. The filter may
// narrow the answers by time, exercise or what they belong to. On top stands what a learner
// looks at first, see [Glance]; now is when they look. With checked, what was taken on a
// display that failed its check or has none is left out.
func Progress(ctx context.Context, book history.Book, who scoring.Learner, f record.Filter, now time.Time, checked bool) (report.Report, error) {
	narrowed := checked || f != (record.Filter{})
	f.Learner = who.ID
	from := book
	if checked {
		from = history.OnCheckedDisplays(book)
	}
	h, err := history.Read(ctx, from, f)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Progress of " + who.Name, Cautions: scoring.Cautions}
	if who.Simulated {
		r.Title += " (simulated)"
	}
	g := glance(h, now)
	if !narrowed {
		if g.Next, err = nextWords(ctx, book, who.ID, now); err != nil {
			return report.Report{}, err
		}
	}
	r.Lead = g.Lines()
	displays := h.Displays()
	if checked {
		if displays, err = history.DisplaysIn(ctx, book, f); err != nil {
			return report.Report{}, err
		}
	}
	switch words := displays.Words(); {
	case checked && words != "":
		r.Lead = append([]string{"Left out: the display " + words + "."}, r.Lead...)
	case checked:
		r.Lead = append([]string{history.AllChecked}, r.Lead...)
	case words != "":
		r.Lead = append(r.Lead, "The display "+words+": colours may have been others than meant.")
		r.Commands = append(r.Commands, history.LeaveOut)
	}
	if h.Adaptive {
		r.Lead = append(r.Lead, history.EvenNote)
	}
	coloured := history.WithColours(h.Kinds)
	// The first page is one to be shown around; the tables begin on the next.
	tables := accuracySection(coloured)
	tables.NewPage = true
	r.Sections = append(r.Sections, g.section(now), tables)
	r.Sections = report.AppendFilled(r.Sections, choiceSection(h.Kinds), checkSection(h.Kinds), directionSection(h.Kinds), numberSection(h.Kinds))
	r.Sections = append(r.Sections, biasSection(coloured, history.Directed(h.Kinds)), trendSection(coloured), regionSection(coloured))
	r.Sections = report.AppendFilled(r.Sections, lightSection(coloured))
	for _, k := range h.Kinds {
		if exercises.TraitsOf(k.ID).MeasuresThreshold {
			s := thresholds.OverTime(k)
			s.Key = "thresholds"
			r.Sections = append(r.Sections, s)
		}
	}
	if v := visionSection(coloured); v != nil {
		r.Sections = append(r.Sections, *v)
	}
	for i, s := range r.Sections {
		if s.Table != nil && len(s.Table.Rows) == 0 {
			r.Sections[i].Notes = nil // they explain figures of which there are none
		}
	}
	return r, nil
}

// all is the row of all exercises together.
var all = report.Word{Key: "all", Shown: "all exercises"}

// rows calls add for each exercise and, when there are several, for all of them
// together.
func rows(kinds []*history.Kind, add func(report.Cell, []*history.Kind)) {
	for _, k := range kinds {
		add(report.Word{Key: string(k.ID), Shown: k.Title}, []*history.Kind{k})
	}
	if len(kinds) > 1 {
		add(all, kinds)
	}
}

func sittingsOf(kinds []*history.Kind) (sittings, answers int) {
	for _, k := range kinds {
		sittings += len(k.Sittings)
		answers += k.Attempts
	}
	return sittings, answers
}
