package classes

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// Effect says whether the training of a class worked: how each learner changed, what
// those who left do to it, what the test says, what was kept after a pause, and, where
// against is not nil, how another group changed.
func Effect(ctx context.Context, book history.Book, class Scope, against *Scope, f record.Filter) (report.Report, error) {
	c, err := Read(ctx, book, class, f)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Did it work? Class " + c.Scope.Name, Cautions: scoring.Cautions}
	e, some := c.effect(f.Kind)
	if !some {
		r.Lead = []string{"There is no practice yet whose answers stand for a colour: nothing can be said to have changed."}
		if f.Kind == "" && len(c.kindsSeen()) > 0 {
			r.Lead[0] = "Nobody has practised the same twice yet: nothing can be said to have changed."
		}
		return r, nil
	}
	r.Lead = append(c.effectLead(e), c.knownOf()...)
	if against == nil {
		r.Commands = []string{fmt.Sprintf("Beside another class: shadedrill class effect %q --against OTHER.", c.Scope.Name)}
	}
	r.Sections = []report.Section{c.changeSection(e), e.learnerSection()}
	if against != nil {
		other, err := Read(ctx, book, *against, f)
		if err != nil {
			return r, err
		}
		section, words := c.againstSection(e, other)
		r.Sections = slices.Insert(r.Sections, 1, section)
		r.Lead = append(r.Lead, words)
	}
	r.Sections = append(r.Sections, c.testSections()...)
	r.Sections = append(r.Sections, c.keptSections(e)...)
	r.Sections = append(r.Sections, e.neededSections()...)
	return r, nil
}

// effectLead is the verdict, then what to think of it.
func (c *Review) effectLead(e effect) []string {
	stay := e.paired(stayed)
	all := e.paired(everybody)
	lines := []string{fmt.Sprintf("%s: the errors of %s %s.", e.title, scoring.Count(stay.Change.N, "learner who stayed", "learners who stayed"), changeWords(stay.Change))}
	if stay.Change.N == 0 {
		lines[0] = e.title + ": nobody has stayed and practised twice, so that nothing can be said to have changed."
	}
	improved, _, worse, untold := e.own()
	known := len(e.learner) - untold
	if known > 0 {
		lines = append(lines, fmt.Sprintf("%d of %d improved beyond their own uncertainty, %d got worse; of steady people chance alone makes about one in forty seem to do either%s.", improved, known, worse, beyondChance(improved, worse, known)))
	}
	if left := e.count(func(c changed) bool { return c.left }); left > 0 {
		first, _ := e.ends(func(c changed) bool { return c.left })
		others, _ := e.ends(remaining)
		line := fmt.Sprintf("%d of %d stopped while the class went on", left, len(e.learner))
		if len(first) > 0 && len(others) > 0 {
			line += fmt.Sprintf("; they began at %.2f ΔE00, the others at %.2f", history.Average(first), history.Average(others))
		}
		line += fmt.Sprintf(". With everybody counted, who left at their last result, errors %s.", changeWords(all.Change))
		lines = append(lines, line)
	}
	return append(lines, "This alone does not say that it was the teaching: in a published study of shade matching a group without any training did better the second time as well (J Esthet Restor Dent 2017;29:346–351). Compare a group that was taught otherwise, or forms of the test before and after.")
}

// beyondChance says whether more of n learners changed than chance makes of steady people,
// of whom one in forty leaves an interval of 95 % at either end. Where the mean stands
// still it is what says that some moved. House rule: the chance of as many is below 2.5 %.
func beyondChance(improved, worse, n int) string {
	by := distuv.Binomial{N: float64(n), P: 0.025}
	more := func(k int) bool { return k > 0 && by.Survival(float64(k)-1) < 0.025 }
	switch {
	case more(improved) && more(worse):
		return ", so some did improve and some did get worse"
	case more(improved):
		return ", so some did improve"
	case more(worse):
		return ", so some did get worse"
	case improved+worse > 0:
		return ", and so many may be chance"
	}
	return ""
}

