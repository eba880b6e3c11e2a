package classes

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/items"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// What is needed before an item is worth a row; house choices.
const (
	leastTakers = 5  // of an item: below that a share says nothing
	leastItems  = 2  // of a set
	leastTimes  = 2  // that two tabs are taken for each other: once is no habit
	mostPairs   = 20 // tabs taken for each other that are listed
	mostSets    = 6  // sets of shared items that are looked at, those with the most takers
)

// itemSet is a table of scores: who has which item right.
type itemSet struct {
	title  string
	given  bool  // it is an assignment
	drops  []int // items that its grade leaves out
	items  []history.Item
	scores items.Scores // a row a learner
}

// itemSets gathers what several of the class were asked alike.
func (c *Review) itemSets() []itemSet {
	takers := map[string]map[history.Item]int{}
	for _, l := range c.learners {
		for set, items := range l.seen.sets {
			if takers[set] == nil {
				takers[set] = map[history.Item]int{}
			}
			for it := range items {
				takers[set][it]++
			}
		}
	}
	var list []itemSet
	for _, set := range slices.Sorted(maps.Keys(takers)) {
		s := itemSet{title: c.setTitle(set), drops: c.Scope.Dropped[set]}
		_, s.given = c.Scope.Dropped[set]
		for it, n := range takers[set] {
			if n >= leastTakers {
				s.items = append(s.items, it)
			}
		}
		if len(s.items) < leastItems {
			continue
		}
		slices.SortFunc(s.items, func(a, b history.Item) int {
			return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Name, b.Name), cmp.Compare(a.Target.Hex(), b.Target.Hex()))
		})
		for _, l := range c.learners {
			row, some := make([]float64, len(s.items)), false
			for i, it := range s.items {
				row[i] = math.NaN()
				if x := l.seen.sets[set][it]; x.n > 0 {
					row[i], some = x.sum/float64(x.n), true
				}
			}
			if some {
				s.scores = append(s.scores, row)
			}
		}
		list = append(list, s)
	}
	slices.SortStableFunc(list, func(a, b itemSet) int { return cmp.Compare(len(b.scores), len(a.scores)) })
	return list[:min(len(list), mostSets)]
}

// itemSections say how the questions do that several were asked alike.
func (c *Review) itemSections() ([]report.Section, error) {
	whole := &report.Table{None: fmt.Sprintf("Nothing can be said of items yet: that needs a proficiency test, an assignment or a calibration session in which at least %d of the class had the same items.", leastTakers),
		Columns: []report.Column{
			{Key: "set", Title: "shared items", Left: true}, {Key: "items", Title: "items"}, {Key: "learners", Title: "learners"},
			{Key: "difficulty", Title: "mean share right", Estimates: true},
			{Key: "alpha", Title: "reliability (KR-20, α)", Estimates: true},
			{Key: "measurement_error", Title: "error of a sum", Estimates: true},
		}}
	single := &report.Table{Columns: []report.Column{
		{Key: "set", Title: "shared items", Left: true}, {Key: "item", Title: "item", Left: true}, {Key: "kind", Title: "exercise", Left: true},
		{Key: "target", Title: "target", Left: true},
		{Key: "difficulty", Title: "share right", Estimates: true}, {Key: "item_rest", Title: "item–rest", Estimates: true},
		{Key: "discrimination", Title: "best minus worst 27 %"}, {Key: "verdict", Title: "as a question", Left: true},
	}}
	singly, given := false, false
	for _, s := range c.itemSets() {
		singly = singly || slices.ContainsFunc(s.items, func(it history.Item) bool { return scoring.RulesOf(it.Kind).Singly })
		a, err := items.Analyse(s.scores, history.Level)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", s.title, err)
		}
		var means []float64
		for i, it := range s.items {
			x := a.Items[i]
			if x.Difficulty.Defined() {
				means = append(means, x.Difficulty.Value)
			}
			d := report.Cell(report.Text(strings.Join(x.Discrimination.Warnings, "; ")))
			if x.Discrimination.Defined() {
				d = report.Number{Value: x.Discrimination.Value, Decimals: 2, Signed: true}
			}
			single.Rows = append(single.Rows, []report.Cell{report.Text(s.title), report.Text(it.Name),
				report.Word{Key: string(it.Kind), Shown: history.KindTitle(it.Kind)}, report.Shade(it.Target),
				report.Percent(x.Difficulty), report.Estimated{Estimate: x.Rest, Decimals: 2, Signed: true}, d,
				asQuestion(x, leftOut(s.drops, it))})
		}
		given = given || s.given
		whole.Rows = append(whole.Rows, []report.Cell{report.Text(s.title), report.Count(len(s.items)), report.Count(len(s.scores)),
			report.Percent(history.Within(trend.Bias(means, history.Level), 0, 1)), report.Estimate(a.Alpha), report.Estimate(a.Error)})
	}
	if len(whole.Rows) == 0 {
		return []report.Section{{Key: "items", Title: "Items that several had alike", Table: whole}}, nil
	}
	single.HideUniform("kind")
	sections := []report.Section{{Key: "items", Title: "Items that several had alike", Table: whole, Notes: []string{
		"Reliability: Kuder & Richardson's formula 20, which is Cronbach's α of items that are right or wrong; 1 where the items agree on who is better. The error is the standard error of measurement of a sum, in items.",
	}}}
	if singly {
		sections[0].Notes = append(sections[0].Notes, "An answer of several judgements, such as value, chroma, hue and verdict of a try-in, is as many items: each counts for itself, as in a test and for a pass mark.")
	}
	notes := []string{
		"Share right: the difficulty, low for a hard item. Item–rest: how the item goes with the sum of all others; near or below 0 it tells nobody apart, or misleads.",
		"As a question, and not of how well students did: whether it tells the better from the weaker. There is a word where item–rest is beyond chance, by the difference between the best and the worst 27 % of the class: sharply from 0.40, well from 0.30, poorly from 0.20, hardly below that (Ebel's cut-offs, from memory). Look at one that misleads or hardly tells learners apart.",
	}
	var commands []string
	if given {
		notes = append(notes, "An item that misleads can be left out of the grade of an assignment: it is written down, and the grades are computed anew.")
		commands = append(commands, fmt.Sprintf("To leave one out of the assignment whose code stands in brackets: shadedrill class assign %q --assignment CODE --drop 3 --why \"two tabs fit\" --learner YOU; in the trainer: Class review, a.", c.Scope.Name))
	}
	return report.AppendFilled(sections, report.Section{Key: "item", Title: "Item by item", Table: single, Notes: notes, Commands: commands}), nil
}

