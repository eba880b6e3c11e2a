// Package tests reports on proficiency tests: to the person tested, what the result
// is and what it can and cannot claim; to whoever set the test, who took it and how
// it went.
package tests

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// Certificate reports on one person's taking of a form: the share right and the
// median ΔE00 with their intervals, the bias, the level that the form gives it, and
// what the result can and cannot claim.
func Certificate(ctx context.Context, book Book, who scoring.Learner, within string) (report.Report, error) {
	ref, ok := scoring.ParseSetRef(within)
	if !ok || ref.Kind != scoring.TestSet {
		return report.Report{}, fmt.Errorf("%q names no proficiency test", within)
	}
	t, err := read(ctx, book, who.ID, ref)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Proficiency test, form " + ref.Name + ": " + who.Name, Cautions: scoring.Cautions}
	if who.Simulated {
		r.Title += " (simulated)"
	}
	share, level, _ := t.level()
	r.Lead = []string{t.history.Summary()}
	if level != scoring.LevelUnknown {
		r.Lead = []string{fmt.Sprintf("%s: %.*f %% right. %s", capital(string(level)), t.cuts().Digits(share.Value), 100*share.Value, t.history.Summary())}
		r.Sign = []string{"Date", "Signature of who led the test"}
	}
	if ref.Print == "" {
		r.Lead = append(r.Lead, openWords)
	}
	if ref.Take > 1 {
		r.Lead = append(r.Lead, fmt.Sprintf("This is take %d of the same form: whoever saw it before had an easier time.", ref.Take))
	}
	if why := t.incomplete(); len(why) > 0 {
		r.Lead = append(append(r.Lead, why...), "This is no complete test, and has no level.")
	}
	r.Sections = []report.Section{resultSection(t), worthSection(t), partSection(t.history)}
	if yardstick, ok := yardstickSection(ctx, book, t); ok {
		r.Sections = append(r.Sections, yardstick)
	}
	r.Sections = append(r.Sections, conditionSection(t))
	return r, nil
}

// measured are the sittings that tell how large the errors are: those whose targets
// may be any colour. Where a target is exactly a tab, an answer is right, or off by the
// distance of two tabs: its median is 0 for whoever is right in half of them, and
// hardly anything could err to either side.
func measured(h *history.History) []*history.Kind {
	var free []*history.Kind
	for _, k := range h.Kinds {
		only := *k
		only.Sittings = slices.DeleteFunc(slices.Clone(k.Sittings), func(s *history.Sitting) bool { return s.Setup.Targets == exercises.TabTargets })
		if len(only.Sittings) > 0 {
			free = append(free, &only)
		}
	}
	return history.WithColours(free)
}

// errorsOf is the median ΔE00 of what measures it.
func errorsOf(coloured []*history.Kind) scoring.Estimate {
	if len(coloured) == 0 {
		return scoring.Undefined(0, "targets that are tabs do not show it: a part with any tooth colour does")
	}
	return trend.Median(history.Flat(history.Over(coloured, history.Size)), history.Level)
}