func (e effect) count(pick func(changed) bool) int {
	n := 0
	for _, l := range e.learner {
		if pick(l) {
			n++
		}
	}
	return n
}

func (e effect) paired(pick func(changed) bool) trend.Effect {
	first, latest := e.ends(pick)
	return trend.Paired(first, latest, history.Level)
}

// changeSection sets side by side what the choice of people does.
func (c *Review) changeSection(e effect) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "who", Title: "of whom", Left: true}, {Key: "learners", Title: "learners"},
		{Key: "first", Title: "first", Estimates: true}, {Key: "latest", Title: "latest", Estimates: true}, {Key: "change", Title: "change within each", Estimates: true},
		{Key: "g_av", Title: "g (d_av)", Estimates: true}, {Key: "g_z", Title: "g (d_z)", Estimates: true},
	}}
	add := func(key, words string, pick func(changed) bool) {
		if e.count(pick) == 0 {
			return
		}
		x := e.paired(pick)
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: key, Shown: words}, report.Count(x.Change.N), report.Estimate(x.Before), report.Estimate(x.After),
			report.Signed(x.Change), report.Signed(x.AV), report.Signed(x.Z)})
	}
	add("stayed", "those who stayed", stayed)
	add("left", "those who stopped", went)
	add("all", "everybody, last result carried forward", everybody)
	first, _ := e.ends(everybody)
	_, latest := e.ends(remaining)
	if len(latest) > 0 && len(latest) < len(first) {
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: "different_people", Shown: "everybody at first, whoever is left at the end"}, report.Count(len(first)),
			report.Estimate(trend.Bias(first, history.Level)), report.Estimate(trend.Bias(latest, history.Level)),
			report.Estimated{Estimate: scoring.Point(history.Average(latest)-history.Average(first), len(latest), "not the change of anybody: the people differ, and if the weakest leave it looks like a gain"), Decimals: 2, Signed: true}})
	}
	var left []string
	if e.others > 0 {
		left = []string{fmt.Sprintf("Like is compared with like: %s of another level, or that asked something else, %s left out. Of each learner the level counts at which they sat most.",
			scoring.Count(e.others, "sitting", "sittings"), scoring.Plural(e.others, "is", "are"))}
	}
	return report.Section{Key: "change", Title: "What changed: " + e.title, Table: t, Notes: append(left,
		fmt.Sprintf("Median ΔE00 of a sitting; first and latest are each learner's own first and latest sittings, as many as there are twice, %d at most. Below 0: errors shrank. Stopped: no answer for %d days while the class went on.", mostInBlock, int(c.Scope.Idle.Hours()/24)),
		"g is Hedges' g, the change in standard deviations: with d_av of how far learners differ from each other, with d_z of how far their changes do (Lakens 2013, Front Psychol 4:863).",
	)}
}

// learnerSection says it of each.
func (e effect) learnerSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "learner", Title: "learner", Left: true}, {Key: "sittings", Title: "sittings"}, {Key: "first", Title: "first"}, {Key: "latest", Title: "latest"},
		{Key: "change", Title: "change", Estimates: true}, {Key: "verdict", Title: "beyond their own uncertainty", Left: true}, {Key: "stopped", Title: "stopped"},
	}}
	list := slices.Clone(e.learner)
	slices.SortStableFunc(list, func(a, b changed) int {
		switch {
		case a.both() != b.both():
			return map[bool]int{true: -1, false: 1}[a.both()]
		case a.to-a.from != b.to-b.from:
			return map[bool]int{true: -1, false: 1}[a.to-a.from < b.to-b.from]
		}
		return 0
	})
	for _, l := range list {
		row := []report.Cell{report.Text(l.row.Learner.Name), report.Count(l.sittings), report.DeltaE(l.from), report.Empty{}, report.Empty{}, report.Text(l.ownWord()), report.Yes(l.left)}
		if l.both() {
			row[3], row[4] = report.DeltaE(l.to), report.Signed(l.own)
		}
		t.Rows = append(t.Rows, row)
	}
	return report.Section{Key: "learners", Title: "Each learner, the largest gain first", Table: t, Notes: []string{
		"A learner's own uncertainty is how far one sitting of a steady person differs from the next, pooled over the class in proportion to the error and to one over the root of the answers (after the reliable change of Jacobson & Truax 1991, J Consult Clin Psychol 59:12–19).",
	}}
}

