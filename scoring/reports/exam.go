package reports

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/trend"
)

// Certificate reports on one person's taking of a form: the share right and the
// median ΔE00 with their intervals, the leans, the class by the given cut-offs,
// and what the result can and cannot claim.
func Certificate(ctx context.Context, book Record, who scoring.Learner, within string, cuts exam.Cuts) (report.Report, error) {
	form, take, ok := exam.ParseWithin(within)
	if !ok {
		return report.Report{}, fmt.Errorf("%q names no proficiency test", within)
	}
	h, err := read(ctx, book, record.Filter{Learner: who.ID, Within: within})
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Proficiency test, form " + form + ": " + who.Name, Cautions: scoring.Cautions}
	if who.Simulated {
		r.Title += " (simulated: a made-up person)"
	}
	r.Lead = []string{h.summary()}
	if take > 1 {
		r.Lead = append(r.Lead, fmt.Sprintf("This is take %d of the same form: whoever saw it before had an easier time.", take))
	}
	if parts := h.partsMissing(); parts > 0 {
		r.Lead = append(r.Lead, fmt.Sprintf("%d %s of the form %s not begun. This is no complete test.", parts, plural(parts, "part", "parts"), plural(parts, "was", "were")))
	}
	if missing := h.missing(); missing > 0 {
		r.Lead = append(r.Lead, fmt.Sprintf("Broken off: %d of the items that were begun have no answer. This is no complete test.", missing))
	}
	r.Sections = []report.Section{h.resultSection(cuts), h.partSection()}
	if yardstick, ok := h.yardstickSection(cuts); ok {
		r.Sections = append(r.Sections, yardstick)
	}
	r.Sections = append(r.Sections, h.conditionSection(form))
	return r, nil
}

// missing counts items of sittings that were begun and not answered to the end.
func (h *history) missing() int {
	n := 0
	for _, k := range h.kinds {
		for _, s := range k.sittings {
			n += max(0, s.sitting.Setup.Items()-s.answered())
		}
	}
	return n
}

func (s *sittingHistory) answered() int {
	if exercises.TraitsOf(s.sitting.Setup.Kind).ItemsPerTrial != "" {
		return s.whole.answers()
	}
	return s.count()
}

func (h *history) answered() int {
	n := 0
	for _, k := range h.kinds {
		for _, s := range k.sittings {
			n += s.answered()
		}
	}
	return n
}

// partsMissing counts the parts of a form that have no answer.
func (h *history) partsMissing() int {
	begun, all := 0, 0
	for _, k := range h.kinds {
		for _, s := range k.sittings {
			_, of := exam.PartOf(s.sitting.Setup)
			begun, all = begun+1, max(all, of)
		}
	}
	return max(0, all-begun)
}

// measured are the sittings that tell how large the errors are: the free parts
// where a form has some, else all that ask for a colour.
func (h *history) measured() []*kindHistory {
	var free []*kindHistory
	for _, k := range h.kinds {
		only := *k
		only.sittings = slices.DeleteFunc(slices.Clone(k.sittings), func(s *sittingHistory) bool { return !exam.Free(s.sitting) })
		if len(only.sittings) > 0 {
			free = append(free, &only)
		}
	}
	if len(free) > 0 {
		return withColours(free)
	}
	return withColours(h.kinds)
}

func (h *history) right(kinds []*kindHistory) scoring.Estimate {
	var sum tally
	together := 1.0
	for _, k := range kinds {
		together = max(together, scoring.RulesOf(k.id).Together)
		for _, s := range k.sittings {
			if scoring.RulesOf(k.id).Together > 1 {
				sum.join(s.whole)
				continue
			}
			sum.join(s.whole.apart())
		}
	}
	return trend.ShareClustered(sum.right, sum.n, together, level)
}

// rightWords says what a right answer is in these exercises.
func rightWords(kinds []*kindHistory) string {
	words := "Right is the nearest tab there was, or, where an exercise asks for a judgement, every part of it."
	for _, k := range kinds {
		if more := scoring.RulesOf(k.id).SinglyWords; more != "" {
			words += " " + more
		}
	}
	return words
}