// leftOut says of an item that a grade leaves it out: its name begins with its number.
func leftOut(drops []int, it history.Item) string {
	number, _, _ := strings.Cut(it.Name, " ")
	for _, n := range drops {
		if number == fmt.Sprintf("%03d", n) {
			return "; left out of the grade"
		}
	}
	return ""
}

// mostHardly is the item–rest correlation below which the whole interval lies of an item
// that hardly tells learners apart; house choice, the usual cut-off of a good item.
const mostHardly = 0.30

// asQuestion says of an item, and of nobody, what it is worth as a question. A difference
// between a few of the best and of the worst comes about by chance: it has a word only
// where the correlation with the other items is beyond chance.
func asQuestion(x items.Item, more string) report.Word {
	key, words := string(x.Verdict), ""
	switch {
	case !x.Discrimination.Defined():
		words = key
	case !x.Rest.Defined():
		words = "tells nobody apart: all answered alike"
	case x.Rest.HasInterval() && x.Rest.Hi < 0:
		key, words = "misleads", "misleads: the weaker are right more often"
	case x.Rest.HasInterval() && x.Rest.Hi < mostHardly:
		key, words = string(items.Revise), "hardly tells learners apart"
	case !x.Rest.HasInterval() || x.Rest.Lo <= 0:
		key, words = string(items.NoVerdict), "cannot be told yet"
	default:
		words = map[items.Verdict]string{items.VeryGood: "tells learners apart sharply", items.Good: "tells learners apart well",
			items.Marginal: "tells learners apart poorly", items.Revise: "hardly tells learners apart"}[x.Verdict]
	}
	return report.Word{Key: key, Shown: words + more}
}

// sheetsSeen adds up what all learners saw, over sheets that show the same
// value groups and tabs by the same names, such as one library under two lamps.
func (c *Review) sheetsSeen() []*sheetSightings {
	sum := map[string]*sheetSightings{}
	count := map[string]int{}
	for _, id := range slices.Sorted(maps.Keys(c.seen.sheets)) {
		of := c.seen.sheets[id]
		key := of.sheet.Library()
		for _, g := range of.sheet.Groups() {
			key += fmt.Sprintf("\x00%s %d", g.Name, len(g.Tabs))
		}
		if sum[key] == nil {
			sum[key] = (&sightings{}).sheet(id, of.sheet)
		}
		sum[key].add(of)
		for _, n := range of.groups {
			count[key] += n
		}
	}
	var list []*sheetSightings
	keys := slices.SortedFunc(maps.Keys(sum), func(a, b string) int { return cmp.Or(cmp.Compare(count[b], count[a]), cmp.Compare(a, b)) })
	for _, k := range keys {
		if count[k] > 0 {
			list = append(list, sum[k])
		}
	}
	return list
}

