// Package libraries reports on tab libraries to whoever chooses or makes one: which
// tabs there are, how near they come to tooth colours, and which are doubtful.
package libraries

import (
	"fmt"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

// List lists libraries with their size and coverage.
func List(list []*tabs.Library) report.Report {
	table := &report.Table{Columns: []report.Column{
		{Key: "library", Title: "library", Left: true},
		{Key: "tabs", Title: "tabs"},
		{Key: "groups", Title: "value groups"},
		{Key: "mean_dE00", Title: "mean ΔE00"},
		{Key: "max_dE00", Title: "largest"},
		{Key: "mean_dE00_between", Title: "mean with in-between answers"},
		{Key: "max_dE00_between", Title: "largest with in-between answers"},
		{Key: "note", Title: "where it comes from", Left: true},
	}}
	for _, l := range list {
		c := tabs.Check(l)
		table.Rows = append(table.Rows, []report.Cell{
			report.Text(l.Name()), report.Count(c.Tabs), report.Count(len(c.Groups)),
			report.DeltaE(c.Alone.Mean), report.DeltaE(c.Alone.Max), report.DeltaE(c.WithBetween.Mean), report.DeltaE(c.WithBetween.Max),
			report.Text(l.Note()),
		})
	}
	return report.Report{
		Title:    "Tab libraries",
		List:     true,
		Sections: []report.Section{{Key: "libraries", Table: table, Notes: []string{coverageNote}}},
	}
}

const coverageNote = "ΔE00 is from a tooth colour to its nearest answer, over all tooth colours: the mean is the coverage error (Paravina et al. 2007, J Prosthodont 16:269–276). The largest is sought in the whole region of tooth colours, by branch and bound, and true to 0.002."

// Tabs lists the tabs of a library, lightest group first.
func Tabs(l *tabs.Library) report.Report {
	table := &report.Table{Columns: []report.Column{
		{Key: "group", Title: "group", Left: true},
		{Key: "name", Title: "tab", Left: true},
		{Key: "L", Title: "L*"}, {Key: "a", Title: "a*"}, {Key: "b", Title: "b*"},
		{Key: "C", Title: "C*"}, {Key: "h", Title: "h"},
		{Key: "shown", Title: "as shown", Left: true},
		{Key: "fits", Title: "display can show it", Left: true},
	}}
	for _, g := range l.Groups() {
		for _, t := range g.Tabs {
			x := t.Lab.LCh()
			shown, fits := t.Lab.SRGB()
			hue := report.Cell(report.Number{Value: x.H, Decimals: 1})
			if !x.HasHue() {
				hue = report.Empty{}
			}
			table.Rows = append(table.Rows, []report.Cell{
				report.Text(g.Name), report.Text(t.Name), coordinate(t.Lab.L), coordinate(t.Lab.A), coordinate(t.Lab.B),
				coordinate(x.C), hue, report.Swatch(shown), report.Yes(fits),
			})
		}
	}
	return report.Report{
		Title:    fmt.Sprintf("Library %s: %s, fingerprint %s, as shown in daylight %s", l.Name(), sizeWords(l.Len(), len(l.Groups())), l.Fingerprint(), tabs.NewSheet(l, nil).Fingerprint()),
		List:     true,
		Sections: []report.Section{{Key: "tabs", Table: table, Notes: []string{"CIELAB relative to D65, 2° observer; h in degrees."}}},
	}
}

func sizeWords(tabs, groups int) string {
	return scoring.Count(tabs, "tab", "tabs") + " in " + scoring.Count(groups, "value group", "value groups")
}

func coordinate(v float64) report.Number { return report.Number{Value: v, Decimals: 1} }

// Check says what a library is good for.
func Check(l *tabs.Library, c tabs.CheckResult) report.Report {
	pt, at := scoring.Perceptibility.Value, scoring.Acceptability.Value
	return report.Report{
		Title: fmt.Sprintf("Library %s: %s, fingerprint %s", c.Library, sizeWords(c.Tabs, len(c.Groups)), c.Fingerprint),
		Sections: []report.Section{
			{
				Key: "coverage", Title: "How near it comes to tooth colours",
				Table: coverageTable(c),
				Notes: []string{coverageNote,
					fmt.Sprintf("Asked for the mean, the SD and the 95 of 100: %d colours of %s, %.1f ΔE00 apart. In between: the middle of two neighbours of one value group.", c.Alone.N, c.Region, c.Pitch)},
			},
			{Key: "groups", Title: "Value groups", Table: groupTable(c)},
			{
				Key: "duplicates", Title: "Tabs that can hardly be told apart",
				Table: duplicateTable(l, c),
				Notes: []string{fmt.Sprintf("%d %s below perceptibility (%.1f); the closest %d are listed.", c.DuplicatePairs,
					scoring.Plural(c.DuplicatePairs, "pair is", "pairs are"), pt, len(c.Duplicates))},
			},
			{
				Key: "gaps", Title: "Where an answer is missing",
				Table: gapTable(c),
				Notes: []string{fmt.Sprintf("%.1f %% of tooth colours are farther than acceptability (%.1f) from every answer.", 100*c.GapShare, at)},
			},
			{
				Key: "outside", Title: "Tabs to know about",
				Table: outsideTable(l, c),
				Notes: []string{"A tab that a display cannot show appears as the nearest colour it can show, and answers are marked by that."},
			},
		},
	}
}

func coverageTable(c tabs.CheckResult) *report.Table {
	t := &report.Table{Columns: []report.Column{
		{Key: "answers", Title: "answers", Left: true},
		{Key: "mean_dE00", Title: "mean ΔE00"}, {Key: "sd_dE00", Title: "SD"},
		{Key: "p95_dE00", Title: "95 of 100 within"}, {Key: "max_dE00", Title: "largest"},
	}}
	for _, row := range []struct {
		name report.Word
		of   tabs.Coverage
	}{{report.Word{Key: "tabs", Shown: "tabs alone"}, c.Alone}, {report.Word{Key: "tabs and between", Shown: "tabs and in between"}, c.WithBetween}} {
		t.Rows = append(t.Rows, []report.Cell{row.name, report.DeltaE(row.of.Mean), report.DeltaE(row.of.SD), report.DeltaE(row.of.P95), report.DeltaE(row.of.Max)})
	}
	return t
}

func groupTable(c tabs.CheckResult) *report.Table {
	t := &report.Table{Columns: []report.Column{
		{Key: "group", Title: "group", Left: true}, {Key: "tabs", Title: "tabs"}, {Key: "columns", Title: "chroma columns"},
		{Key: "lightest_L", Title: "lightest L*"}, {Key: "darkest_L", Title: "darkest L*"},
	}}
	for _, g := range c.Groups {
		t.Rows = append(t.Rows, []report.Cell{report.Text(g.Name), report.Count(g.Tabs), report.Count(g.Columns), coordinate(g.Lightest), coordinate(g.Darkest)})
	}
	return t
}

func duplicateTable(l *tabs.Library, c tabs.CheckResult) *report.Table {
	t := &report.Table{Columns: []report.Column{
		{Key: "tab", Title: "tab", Left: true}, {Key: "other", Title: "and", Left: true}, {Key: "dE00", Title: "ΔE00"},
	}}
	for _, d := range c.Duplicates {
		t.Rows = append(t.Rows, []report.Cell{report.Text(l.Tab(d.I).Name), report.Text(l.Tab(d.J).Name), report.DeltaE(d.E)})
	}
	return t
}

func gapTable(c tabs.CheckResult) *report.Table {
	t := &report.Table{Columns: []report.Column{
		{Key: "around", Title: "around", Left: true}, {Key: "dE00", Title: "ΔE00 to the nearest answer"}, {Key: "share", Title: "share of tooth colours, %"},
		{Key: "L", Title: "L*"}, {Key: "a", Title: "a*"}, {Key: "b", Title: "b*"},
	}}
	for _, g := range c.Gaps {
		t.Rows = append(t.Rows, []report.Cell{report.Text(g.Colour.LCh().String()), report.DeltaE(g.E), report.Share(g.Share, 1),
			coordinate(g.Colour.L), coordinate(g.Colour.A), coordinate(g.Colour.B)})
	}
	return t
}

func outsideTable(l *tabs.Library, c tabs.CheckResult) *report.Table {
	t := &report.Table{Columns: []report.Column{{Key: "tab", Title: "tab", Left: true}, {Key: "what", Title: "what", Left: true}, {Key: "colour", Title: "colour", Left: true}}}
	add := func(list []int, what report.Word) {
		for _, i := range list {
			t.Rows = append(t.Rows, []report.Cell{report.Text(l.Tab(i).Name), what, report.Text(notation(l.Tab(i).Lab))})
		}
	}
	add(c.OffGamut, report.Word{Key: "off gamut", Shown: "a display cannot show it"})
	add(c.Outside, report.Word{Key: "outside", Shown: "beyond the colours of " + c.Region})
	return t
}

func notation(c colour.Lab) string { return c.LCh().String() }