// counted is what a share of right answers counts: items, or, where an item asks for
// several that count for themselves, judgements.
func counted(kinds []*kindHistory) string {
	for _, k := range kinds {
		if scoring.RulesOf(k.id).Singly && exercises.TraitsOf(k.id).ItemsPerTrial == "" {
			return "judgements"
		}
	}
	return "items"
}

func (h *history) resultSection(cuts exam.Cuts) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "measure", Title: "measure", Left: true}, {Key: "result", Title: "result", Estimates: true}, {Key: "meaning", Title: "meaning", Left: true},
	}}
	share := h.right(h.kinds)
	class, doubt := cuts.Classify(share, counted(h.kinds))
	meaning := string(class)
	if doubt != "" {
		meaning += ", but see below"
	}
	coloured := h.measured()
	errors := trend.Median(flat(over(coloured, size)), level)
	band := ""
	if errors.Defined() {
		band = scoring.BandOf(errors.Value).Words()
	}
	t.Rows = append(t.Rows,
		[]report.Cell{report.Word{Key: "right", Shown: "answers right"}, percent(share), report.Word{Key: string(class), Shown: meaning}},
		[]report.Cell{report.Word{Key: "median_dE00", Shown: "median ΔE00"}, estimate(errors), report.Text(band)})
	for i, a := range axes {
		e := mean(over(coloured, a.of))
		if told := directed(h.kinds); len(coloured) == 0 && len(told) > 0 {
			e = told[0].leanAlong(directionAttributes[i])
		}
		words := lean(e, a.above, a.down)
		if words == "" {
			words = "no lean beyond chance"
		}
		if !e.Defined() {
			e, words = scoring.Undefined(0, "no answer here could have erred to either side"), ""
		}
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: a.key, Shown: "lean in " + a.title}, signed(e), report.Text(words)})
	}
	notes := []string{}
	if doubt != "" {
		if long := exam.LongRun(share); long != "" {
			doubt += ": " + long
		}
		notes = append(notes, strings.ToUpper(doubt[:1])+doubt[1:]+".")
	}
	notes = append(notes,
		fmt.Sprintf("Superior from %.0f %% right, average from %.0f %%, poor below. %s", 100*cuts.Superior, 100*cuts.Average, exam.CutsSource),
		measuredWords(coloured),
		rightWords(h.kinds),
		"Leans are answer minus target in ΔE00 units; above 0 is too light, too chromatic, too yellow. Only answers that could have erred to either side count.")
	notes = slices.DeleteFunc(notes, func(n string) bool { return n == "" })
	return report.Section{Key: "result", Title: "Result", Table: t, Notes: notes}
}

func (h *history) partSection() report.Section {
	t := &report.Table{None: "no answers yet", Columns: []report.Column{
		{Key: "kind", Title: "exercise", Left: true}, {Key: "items", Title: "items"}, {Key: "answers", Title: "answers"},
		{Key: "right", Title: "right", Estimates: true}, {Key: "median_dE00", Title: "median ΔE00", Estimates: true},
	}}
	for _, k := range h.kinds {
		for _, s := range k.sittings {
			one := []*kindHistory{{id: k.id, title: k.title, attempts: s.count(), sittings: []*sittingHistory{s}}}
			what := report.Word{Key: string(k.id), Shown: k.title}
			right := h.right(one)
			if exam.Free(s.sitting) {
				what = report.Word{Key: string(k.id) + " free", Shown: k.title + ", any tooth colour"}
				right = scoring.Undefined(0, "any tooth colour was asked, so no tab is right or wrong")
			}
			t.Rows = append(t.Rows, []report.Cell{what, report.Count(s.sitting.Setup.Items()), report.Count(s.answered()),
				percent(right), estimate(trend.Median(flat(over(one, size)), level))})
		}
	}
	return report.Section{Key: "parts", Title: "By part", Table: t}
}

