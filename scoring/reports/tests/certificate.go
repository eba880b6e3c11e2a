// Package tests reports on proficiency tests: to the person tested, what the result
// is and what it can and cannot claim; to whoever set the test, who took it and how
// it went.
package tests

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// Certificate reports on one person's taking of a form: the share right and the
// median ΔE00 with their intervals, the bias, the class by the given cut-offs,
// and what the result can and cannot claim.
func Certificate(ctx context.Context, book history.Book, who scoring.Learner, within string, cuts scoring.Cuts) (report.Report, error) {
	test, ok := scoring.ParseSetRef(within)
	if !ok || test.Kind != scoring.TestSet {
		return report.Report{}, fmt.Errorf("%q names no proficiency test", within)
	}
	h, broken, err := history.ReadHolding(ctx, book, record.Filter{Learner: who.ID, Within: within})
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Proficiency test, form " + test.Name + ": " + who.Name, Cautions: scoring.Cautions}
	if who.Simulated {
		r.Title += " (simulated)"
	}
	r.Lead = []string{h.Summary()}
	if test.Take > 1 {
		r.Lead = append(r.Lead, fmt.Sprintf("This is take %d of the same form: whoever saw it before had an easier time.", test.Take))
	}
	if len(broken) > 0 {
		r.Lead = append(r.Lead, history.UnheldWords(broken, "")...)
		r.Lead = append(r.Lead, "This is no complete test.")
	}
	if parts := h.PartsMissing(); parts > 0 {
		r.Lead = append(r.Lead, fmt.Sprintf("%d %s of the form %s not begun. This is no complete test.", parts, scoring.Plural(parts, "part", "parts"), scoring.Plural(parts, "was", "were")))
	}
	if missing := h.Missing(); missing > 0 {
		r.Lead = append(r.Lead, fmt.Sprintf("Broken off: %d of the items that were begun have no answer. This is no complete test.", missing))
	}
	r.Sections = []report.Section{resultSection(h, cuts), partSection(h)}
	if yardstick, ok := yardstickSection(h, cuts); ok {
		r.Sections = append(r.Sections, yardstick)
	}
	r.Sections = append(r.Sections, conditionSection(h, test.Name))
	return r, nil
}

// measured are the sittings that tell how large the errors are: the free parts
// where a form has some, else all that ask for a colour.
func measured(h *history.History) []*history.Kind {
	var free []*history.Kind
	for _, k := range h.Kinds {
		only := *k
		only.Sittings = slices.DeleteFunc(slices.Clone(k.Sittings), func(s *history.Sitting) bool { return !scoring.Free(s.Sitting) })
		if len(only.Sittings) > 0 {
			free = append(free, &only)
		}
	}
	if len(free) > 0 {
		return history.WithColours(free)
	}
	return history.WithColours(h.Kinds)
}

func resultSection(h *history.History, cuts scoring.Cuts) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "measure", Title: "measure", Left: true}, {Key: "result", Title: "result", Estimates: true}, {Key: "meaning", Title: "meaning", Left: true},
	}}
	share := h.Right(h.Kinds)
	class, doubt := cuts.Classify(share, history.Counted(h.Kinds))
	meaning := string(class)
	if doubt != "" {
		meaning += ", but see below"
	}
	coloured := measured(h)
	errors := trend.Median(history.Flat(history.Over(coloured, history.Size)), history.Level)
	band := ""
	if errors.Defined() {
		band = scoring.BandOf(errors.Value).Words()
	}
	t.Rows = append(t.Rows,
		[]report.Cell{report.Word{Key: "right", Shown: "answers right"}, report.Percent(share), report.Word{Key: string(class), Shown: meaning}},
		[]report.Cell{report.Word{Key: "median_dE00", Shown: "median ΔE00"}, report.Estimate(errors), report.Text(band)})
	biases := history.BiasOfKinds(coloured)
	for i, a := range history.Axes {
		e := biases.Estimates[i]
		if told := history.Directed(h.Kinds); len(coloured) == 0 && len(told) > 0 {
			e = told[0].BiasAlong(history.DirectionAttributes[i])
		}
		words := history.BiasWord(e, a.Above, a.Below)
		if words == "" {
			words = "no bias beyond chance"
		}
		if !e.Defined() {
			e, words = scoring.Undefined(0, "no answer here could have erred to either side"), ""
		}
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: a.Key, Shown: "bias in " + a.Title}, report.Signed(e), report.Text(words)})
	}
	notes := []string{}
	if doubt != "" {
		if long := scoring.LongRun(share); long != "" {
			doubt += ": " + long
		}
		notes = append(notes, strings.ToUpper(doubt[:1])+doubt[1:]+".")
	}
	notes = append(notes,
		fmt.Sprintf("Superior from %.0f %% right, average from %.0f %%, poor below. %s", 100*cuts.Superior, 100*cuts.Average, scoring.CutsSource),
		measuredWords(coloured),
		history.RightWords(h.Kinds),
		history.BiasNote)
	notes = slices.DeleteFunc(notes, func(n string) bool { return n == "" })
	return report.Section{Key: "result", Title: "Result", Table: t, Notes: notes}
}

