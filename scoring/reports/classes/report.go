package classes

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// Report reports on a class: a row a learner in the given order, the class
// as a whole, and the items.
func Report(ctx context.Context, book history.Book, class Scope, f record.Filter, by Order, backwards bool) (report.Report, error) {
	c, err := Read(ctx, book, class, f)
	if err != nil {
		return report.Report{}, err
	}
	c.Sort(by, backwards)
	return c.Report(by)
}

// Report writes the review down, its rows as they stand; by says how they were
// sorted.
func (c *Review) Report(by Order) (report.Report, error) {
	r := report.Report{Title: "Class review: " + c.Scope.Name, Cautions: scoring.Cautions, Lead: append([]string{c.about()}, c.simulatedLines()...)}
	if line := c.displayLine(); line != "" {
		r.Lead = append(r.Lead, line)
		if !c.Scope.Checked {
			r.Commands = append(r.Commands, history.LeaveOut)
		}
	}
	if c.answers == 0 {
		r.Sections = []report.Section{c.learnerSection(by)}
		return r, nil
	}
	r.Landscape = true
	r.Lead = append(c.verdict(), r.Lead...)
	r.Commands = append(r.Commands, practiseCommands)
	sections, err := sideBySide(
		func() ([]report.Section, error) {
			return report.AppendFilled(nil, c.helpSection(), c.fineSection(), c.unclearSection()), nil
		},
		func() ([]report.Section, error) {
			learners := c.learnerSection(by)
			learners.NewPage = true
			return []report.Section{learners, c.detailSection(), c.togetherSection()}, nil
		},
		func() ([]report.Section, error) { return c.changeSections(), nil },
		c.itemSections,
		func() ([]report.Section, error) { return c.confusionSections(), nil },
	)
	r.Sections = sections
	return r, err
}

// sideBySide makes sections that do not ask each other, and keeps their order.
func sideBySide(makers ...func() ([]report.Section, error)) ([]report.Section, error) {
	made := make([][]report.Section, len(makers))
	helpers := history.NewHelpers()
	for i, sections := range makers {
		helpers.Do(func() (err error) {
			made[i], err = sections()
			return err
		})
	}
	err := helpers.Wait()
	return slices.Concat(made...), err
}

// changeSections are the change of the class in short, and how its errors spread.
func (c *Review) changeSections() (list []report.Section) {
	if e, some := c.effect(""); some && e.count(changed.both) > 0 {
		change := c.changeSection(e)
		change.Table.Columns[len(change.Table.Columns)-1].Hidden = true // the second size of it is for who asks "did it work"
		change.Notes[len(change.Notes)-1] = "g (d_av) is Hedges' g, the change in standard deviations of how far learners differ from each other. A report of its own says whether the training worked."
		change.Commands = append(change.Commands, fmt.Sprintf("Whether the training worked: shadedrill class effect %q.", c.Scope.Name))
		list = append(list, change)
	}
	if boxes := c.boxPlots(); len(boxes) > 0 {
		list = append(list, report.Section{Key: "spread", Title: "How they spread", Plots: boxes, Notes: []string{boxNote}})
	}
	return list
}

// about says who was looked at, and over what time.
func (c *Review) about() string {
	people := fmt.Sprintf("%d %s", len(c.Rows), scoring.Plural(len(c.Rows), "learner", "learners"))
	if c.answers == 0 {
		words := "no answers yet."
		if c.narrowed {
			words = "no answers in what was asked for."
		}
		return people + ", " + words
	}
	h := history.History{Attempts: c.answers, Sittings: c.sittings, First: c.first, Last: c.last}
	return people + ": " + h.Summary()
}

// Lead says in a sentence or two how the class stands and what to teach.
func (c *Review) Lead() []string {
	if c.answers == 0 {
		return []string{c.about()}
	}
	return append([]string{c.needing(), c.together()}, c.simulatedLines()...)
}

// displayLine says whose displays failed their check or have none.
func (c *Review) displayLine() string {
	var names []string
	var of []history.Displays
	for i, l := range c.learners {
		names, of = append(names, c.Scope.People[i].Name), append(of, l.displays)
	}
	return history.DisplayLine(names, of, c.Scope.Checked)
}