// confusionSections show which value groups and which tabs are taken for which.
func (c *Review) confusionSections() []report.Section {
	t := &report.Table{None: "no answers that chose among value groups yet", Columns: []report.Column{
		{Key: "library", Title: "library", Left: true}, {Key: "group", Title: "right group", Left: true}, {Key: "answers", Title: "answers"},
		{Key: "right", Title: "taken rightly", Estimates: true}, {Key: "lighter", Title: "a lighter one, %"}, {Key: "darker", Title: "a darker one, %"},
	}}
	s := report.Section{Key: "groups", Title: "Which value groups are taken for which", Table: t, Notes: []string{
		"Right is the group nearest to the target in lightness, or the one that holds the nearest answer of all.",
	}}
	pairs := &report.Table{None: "no tab was taken for another more than once yet", Columns: []report.Column{
		{Key: "library", Title: "library", Left: true}, {Key: "tab", Title: "tab", Left: true}, {Key: "other", Title: "and", Left: true},
		{Key: "mistaken", Title: "taken for each other", Estimates: true}, {Key: "times", Title: "times"},
		{Key: "other_for_tab", Title: "second for first"}, {Key: "tab_for_other", Title: "first for second"},
		{Key: "dE00", Title: "ΔE00 apart"}, {Key: "far", Title: "far off"},
	}}
	for _, of := range c.sheetsSeen() {
		s.Plots = append(s.Plots, of.groupRows(t))
		of.pairRows(pairs)
	}
	p := report.Section{Key: "pairs", Title: "Which tabs are taken for each other", Table: pairs, Notes: []string{
		fmt.Sprintf("Only where one tab was the best answer and one tab was taken; of all times that either was the best answer. The %d most often mistaken of each library, if more than once.", mostPairs),
		"Far off: how often more than perceptibility, 0.8 ΔE00, was lost against the best tab. Two tabs that lie near a target almost alike are easily and harmlessly mistaken.",
	}}
	t.HideUniform("library")
	pairs.HideUniform("library")
	if len(t.Rows) == 0 {
		return []report.Section{s}
	}
	return []report.Section{s, p}
}

// groupRows adds a row a value group and returns the heat map.
func (of *sheetSightings) groupRows(t *report.Table) report.Plot {
	groups := of.sheet.Groups()
	m := &report.Matrix{RowTitle: "right group", ColumnTitle: "group taken, % of the row"}
	for g, group := range groups {
		m.Rows, m.Columns = append(m.Rows, group.Name), append(m.Columns, group.Name)
		row := make([]float64, len(groups))
		total, lighter, darker, right := 0, 0, 0, 0
		for taken := range groups {
			n := of.groups[[2]int16{int16(g), int16(taken)}]
			total += n
			switch {
			case taken < g:
				lighter += n
			case taken > g:
				darker += n
			default:
				right = n
			}
			row[taken] = float64(n)
		}
		for i := range row {
			row[i] *= 100 / float64(total) // NaN where the group was never right
		}
		m.Values = append(m.Values, row)
		if total == 0 {
			continue
		}
		share := func(n int) report.Cell {
			return report.Share(float64(n)/float64(total), 0)
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(of.sheet.Library()), report.Text(group.Name), report.Count(total),
			report.Percent(trend.Share(right, total, history.Level)), share(lighter), share(darker)})
	}
	return report.Plot{Key: "groups-" + of.sheet.Library(), Title: "Value groups of " + of.sheet.Library(), Matrix: m}
}

// pairRows adds the pairs of tabs most often taken for each other.
func (of *sheetSightings) pairRows(t *report.Table) {
	var truths, answers []int32
	for _, pair := range slices.SortedFunc(maps.Keys(of.tabs), func(a, b [2]int32) int { return slices.Compare(a[:], b[:]) }) {
		for range of.tabs[pair] {
			truths, answers = append(truths, pair[0]), append(answers, pair[1])
		}
	}
	confusion, err := items.Confuse(truths, answers, history.Level)
	if err != nil {
		panic("review: " + err.Error()) // two lists made side by side
	}
	mistaken := confusion.MostMistaken()
	for i, m := range mistaken {
		if i == mostPairs || m.Either < leastTimes {
			break
		}
		a, b := int(m.A), int(m.B)
		far := of.far[[2]int32{m.A, m.B}] + of.far[[2]int32{m.B, m.A}]
		t.Rows = append(t.Rows, []report.Cell{report.Text(of.sheet.Library()), report.Text(of.sheet.Name(a)), report.Text(of.sheet.Name(b)),
			report.Percent(m.Rate), report.Count(m.Either), report.Count(m.BForA), report.Count(m.AForB),
			report.DeltaE(colour.DeltaE00(of.sheet.Lab(a), of.sheet.Lab(b))), report.Count(far)})
	}
}
