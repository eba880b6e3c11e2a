package transfer

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// An export for research names nobody: labels stand in the place of people, sittings
// and what these are within, the same in every export of the book; times are days
// since the person's first sitting. What says when something was, on which machine or
// from which seed is left out with the columns that hold it.

// PseudonymSource is what such an export reads of a book.
type PseudonymSource interface {
	Source
	Sittings(context.Context, record.Filter) ([]scoring.Sitting, error)
	Label(ctx context.Context, kind, id string) (string, error)
}

// first columns of an export for research; the other columns follow as they are.
var labelled = []string{"person", "sitting", "within", "simulated", "day"}

// kept are the columns of an ordinary export that name nobody and no time.
var kept = []string{"kind", "ordinal", "target_hex", "answer_hex", "target_L", "target_a", "target_b", "answer_L", "answer_a", "answer_b",
	"dE00", "dL", "dC", "dH", "group_steps", "band", "points", "first_ms", "total_ms", "part", "item", "tab", "neighbour", "group", "choice",
	"trial_data", "answer_data", "number", "said_value", "said_chroma", "said_hue"}

// ExportPseudonyms writes the attempts that the filter lets through with labels in the
// place of people, as CSV or JSON lines. It is for reading: nothing can be imported
// from it.
func ExportPseudonyms(ctx context.Context, book PseudonymSource, f record.Filter, to io.Writer, format Format) error {
	if format != CSV && format != JSONLines {
		return fmt.Errorf("no export with pseudonyms as %q; there are %s and %s", format, CSV, JSONLines)
	}
	sittings, err := book.Sittings(ctx, record.Filter{Learner: f.Learner})
	if err != nil {
		return err
	}
	began := map[scoring.LearnerID]time.Time{}
	of := map[scoring.SittingID]scoring.Sitting{}
	for _, s := range sittings {
		of[s.ID] = s
		if first, known := began[s.Learner]; !known || s.Started.Before(first) {
			began[s.Learner] = s.Started
		}
	}
	labels := map[[2]string]string{}
	label := func(kind, id string) (string, error) {
		key := [2]string{kind, id}
		if l, known := labels[key]; known || id == "" {
			return l, nil
		}
		l, err := book.Label(ctx, kind, id)
		labels[key] = l
		return l, err
	}
	var at []int
	for _, name := range kept {
		at = append(at, slices.Index(columns, name))
	}
	names := append(slices.Clone(labelled), kept...)
	out := bufio.NewWriterSize(to, 1<<16)
	write := csvRows(out, names)
	if format == JSONLines {
		write = jsonRows(out, names)
	}
	for row, err := range rows(ctx, book, []record.Filter{f}) {
		if err != nil {
			return err
		}
		fields, err := row.fields()
		if err != nil {
			return err
		}
		a, s := row.attempt, of[row.attempt.Sitting]
		first := make([]value, len(labelled))
		for i, of := range [][2]string{{"person", string(a.Learner)}, {"sitting", string(a.Sitting)}, {"within", s.Within}} {
			l, err := label(of[0], of[1])
			if err != nil {
				return err
			}
			first[i] = text(l)
		}
		first[2].text = within(s, first[2].text)
		first[3] = text(map[bool]string{true: "yes", false: "no"}[s.Origin.Simulated])
		first[4] = count(days(began[a.Learner], a.At))
		for _, i := range at {
			first = append(first, fields[i])
		}
		if err := write(first); err != nil {
			return err
		}
	}
	if err := write(nil); err != nil {
		return err
	}
	return out.Flush()
}

// within is what kind of set a sitting belongs to, and the label of the set.
func within(s scoring.Sitting, label string) string {
	if ref, ok := scoring.ParseSetRef(s.Within); ok {
		return string(ref.Kind) + " " + label
	}
	return label
}

// days are whole days between two moments; what lies before counts as the first day.
func days(from, to time.Time) int { return max(0, int(to.Sub(from).Hours()/24)) }