func partSection(h *history.History) report.Section {
	t := &report.Table{None: "no answers yet", Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "items", Title: "items"}, {Key: "answers", Title: "answers"},
		{Key: "right", Title: "right", Estimates: true}, {Key: "median_dE00", Title: "median ΔE00", Estimates: true},
	}}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			one := []*history.Kind{{ID: k.ID, Title: k.Title, Attempts: s.Count(), Sittings: []*history.Sitting{s}}}
			what := report.Word{Key: string(k.ID), Shown: k.Title}
			right := h.Right(one)
			if scoring.Free(s.Sitting) {
				what = report.Word{Key: string(k.ID) + " free", Shown: k.Title + ", any tooth colour"}
				right = scoring.Undefined(0, "any tooth colour was asked, so no tab is right or wrong")
			}
			t.Rows = append(t.Rows, []report.Cell{what, report.Count(s.Setup.Items()), report.Count(s.Answered()),
				report.Percent(right), report.Estimate(trend.Median(history.Flat(history.Over(one, history.Size)), history.Level))})
		}
	}
	return report.Section{Key: "parts", Title: "By part", Table: t}
}

// conditionSection says under what conditions the test was taken, as far as the
// program knows.
func conditionSection(h *history.History, form string) report.Section {
	t := &report.Table{Columns: []report.Column{{Key: "condition", Title: "condition", Left: true}, {Key: "value", Title: "as recorded", Left: true}}}
	var seen []string
	add := func(key, name, value string) {
		if value == "" || slices.Contains(seen, key+value) {
			return
		}
		seen = append(seen, key+value)
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: key, Shown: name}, report.Text(value)})
	}
	var setups []exercises.Setup
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			setups = append(setups, s.Setup)
		}
	}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			setup := s.Setup
			add("form", "form", formWords(form, setups))
			add("date", "date", s.Started.UTC().Format("2 January 2006, 15:04 UTC"))
			if setup.Sheet != nil {
				add("library", "tab library", fmt.Sprintf("%s, fingerprint as shown %s", setup.Sheet.Library(), setup.SheetID))
			}
			add("seed", "seed", fmt.Sprintf("%s: %d", k.Title, setup.Seed))
			add("light", "light", history.LampName(history.LampOf(s.Sitting)))
			add("viewing", "viewing", history.ViewingWords(setup.Viewing.Limit, setup.Viewing.Rest, setup.Viewing.Gap, setup.Viewing.Surround))
			add("feedback", "feedback", map[bool]string{true: "none before the end", false: "after each answer"}[setup.Silent])
			add("display", "display check", displayWords(s.Display))
		}
	}
	// What differs between the parts stands together.
	var order []string
	key := func(row []report.Cell) int { return slices.Index(order, row[0].(report.Word).Key) }
	for _, row := range t.Rows {
		if key(row) < 0 {
			order = append(order, row[0].(report.Word).Key)
		}
	}
	slices.SortStableFunc(t.Rows, func(a, b []report.Cell) int { return key(a) - key(b) })
	return report.Section{Key: "conditions", Title: "Conditions", Table: t, Notes: []string{
		"The room, the person's eyes and what the display really shows are not known to the program.",
	}}
}