// againstSection sets the changes of two groups of different people side by side.
func (c *Review) againstSection(e effect, other *Review) (report.Section, string) {
	in := map[scoring.LearnerID]bool{}
	for _, p := range c.Scope.People {
		in[p.ID] = true
	}
	both := 0
	for _, p := range other.Scope.People {
		if in[p.ID] {
			both++
		}
	}
	theirs, _ := other.effect(e.kind)
	of := map[scoring.LearnerID]bool{}
	for _, p := range other.Scope.People {
		of[p.ID] = in[p.ID]
	}
	changes := func(e effect, pick func(changed) bool) (list []float64) {
		for _, l := range e.learner {
			if pick(l) && !of[l.row.Learner.ID] {
				list = append(list, l.to-l.from)
			}
		}
		return list
	}
	t := &report.Table{Columns: []report.Column{
		{Key: "who", Title: "of whom", Left: true},
		{Key: "here", Title: c.Scope.Name, Estimates: true}, {Key: "there", Title: other.Scope.Name, Estimates: true},
		{Key: "difference", Title: "difference of the changes", Estimates: true}, {Key: "g", Title: "g", Estimates: true},
	}}
	var verdict scoring.Estimate
	for _, x := range []struct {
		key, words string
		pick       func(changed) bool
	}{{"stayed", "those who stayed", stayed}, {"all", "everybody, last result carried forward", everybody}} {
		here, there := changes(e, x.pick), changes(theirs, x.pick)
		difference, g := trend.Between(here, there, history.Level)
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: x.key, Shown: x.words}, report.Signed(trend.Bias(here, history.Level)), report.Signed(trend.Bias(there, history.Level)),
			report.Signed(difference), report.Signed(g)})
		if x.key == "stayed" {
			verdict = difference
		}
	}
	notes := []string{"The difference is the change here minus the change there, with Welch's interval: below 0, errors shrank more here. g: Hedges' g over the standard deviation of the changes of both. Who came into which group was not drawn by lot as far as this program knows: the groups may have differed before."}
	if both > 0 {
		notes = append(notes, fmt.Sprintf("%s in both classes %s left out.", scoring.Count(both, "person", "people"), scoring.Plural(both, "is", "are")))
	}
	words := fmt.Sprintf("Against %s: ", other.Scope.Name)
	switch {
	case !verdict.HasInterval():
		words += "too few learners changed in both to compare them."
	case verdict.Covers(0):
		words += "no difference between the changes beyond chance (" + rangeWords(verdict) + ")."
	case verdict.Value < 0:
		words += fmt.Sprintf("errors shrank more here, by %.2f ΔE00 (%.2f to %.2f%s).", -verdict.Value, -verdict.Hi, -verdict.Lo, verdict.RoughWord())
	default:
		words += fmt.Sprintf("errors shrank less here, by %.2f ΔE00 (%.2f to %.2f%s).", verdict.Value, verdict.Lo, verdict.Hi, verdict.RoughWord())
	}
	return report.Section{Key: "against", Title: "Against " + other.Scope.Name, Table: t, Notes: notes}, words
}