func resultSection(taken *taken) report.Section {
	h := taken.history
	t := &report.Table{Columns: []report.Column{
		{Key: "measure", Title: "measure", Left: true}, {Key: "result", Title: "result", Estimates: true}, {Key: "meaning", Title: "meaning", Left: true},
	}}
	share, level, uncertain := taken.level()
	meaning := string(level)
	switch {
	case level == scoring.LevelUnknown:
		meaning, uncertain = "no level", ""
	case uncertain != "":
		meaning += ", but see below"
	}
	coloured := measured(h)
	errors := errorsOf(coloured)
	band := ""
	if errors.Defined() {
		band = scoring.BandOf(errors.Value).Words()
	}
	t.Rows = append(t.Rows,
		[]report.Cell{report.Word{Key: "right", Shown: "answers right"}, taken.shareCell(share), report.Word{Key: string(level), Shown: meaning}},
		[]report.Cell{report.Word{Key: "median_dE00", Shown: "median ΔE00"}, report.Estimate(errors), report.Text(band)})
	biases := history.BiasOfKinds(coloured)
	for i, a := range history.Axes {
		e := biases.Estimates[i]
		if told := history.Directed(h.Kinds); len(coloured) == 0 && len(told) > 0 {
			e = told[0].BiasAlong(history.DirectionAttributes[i])
		}
		words := history.BiasWord(e, a.Above, a.Below)
		switch {
		case !e.Defined():
			e = scoring.Undefined(0, "no answer here could have erred to either side")
		case words == "" && history.Tells(e):
			words = "no bias beyond chance"
		case words == "":
			words = history.UntoldBias
		}
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: a.Key, Shown: "bias in " + a.Title}, report.Signed(e), report.Text(words)})
	}
	notes := []string{}
	if uncertain != "" {
		if long := scoring.LongRun(share); long != "" {
			uncertain += ": " + long
		}
		notes = append(notes, capital(uncertain)+".")
	}
	notes = append(notes,
		levelWords(taken.cuts()),
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
			}
			if !s.Judges() {
				right = scoring.Undefined(0, "any tooth colour was asked, so no tab is right or wrong")
			}
			t.Rows = append(t.Rows, []report.Cell{what, report.Count(s.Setup.Items()), report.Count(s.Answered()),
				report.Percent(right), report.Estimate(errorsOf(measured(&history.History{Kinds: one})))})
		}
	}
	return report.Section{Key: "parts", Title: "By part", Table: t}
}

// conditionSection says under what conditions the test was taken, as far as the
// program knows.
func conditionSection(taken *taken) report.Section {
	h := taken.history
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
			add("form", "form", formWords(taken.ref, setups))
			add("date", "date", scoring.Zoned(s.Started, "2 January 2006, 15:04"))
			if setup.Sheet != nil {
				add("library", "tab library", fmt.Sprintf("%s, fingerprint as shown %s", setup.Sheet.Library(), setup.SheetID))
			}
			add("light", "light", history.LampName(history.LampOf(s.Sitting)))
			add("viewing", "viewing", history.ViewingWords(setup.Viewing.Limit, setup.Viewing.Rest, setup.Viewing.Gap, setup.Viewing.Surround))
			add("feedback", "feedback", map[bool]string{true: "none before the end", false: "after each answer"}[setup.Silent])
			add("display", "display check", displayWords(s.Display))
			add("origin", "where it was taken", originWords(s.Origin))
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
	return report.Section{Key: "conditions", Title: "Conditions", Table: t}
}

// FormWords say what a form asks: "16 of value first, 16 of value first with any tooth
// colour".
func FormWords(f record.Form) string { return asksWords(f.Parts) }

func asksWords(setups []exercises.Setup) string {
	var parts []string
	for _, s := range setups {
		part := fmt.Sprintf("%d of %s", s.Items(), strings.ToLower(history.KindTitle(s.Kind)))
		if _, of := scoring.PartOf(s); of > 1 && s.Targets == exercises.NaturalTargets {
			part += " with any tooth colour"
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// formWords names a form with what was asked in it, so that two certificates can be
// compared.
func formWords(ref scoring.SetRef, setups []exercises.Setup) string {
	print := ref.Print
	if print == "" {
		print = scoring.Fingerprint(setups)
	}
	return fmt.Sprintf("%s: %s; fingerprint %s", ref.Name, asksWords(setups), print)
}

// levelWords say the levels as a sentence.
func levelWords(c scoring.Cuts) string { return capital(c.Words()) }

func capital(words string) string {
	first, size := utf8.DecodeRuneInString(words)
	return string(unicode.ToUpper(first)) + words[size:]
}

// measuredWords says which answers the median and the biases are of.
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
	return fmt.Sprintf("The median and the bias are of the %d items with any tooth colour: targets that are tabs show neither.", n)
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
