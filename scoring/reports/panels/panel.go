// Package panels reports to whoever leads a calibration session: whether its people
// agree with the truth, with each other and with themselves, which items split
// them, and what to do about it.
package panels

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// View is what a lead wants to see of a session.
type View struct {
	// Between are two people who are to be compared directly, or nobody.
	Between []scoring.LearnerID
	// Of narrows the report to a class or team, whose name is Group, and says who
	// of it is missing; nil takes everybody.
	Of    []scoring.Learner
	Group string
	// Checked leaves out who took it on a display that failed its check or has none.
	Checked bool
	// Before is an earlier session to set beside this one, or nil.
	Before *record.Panel
}

// Report says whether the people of a calibration session agree with the
// truth, with each other and with themselves. A team of two is always compared
// directly.
func Report(ctx context.Context, book Book, asked record.Panel, view View) (report.Report, error) {
	p, err := read(ctx, book, asked, view)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Calibration session " + asked.Name, Cautions: scoring.Cautions, Lead: append(p.lead(), view.missing(p)...)}
	if len(p.people) > 0 {
		r.Lead = append(p.verdict(), r.Lead...)
	}
	if len(p.displayLines()) > 0 && !p.checked {
		r.Commands = []string{history.LeaveOut}
	}
	if len(p.people) == 0 {
		r.Sections = []report.Section{p.conditionSection()}
		return r, nil
	}
	r.Sections = []report.Section{p.adviceSection()}
	if p.hasColours && len(p.people) > 1 {
		r.Sections = append(r.Sections, p.shadeSection())
	}
	r.Sections = append(r.Sections, p.peopleSection())
	if p.hasColours {
		r.Sections = append(r.Sections, p.biasSection())
	}
	if p.hasColours && p.hasChecks {
		r.Sections = append(r.Sections, p.checkSection("checks", "Judgements"))
	}
	if len(p.checks()) > mostCheckColumns || len(p.measures()) > mostCheckColumns {
		r.Sections = append(r.Sections, p.kindSection())
	}
	r.Sections = append(r.Sections, p.repeatSection(), p.agreementSection())
	if len(p.scales()) > 0 {
		r.Sections = append(r.Sections, p.gaugeSection())
	}
	if i, j, ok, err := p.pair(view.Between); err != nil {
		return report.Report{}, err
	} else if ok {
		if p.hasColours {
			r.Sections = append(r.Sections, p.pairSection(i, j))
		}
		alike, ok, err := p.pairChoiceSection(i, j)
		if err != nil {
			return report.Report{}, err
		}
		if ok {
			r.Sections = append(r.Sections, alike)
		}
	}
	if view.Before != nil {
		earlier, err := read(ctx, book, *view.Before, view)
		if err != nil {
			return report.Report{}, err
		}
		section, verdict := p.roundSection(earlier)
		r.Sections = append(r.Sections, section)
		r.Lead = slices.Insert(r.Lead, len(p.verdict()), verdict)
	}
	r.Sections = append(r.Sections, p.itemSection(), p.conditionSection())
	return r, nil
}

// pair finds the two people who are to be compared directly.
func (p *panel) pair(between []scoring.LearnerID) (first, second int, ok bool, err error) {
	if len(between) == 0 {
		return 0, 1, len(p.people) == 2, nil
	}
	place := func(id scoring.LearnerID) (int, error) {
		i := slices.IndexFunc(p.people, func(l scoring.Learner) bool { return l.ID == id })
		if i < 0 {
			return 0, fmt.Errorf("learner %s has no answer in this session: %w", id, record.ErrNotFound)
		}
		return i, nil
	}
	if len(between) != 2 || between[0] == between[1] {
		return 0, 0, false, fmt.Errorf("%d people to be compared directly, not two", len(between))
	}
	if first, err = place(between[0]); err == nil {
		second, err = place(between[1])
	}
	return first, second, err == nil, err
}

func (p *panel) lead() []string {
	begun := p.begun()
	if len(begun) == 0 {
		return append([]string{"Nobody has begun it yet."}, p.displayLines()...)
	}
	given, missing, done := 0, 0, 0
	var broken []string
	simulated := false
	for _, t := range begun {
		given += t.given
		missing += p.planned - t.given
		simulated = simulated || t.who.Simulated
		switch {
		case t.given == p.planned:
			done++
		case t.sitting.Ended.IsZero():
			broken = append(broken, fmt.Sprintf("%s is at %d of %d", t.who.Name, t.given, p.planned))
		default:
			broken = append(broken, fmt.Sprintf("%s stopped at %d of %d", t.who.Name, t.given, p.planned))
		}
	}
	setup := p.asked.Setup
	lines := []string{fmt.Sprintf("%s began it, %d finished it: %s, each shown %s to each; %s.",
		scoring.Count(len(begun), "person", "people"), done, scoring.Count(p.planned/setup.Repeats, "shared item", "shared items"), scoring.Times(setup.Repeats), scoring.Count(given, "answer", "answers"))}
	if missing > 0 {
		const most = 6
		names := broken
		if len(names) > most {
			names = append(slices.Clone(names[:most]), fmt.Sprintf("and %d more", len(broken)-most))
		}
		lines = append(lines, fmt.Sprintf("%s missing: %s. Each table uses what there is.", scoring.Count(missing, "answer is", "answers are"), strings.Join(names, "; ")))
	}
	if len(p.atIt) > 0 {
		lines = append(lines, "What those who are still at it have answered is told when they have ended.")
	}
	if p.others > 0 {
		lines = append(lines, fmt.Sprintf("%d further %s under this name %s left out: taken a second time, or asked something else.",
			p.others, scoring.Plural(p.others, "sitting", "sittings"), scoring.Plural(p.others, "is", "are")))
	}
	lines = append(lines, p.displayLines()...)
	if simulated {
		lines = append(lines, "Simulated people are among them, with known errors.")
	}
	return lines
}