// testSections say what the proficiency test found, where some took it twice.
func (c *Review) testSections() []report.Section {
	before, after, other := c.forms()
	if len(before) == 0 {
		return nil
	}
	x := trend.Paired(before, after, history.Level)
	t := &report.Table{Columns: []report.Column{{Key: "learners", Title: "learners"}, {Key: "first", Title: "right in the first", Estimates: true}, {Key: "latest", Title: "right in the latest", Estimates: true},
		{Key: "change", Title: "change within each", Estimates: true}, {Key: "g_av", Title: "g (d_av)", Estimates: true}}}
	change := report.Percent(x.Change)
	change.Signed = true
	t.Rows = append(t.Rows, []report.Cell{report.Count(len(before)), report.Percent(x.Before), report.Percent(x.After), change, report.Signed(x.AV)})
	note := "Above 0: more right. "
	switch {
	case other == 0:
		note += "All took the same form again: they had seen its items."
	case other == len(before):
		note += "The latest was another form than the first for each: that a form is harder shows as a change, unless half of the class took them the other way round."
	default:
		note += fmt.Sprintf("The latest was another form than the first for %d of them.", other)
	}
	return []report.Section{{Key: "tests", Title: "Proficiency test, first and latest", Table: t, Notes: []string{note}}}
}

// keptSections say what was left after a pause, where somebody made one.
func (c *Review) keptSections(e effect) []report.Section {
	before, after, days := c.kept(e.kind)
	if len(before) == 0 {
		return nil
	}
	x := trend.Paired(before, after, history.Level)
	t := &report.Table{Columns: []report.Column{{Key: "learners", Title: "learners"}, {Key: "pause", Title: "days of pause, median"},
		{Key: "before", Title: "before it", Estimates: true}, {Key: "after", Title: "first sitting after it", Estimates: true}, {Key: "change", Title: "change within each", Estimates: true}}}
	t.Rows = append(t.Rows, []report.Cell{report.Count(len(before)), report.Number{Value: history.Median(days)}, report.Estimate(x.Before), report.Estimate(x.After), report.Signed(x.Change)})
	words := "What was learnt was kept, as far as can be told."
	switch {
	case !x.Change.HasInterval():
		words = "Too few to say whether what was learnt was kept."
	case x.Change.Lo > 0:
		words = "Some of it was lost: errors were larger after the pause."
	case x.Change.Hi > scoring.Perceptibility.Value/2:
		words = "Nothing was lost beyond chance, yet a loss of some size is not ruled out."
	}
	return []report.Section{{Key: "retention", Title: "After a pause", Table: t, Notes: []string{words,
		fmt.Sprintf("Each learner's longest pause of %d days and more in %s.", int(leastPause.Hours()/24), strings.ToLower(e.title))}}}
}

// differences that somebody may want to find, in ΔE00: from half of perceptibility
// to acceptability.
func soughtDifferences() []float64 {
	p, a := scoring.Perceptibility.Value, scoring.Acceptability.Value
	return []float64{p / 2, p, (p + a) / 2, a}
}

// neededSections say how many learners it takes to find a difference.
func (e effect) neededSections() []report.Section {
	sd := e.paired(func(c changed) bool { return c.both() }).SD
	if !(sd > 0) {
		return nil
	}
	t := &report.Table{Columns: []report.Column{{Key: "difference", Title: "difference in ΔE00"}, {Key: "one_class", Title: "one class, before and after"}, {Key: "each_group", Title: "two groups, learners in each"}}}
	for _, d := range soughtDifferences() {
		t.Rows = append(t.Rows, []report.Cell{report.Number{Value: d, Decimals: 1}, report.Count(trend.Needed(d/sd, power, 1)), report.Count(trend.Needed(d/sd, power, 2))})
	}
	return []report.Section{{Key: "needed", Title: "How many learners it takes", Table: t, Notes: []string{
		fmt.Sprintf("To find such a change, or such a difference between the changes of two groups, in four of five tries at 5 %% (Cohen 1988). It takes changes to spread as they do here: by a standard deviation of %.2f ΔE00.", sd),
	}}}
}

// power is four of five, as is usual (Cohen 1988).
const power = 0.8