// knownOf says what must be known of the answers before anything is read out of them.
func (c *Review) knownOf() (lines []string) {
	if c.adaptive {
		lines = append(lines, evenNote)
	}
	return append(lines, c.simulatedLines()...)
}

const evenNote = history.EvenNote + " No two learners were asked the same."

// simulatedLines say how many are simulated.
func (c *Review) simulatedLines() []string {
	simulated := 0
	for _, r := range c.Rows {
		if r.Learner.Simulated {
			simulated++
		}
	}
	switch simulated {
	case 0:
		return nil
	case len(c.Rows):
		return []string{"These people are simulated, with known errors."}
	}
	return []string{fmt.Sprintf("%d of these people %s simulated, with known errors.", simulated, scoring.Plural(simulated, "is", "are"))}
}

// learnerSection is the class at a glance.
func (c *Review) learnerSection(by Order) report.Section {
	t := &report.Table{None: "nobody is in this class yet", Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "sittings", Title: "sittings"},
		{Key: "last_active", Title: "last active", Left: true},
		{Key: "median_dE00", Title: "median ΔE00", Estimates: true}, {Key: "trend", Title: "trend", Left: true},
		{Key: "bias", Title: "bias", Left: true},
		{Key: "perceptibility", Title: "perceptibility threshold", Estimates: true}, {Key: "acceptability", Title: "acceptability threshold", Estimates: true},
		{Key: "exam_class", Title: "test", Left: true}, {Key: "flag", Title: "flag", Left: true},
	}}
	for _, r := range c.Rows {
		last := report.Word{Key: "", Shown: "never"}
		if !r.Last.IsZero() {
			last = report.Word{Key: scoring.Date(r.Last), Shown: r.Last.Local().Format("2 Jan 2006")}
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(r.Learner.Name), report.Count(r.Sittings), last,
			report.Estimate(r.Error), r.TrendWord(), report.Text(r.BiasWords()),
			thresholdCell(r.Sees), thresholdCell(r.Accepts),
			report.Word{Key: r.ExamLevel.Key, Shown: r.ExamShort()}, report.Text(r.FlagWords())})
	}
	t.HideUniform("perceptibility", "acceptability", "exam_class")
	notes := []string{"Sorted: " + by.Words() + "."}
	if c.adaptive {
		notes = append(notes, evenNote)
	}
	inactive := fmt.Sprintf("no answer for more than %d days while the class went on", int(c.Scope.Idle/(24*time.Hour)))
	if !c.last.IsZero() {
		inactive += fmt.Sprintf(" (its latest answer is of %s)", scoring.Day(c.last))
	}
	notes = append(notes,
		"Median ΔE00: half the answers are nearer to their target; of practice in the exercise with the most sittings, since exercises differ in how hard they are. Trend: the Mann–Kendall test at 5 % over those sittings. Proficiency tests are in neither; no trend is none beyond chance. "+history.TypicalNote,
		fmt.Sprintf("Bias: in ΔE00, named where it is beyond chance, however small: below perceptibility, %.1f, nobody need correct it.", scoring.Perceptibility.Value),
		"In a class, chance alone lets the errors of somebody seem to grow: among 40 steady learners, of one. So growth is flagged where it stands out among all (Benjamini & Hochberg 1995): of those flagged, 5 % at most are expected to be steady. \"Perhaps growing\" would be growth in a learner looked at alone.",
		fmt.Sprintf("Flags (house rules): errors grow; %s; the bias, taken over the axes on which it is beyond chance, is larger than acceptability, %.1f ΔE00 (%s); the whole interval of the median ΔE00 lies beyond acceptability without such a bias: answers scatter.",
			inactive, scoring.Acceptability.Value, scoring.Acceptability.Source))
	if t.Shows("perceptibility") || t.Shows("acceptability") {
		notes = append(notes, fmt.Sprintf("Perceptibility and acceptability thresholds: the newest, at 50:50 %%, in ΔE00, beside the published %.1f and %.1f of ceramic specimens in a viewing booth, yet %s. %s", scoring.Perceptibility.Value, scoring.Acceptability.Value, history.Relative, scoring.MonitorStudy))
	}
	if t.Shows("exam_class") {
		notes = append(notes, "Test: the latest proficiency test that was taken to its end, by the levels of its form, which the list of tests says. Its answers are held against what was written down as they came in and against the items of the form; where the latter cannot be done, it says so.")
	}
	return report.Section{Key: "learners", Title: "Where each stands", Table: t, Notes: notes}
}

