package reports

import (
	"context"
	"fmt"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// level is the coverage of every interval in these reports.
const level = 0.95

// Progress reports on one person's answers: how large the errors are, which way
// they lean, whether they shrink, and where they are largest. The filter may
// narrow the answers by time, exercise or what they belong to.
func Progress(ctx context.Context, book Record, who scoring.Learner, f record.Filter) (report.Report, error) {
	f.Learner = who.ID
	h, err := read(ctx, book, f)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Progress of " + who.Name, Cautions: scoring.Cautions}
	if who.Simulated {
		r.Title += " (simulated: a made-up person)"
	}
	r.Lead = []string{h.summary()}
	if h.adaptive {
		r.Lead = append(r.Lead, "Practice that adapts asks more where errors are large, so these errors are larger than those of an even sample would be.")
	}
	coloured := withColours(h.kinds)
	r.Sections = append(r.Sections, accuracySection(coloured))
	r.Sections = appendIf(r.Sections, choiceSection(h.kinds), checkSection(h.kinds), directionSection(h.kinds), numberSection(h.kinds))
	r.Sections = append(r.Sections, biasSection(coloured, directed(h.kinds)), trendSection(coloured), regionSection(coloured))
	r.Sections = appendIf(r.Sections, lightSection(coloured))
	for _, k := range h.kinds {
		if exercises.TraitsOf(k.id).MeasuresThreshold {
			s := thresholdCourse(k)
			s.Key = "thresholds"
			r.Sections = append(r.Sections, s)
		}
	}
	if v := visionSection(coloured); v != nil {
		r.Sections = append(r.Sections, *v)
	}
	return r, nil
}

func appendIf(list []report.Section, more ...report.Section) []report.Section {
	for _, s := range more {
		if s.Table != nil && len(s.Table.Rows) > 0 {
			list = append(list, s)
		}
	}
	return list
}

func withColours(kinds []*kindHistory) []*kindHistory {
	var list []*kindHistory
	for _, k := range kinds {
		for _, s := range k.sittings {
			if len(s.judged) > 0 {
				list = append(list, k)
				break
			}
		}
	}
	return list
}

func (h *history) summary() string {
	if h.attempts == 0 {
		return "No answers yet."
	}
	days := fmt.Sprintf("from %s to %s", day(h.first), day(h.last))
	if day(h.first) == day(h.last) {
		days = "on " + day(h.first)
	}
	return fmt.Sprintf("%d %s in %d %s, %s.", h.attempts, plural(h.attempts, "answer", "answers"),
		h.sittings, plural(h.sittings, "sitting", "sittings"), days)
}

func day(t time.Time) string { return t.Format("2 January 2006") }

// all is the row of all exercises together.
var all = report.Word{Key: "all", Shown: "all exercises"}

// rows calls add for each exercise and, when there are several, for all of them
// together.
func rows(kinds []*kindHistory, add func(report.Cell, []*kindHistory)) {
	for _, k := range kinds {
		add(report.Word{Key: string(k.id), Shown: k.title}, []*kindHistory{k})
	}
	if len(kinds) > 1 {
		add(all, kinds)
	}
}

func sittingsOf(kinds []*kindHistory) (sittings, answers int) {
	for _, k := range kinds {
		sittings += len(k.sittings)
		answers += k.attempts
	}
	return sittings, answers
}