// displayLines say whose displays failed their check or have none.
func (p *panel) displayLines() []string {
	var names []string
	var of []history.Displays
	list := p.took
	if p.checked {
		list = p.leftOut
	}
	for _, t := range list {
		var d history.Displays
		d.Add(t.sitting)
		names, of = append(names, t.who.Name), append(of, d)
	}
	if line := history.DisplayLine(names, of, p.checked); line != "" {
		return []string{line}
	}
	return nil
}

// missing names who of the group has not begun.
func (v View) missing(p *panel) []string {
	if v.Of == nil {
		return nil
	}
	var names []string
	for _, l := range v.Of {
		if !slices.ContainsFunc(append(p.begun(), p.leftOut...), func(t participant) bool { return t.who.ID == l.ID }) {
			names = append(names, l.Name)
		}
	}
	if len(names) == 0 {
		return []string{fmt.Sprintf("Only %s: all %d of it have begun.", v.Group, len(v.Of))}
	}
	const most = 12
	n := len(names)
	if n > most {
		names = append(names[:most], fmt.Sprintf("and %d more", n-most))
	}
	return []string{fmt.Sprintf("Only %s: %d of %d have not begun: %s.", v.Group, n, len(v.Of), strings.Join(names, ", "))}
}

// conditionSection says what was laid down for everybody.
func (p *panel) conditionSection() report.Section {
	t := &report.Table{Columns: []report.Column{{Key: "condition", Title: "condition", Left: true}, {Key: "value", Title: "laid down", Left: true}}}
	add := func(key, name, value string) {
		if value != "" {
			t.Rows = append(t.Rows, []report.Cell{report.Word{Key: key, Shown: name}, report.Text(value)})
		}
	}
	s := p.asked.Setup
	title := string(s.Kind)
	if k, err := exercises.ByID(s.Kind); err == nil {
		title = k.Title()
	}
	add("kind", "exercise", title)
	add("date", "laid down", scoring.Zoned(p.asked.At, "2 January 2006, 15:04"))
	if p.by != "" {
		add("lead", "lead", p.by)
	}
	if p.sheet != nil {
		add("library", "tab library", fmt.Sprintf("%s, fingerprint %s", p.sheet.Library(), s.SheetID))
	}
	add("targets", "targets", map[exercises.Targets]string{exercises.NaturalTargets: "any tooth colour", exercises.TabTargets: "tabs of the library"}[s.Targets])
	add("attribute", "attribute", s.Attribute)
	add("task", "variant", s.Task)
	add("light", "light", history.LampName(s.Viewing.Light))
	add("viewing", "viewing", history.ViewingWords(s.Viewing.Limit, s.Viewing.Rest, s.Viewing.Gap, s.Viewing.Surround))
	add("feedback", "feedback", "none before the end")
	return report.Section{Key: "conditions", Title: "Conditions", Table: t, Notes: []string{
		"Everybody was asked the same items, in an order of their own. Displays and rooms may differ from person to person: of displays the program knows what each person said at their check, of rooms nothing.",
	}}
}

// errorsOf are a person's errors along an axis, one list an item; errors that
// could run one way only are left out, as in a learner's own tables.
func (p *panel) errorsOf(person int, of func(history.Judged) float64) [][]float64 {
	var lists [][]float64
	for _, item := range p.items {
		var list []float64
		for _, a := range item.answers[person] {
			if a.mark.HasColour {
				if x := of(a.judged); !math.IsNaN(x) {
					list = append(list, x)
				}
			}
		}
		lists = append(lists, list)
	}
	return lists
}

// biasesOf are a person's biases: the repeats of an item are not independent answers.
func (p *panel) biasesOf(person int) [3]scoring.Estimate {
	if b, known := p.biases[person]; known {
		return b
	}
	var items [][]history.Judged
	for _, item := range p.items {
		var list []history.Judged
		for _, a := range item.answers[person] {
			if a.mark.HasColour && !a.mark.Sparse {
				list = append(list, a.judged)
			}
		}
		items = append(items, list)
	}
	if p.biases == nil {
		p.biases = map[int][3]scoring.Estimate{}
	}
	p.biases[person] = history.BiasOf(items).Estimates
	return p.biases[person]
}