// levelNotes say that practice of levels was compared like with like; nothing where nobody
// practised on a level.
func levelNotes(rows []Row) []string {
	some, others := false, 0
	for _, r := range rows {
		some, others = some || r.Level > 0 || r.OtherLevels > 0, others+r.OtherLevels
	}
	if !some {
		return nil
	}
	return []string{fmt.Sprintf("Levels: of each learner the level counts at which they sat most; %s of others %s left out, which would look like a trend. Medians of two levels do not compare.",
		scoring.Count(others, "sitting", "sittings"), scoring.Plural(others, "is", "are"))}
}

// thresholdCell says in words where none was measured.
func thresholdCell(e scoring.Estimate) report.Cell {
	if e.N == 0 && !e.Defined() {
		return report.Word{Shown: "not measured"}
	}
	e.Warnings = slices.DeleteFunc(slices.Clone(e.Warnings), func(w string) bool { return w == history.Relative }) // said below the table
	return report.Estimate(e)
}

// TrendWord is the trend, short enough for a column of many.
func (r Row) TrendWord() report.Word {
	w := r.Trend
	switch w.Key {
	case "none":
		w.Shown = "no trend"
	case "unknown":
		w.Shown = "not yet known"
	}
	return w
}

// BiasWords says the bias with its size, or why there is none to name.
func (r Row) BiasWords() string {
	words := history.BiasWords(r.Biases, func(word string, e scoring.Estimate) string {
		if e.Open() != 0 {
			word += " at least"
		}
		return fmt.Sprintf("%s %.1f", word, math.Abs(e.Value))
	})
	if words == history.UntoldBias {
		return "not known"
	}
	return words
}

// ExamShort is the class of the proficiency test and the share right in it.
func (r Row) ExamShort() string {
	if !r.ExamShare.Defined() {
		return r.ExamLevel.Shown
	}
	return fmt.Sprintf("%s, %.*f %%", r.ExamLevel.Shown, r.examDigits, 100*r.ExamShare.Value)
}

// detailSection gives the numbers behind the words.
func (c *Review) detailSection() report.Section {
	t := &report.Table{None: "nobody is in this class yet", Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "answers", Title: "answers"}, {Key: "slope", Title: "change a sitting", Estimates: true}}}
	for _, a := range history.Axes {
		t.Columns = append(t.Columns, report.Column{Key: a.Key, Title: a.Title, Estimates: true})
	}
	t.Columns = append(t.Columns, report.Column{Key: "bias_all", Title: "bias in all"})
	tested := false
	for _, r := range c.Rows {
		tested = tested || r.ExamShare.Defined()
	}
	if tested {
		t.Columns = append(t.Columns, report.Column{Key: "exam_right", Title: "right in the test", Estimates: true})
	}
	for _, r := range c.Rows {
		row := []report.Cell{report.Text(r.Learner.Name), report.Count(r.Answers), report.Estimated{Estimate: r.Change, Decimals: 3, Signed: true}}
		for _, e := range r.Biases {
			row = append(row, report.Signed(e))
		}
		all := report.Cell(report.Text("not known"))
		if r.BiasWords() != "not known" {
			all = report.DeltaE(r.biasLength())
			if r.boundAlone() {
				all = report.Word{Key: fmt.Sprintf("%.10g", r.biasLength()), Shown: r.biasSize()}
			}
		}
		if row = append(row, all); tested {
			row = append(row, report.Percent(r.ExamShare))
		}
		t.Rows = append(t.Rows, row)
	}
	return report.Section{Key: "details", Title: "The numbers behind it", Table: t, Notes: append([]string{
		"Change a sitting: of the median ΔE00 in the exercise with the most sittings (Theil–Sen); below 0 is better.",
		history.BiasNote + " " + history.BiasOfNow + " In all: the length of the bias over the axes on which it is beyond chance; a bound where one of them is.",
	}, levelNotes(c.Rows)...)}
}