// conditionSection says under what conditions the test was taken, as far as the
// program knows.
func (h *history) conditionSection(form string) report.Section {
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
	for _, k := range h.kinds {
		for _, s := range k.sittings {
			setups = append(setups, s.sitting.Setup)
		}
	}
	for _, k := range h.kinds {
		for _, s := range k.sittings {
			setup := s.sitting.Setup
			add("form", "form", formWords(form, setups))
			add("date", "date", s.sitting.Started.UTC().Format("2 January 2006, 15:04 UTC"))
			if setup.Sheet != nil {
				add("library", "tab library", fmt.Sprintf("%s, fingerprint as shown %s", setup.Sheet.Library(), setup.SheetID))
			}
			add("seed", "seed", fmt.Sprintf("%s: %d", k.title, setup.Seed))
			add("light", "light", lampName(lampOf(s.sitting)))
			add("viewing", "viewing", viewingWords(setup.Viewing.Limit, setup.Viewing.Rest, setup.Viewing.Gap, setup.Viewing.Surround))
			add("feedback", "feedback", map[bool]string{true: "none before the end", false: "after each answer"}[setup.Silent])
			add("display", "display check", displayWords(s.sitting.Display))
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
		part := fmt.Sprintf("%d of %s", s.Items(), strings.ToLower(kindTitle(s.Kind)))
		if _, of := exam.PartOf(s); of > 1 && s.Targets == exercises.NaturalTargets {
			part += " with any tooth colour"
		}
		parts = append(parts, part)
	}
	return fmt.Sprintf("%s: %s; fingerprint %s", name, strings.Join(parts, ", "), exam.Fingerprint(setups))
}

// measuredWords says which answers the median and the leans are of.
func measuredWords(coloured []*kindHistory) string {
	n := 0
	for _, k := range coloured {
		for _, s := range k.sittings {
			if exam.Free(s.sitting) {
				n += len(s.judged)
			}
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("The median and the leans are of the %d items with any tooth colour: coarse tabs show neither.", n)
}

func viewingWords(limit, rest time.Duration, gap int, surround colour.SRGB) string {
	look := "no limit to a look"
	if limit > 0 {
		look = fmt.Sprintf("looks of at most %v", limit)
	}
	between := "edge to edge"
	if gap > 0 {
		between = fmt.Sprintf("a gap of %d %s", gap, plural(gap, "cell", "cells"))
	}
	return fmt.Sprintf("%s, %v of rest, %s, surround %s", look, rest, between, surround.Hex())
}

func displayWords(d scoring.DisplayCheck) string {
	if d.At.IsZero() {
		return "not checked"
	}
	words := "checked on " + day(d.At)
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

// ExamBook is what a list of proficiency tests reads of the book.
type ExamBook interface {
	Record
	Learners(context.Context) ([]scoring.Learner, error)
}

// Exams lists the proficiency tests that were taken, with their results.
func Exams(ctx context.Context, book ExamBook, f record.Filter, cuts exam.Cuts) (report.Report, error) {
	t := &report.Table{None: "nobody has taken a test yet", Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "form", Title: "form", Left: true}, {Key: "take", Title: "take"},
		{Key: "date", Title: "date", Left: true}, {Key: "answers", Title: "answers"}, {Key: "items", Title: "items"},
		{Key: "right", Title: "right", Estimates: true}, {Key: "median_dE00", Title: "median ΔE00", Estimates: true},
		{Key: "class", Title: "class", Left: true},
	}}
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
			form, take, ok := exam.ParseWithin(s.Within)
			if !ok || done[s.Within] {
				continue
			}
			done[s.Within] = true
			h, err := read(ctx, book, record.Filter{Learner: who.ID, Within: s.Within})
			if err != nil {
				return report.Report{}, err
			}
			right := h.right(h.kinds)
			class, doubt := cuts.Classify(right, counted(h.kinds))
			words := string(class)
			if doubt != "" && right.Defined() {
				right = right.Warn(doubt)
			}
			if h.missing() > 0 || h.partsMissing() > 0 {
				class, words = exam.Unknown, "broken off"
			}
			t.Rows = append(t.Rows, []report.Cell{report.Text(who.Name), report.Text(form), report.Count(take), report.Text(s.Started.UTC().Format(time.DateOnly)),
				report.Count(h.answered()), report.Count(h.answered() + h.missing()), percent(right), estimate(trend.Median(flat(over(h.measured(), size)), level)),
				report.Word{Key: string(class), Shown: words}})
		}
	}
	return report.Report{Title: "Proficiency tests", List: true, Cautions: scoring.Cautions, Sections: []report.Section{{Key: "exams", Table: t, Notes: []string{
		fmt.Sprintf("Superior from %.0f %% right, average from %.0f %%. %s", 100*cuts.Superior, 100*cuts.Average, exam.CutsSource)}}}}, nil
}