// formWords names a form with what was asked in it, so that two certificates can be
// compared.
func formWords(name string, setups []exercises.Setup) string {
	var parts []string
	for _, s := range setups {
		part := fmt.Sprintf("%d of %s", s.Items(), strings.ToLower(history.KindTitle(s.Kind)))
		if _, of := scoring.PartOf(s); of > 1 && s.Targets == exercises.NaturalTargets {
			part += " with any tooth colour"
		}
		parts = append(parts, part)
	}
	return fmt.Sprintf("%s: %s; fingerprint %s", name, strings.Join(parts, ", "), scoring.Fingerprint(setups))
}

// measuredWords says which answers the median and the leans are of.
func measuredWords(coloured []*history.Kind) string {
	n := 0
	for _, k := range coloured {
		for _, s := range k.Sittings {
			if scoring.Free(s.Sitting) {
				n += len(s.Judged)
			}
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("The median and the bias are of the %d items with any tooth colour: coarse tabs show neither.", n)
}

func displayWords(d scoring.DisplayCheck) string {
	if d.At.IsZero() {
		return "not checked"
	}
	words := "checked on " + scoring.Day(d.At)
	if d.SmallStep != "" {
		words += ", smallest step " + d.SmallStep
	}
	if d.Ramp != "" {
		words += ", grey ramp: " + d.Ramp
	}
	if !d.Acceptable {
		words += ", NOT as it should be"
	}
	return words
}

// Book is what a list of proficiency tests reads of the book.
type Book interface {
	history.Book
	Learners(context.Context) ([]scoring.Learner, error)
}

// List lists the proficiency tests that were taken, with their results.
func List(ctx context.Context, book Book, f record.Filter, cuts scoring.Cuts) (report.Report, error) {
	t := &report.Table{None: "nobody has taken a test yet", Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "form", Title: "form", Left: true}, {Key: "take", Title: "take"},
		{Key: "date", Title: "date", Left: true}, {Key: "answers", Title: "answers"}, {Key: "items", Title: "items"},
		{Key: "right", Title: "right", Estimates: true}, {Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "class", Title: "class", Left: true},
	}}
	var notes []string
	people, err := book.Learners(ctx)
	if err != nil {
		return report.Report{}, err
	}
	for _, who := range people {
		if f.Learner != "" && who.ID != f.Learner {
			continue
		}
		f := f
		f.Learner = who.ID
		sittings, err := book.Sittings(ctx, f)
		if err != nil {
			return report.Report{}, err
		}
		done := map[string]bool{}
		for _, s := range sittings {
			ref := s.Set()
			if ref.Kind != scoring.TestSet || done[s.Within] {
				continue
			}
			done[s.Within] = true
			h, broken, err := history.ReadHolding(ctx, book, record.Filter{Learner: who.ID, Within: s.Within})
			if err != nil {
				return report.Report{}, err
			}
			notes = append(notes, history.UnheldWords(broken, who.Name)...)
			right := h.Right(h.Kinds)
			class, doubt := cuts.Classify(right, history.Counted(h.Kinds))
			words := string(class)
			if doubt != "" && right.Defined() {
				right = right.Warn(doubt)
			}
			if h.Missing() > 0 || h.PartsMissing() > 0 {
				class, words = scoring.LevelUnknown, "broken off"
			}
			if len(broken) > 0 {
				class, words = scoring.LevelUnknown, "altered"
			}
			t.Rows = append(t.Rows, []report.Cell{report.Text(who.Name), report.Text(ref.Name), report.Count(ref.Take), report.Text(s.Started.UTC().Format(time.DateOnly)),
				report.Count(h.Answered()), report.Count(h.Answered() + h.Missing()), report.Percent(right), report.Estimate(trend.Median(history.Flat(history.Over(measured(h), history.Size)), history.Level)),
				report.Word{Key: string(class), Shown: words}})
		}
	}
	return report.Report{Title: "Proficiency tests", List: true, Cautions: scoring.Cautions, Sections: []report.Section{{Key: "exams", Table: t, Notes: append(notes,
		fmt.Sprintf("Superior from %.0f %% right, average from %.0f %%. %s", 100*cuts.Superior, 100*cuts.Average, scoring.CutsSource))}}}, nil
}
