package reporttest

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/olekukonko/tablewriter/pkg/twwidth"

	"shadedrill/scoring/report"
)

// Sound checks what must hold of every report, whatever lies in the book it was made
// from: it can be written in every format, fits a terminal of 80 cells, and tells nothing
// that is no number, no sentence or no share, or lies outside its own interval.
func Sound(t testing.TB, name string, r report.Report) {
	t.Helper()
	for _, fault := range Faults(r) {
		t.Errorf("%s: %s", name, fault)
	}
}

// Faults lists what is wrong with a report, in words.
func Faults(r report.Report) (list []string) {
	add := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	sentence := func(where, text string) {
		if why := sentenceFault(text); why != "" {
			add("%s: %s: %q", where, why, text)
		}
	}
	sentence("the title", r.Title)
	for _, line := range r.Lead {
		sentence("the lead", line)
	}
	for _, s := range r.Sections {
		for _, n := range s.Notes {
			sentence("a note of "+s.Key, n)
		}
		if s.Table != nil {
			for row := range s.Table.Rows {
				for i, c := range s.Table.Columns {
					if why := cellFault(c.Key, s.Table.Cell(row, i)); why != "" {
						add("%s, row %d, %s: %s", s.Key, row+1, c.Key, why)
					}
				}
			}
		}
		for _, p := range s.Plots {
			for _, series := range p.Series {
				if why := seriesFault(series); why != "" {
					add("%s, picture %s, %q: %s", s.Key, p.Key, series.Name, why)
				}
			}
		}
	}
	for _, f := range report.Formats() {
		var b bytes.Buffer
		if err := report.Write(&b, r, f, report.Layout{Width: terminal}); err != nil {
			add("%s: %v", f, err)
			continue
		}
		for line := range strings.Lines(b.String()) {
			line = strings.TrimSuffix(line, "\n")
			if found := nonsenseIn(line); found != "" {
				add("%s says %q: %s", f, found, line)
			}
			if f == report.FormatText {
				if w := twwidth.Width(line); w > terminal {
					add("text has a line of %d cells: %s", w, line)
				}
			}
		}
		switch f {
		case report.FormatJSON:
			if !json.Valid(b.Bytes()) {
				add("json does not parse")
			}
		case report.FormatCSV:
			if _, err := csv.NewReader(&b).ReadAll(); err != nil {
				add("csv: %v", err)
			}
		}
	}
	return list
}

const terminal = 80 // cells of the narrowest terminal

// nonsense is what a program writes that did not notice: no number, a verb without a
// value, a zero below zero, a time that is none, one of several. "1 answers" with a digit,
// a decimal or a range before it is right: "21 answers", "0.1 answers", "0–1 answers".
var nonsense = regexp.MustCompile(`January 0001|\b0001-01-0|\bNaN\b|[+-]?\bInf\b|%!|(^|[\s("=>,])[-−]0(\.0+)?($|[\s)"<,%])|` +
	`(^|[^\d.,–−-])\b1 (further |shared |other |more |value )?(answers|sittings|learners|people|persons|items|shades|days|tabs|pairs|groups|judgements|trials|sessions|assignments|forms|parts|steps|cells|drills|minutes|others)\b`)

// nonsenseIn finds some; most lines are passed by quickly.
func nonsenseIn(line string) string {
	for _, part := range []string{"NaN", "Inf", "%!", "-0", "−0", "1 ", "0001"} {
		if strings.Contains(line, part) {
			return nonsense.FindString(line)
		}
	}
	return ""
}

// sentenceFault says what is wrong with a sentence for people; "" for nothing.
func sentenceFault(text string) string {
	switch {
	case strings.TrimSpace(text) == "":
		return "empty"
	case text != strings.TrimSpace(text):
		return "blanks around it"
	case strings.Contains(text, "()"), strings.Contains(text, "( "), strings.Contains(text, " )"):
		return "empty brackets"
	case strings.Contains(text, " ,"), strings.Contains(text, " ."), strings.Contains(text, ",,"), strings.Contains(text, ",."), strings.Contains(text, ":."), strings.Contains(text, ": ;"), strings.Contains(text, ";."):
		return "something is missing"
	case strings.Contains(strings.ReplaceAll(text, "...", ""), ".."):
		return "it ends twice"
	}
	return ""
}

func cellFault(key string, c report.Cell) string {
	switch c := c.(type) {
	case report.Number:
		if c.Percent && (c.Value < 0 || c.Value > 1) {
			return fmt.Sprintf("a share of %v", c.Value)
		}
		if math.IsInf(c.Value, 0) {
			return "infinite"
		}
	case report.Count:
		if c < 0 {
			return fmt.Sprintf("a count of %d", int(c))
		}
	case report.Estimated:
		return estimateFault(key, c)
	case report.Text:
		if s := string(c); s != "" {
			return sentenceFault(s)
		}
	}
	return ""
}

// tolerated is how far rounding may put an estimate beyond the end of its interval.
const tolerated = 1e-9

func estimateFault(key string, e report.Estimated) string {
	if !e.Defined() {
		if len(e.Warnings) == 0 || e.Warnings[0] == "" {
			return "undefined without a reason"
		}
		return ""
	}
	least, most := 0.0, 1.0
	switch {
	case e.Signed: // of a change
		least = -1
	case key == "per_doubling": // of an error that may have grown
		most = math.Inf(1)
	}
	switch {
	case e.Percent && (e.Value < least || e.Value > most):
		return fmt.Sprintf("a share of %v", e.Value)
	case !e.HasInterval():
		return ""
	case e.Value < e.Lo-tolerated || e.Value > e.Hi+tolerated:
		return fmt.Sprintf("%v lies outside its interval %v to %v", e.Value, e.Lo, e.Hi)
	case e.Percent && (e.Lo < least || e.Hi > most):
		return fmt.Sprintf("a share of %v to %v", e.Lo, e.Hi)
	case e.Level <= 0 || e.Level >= 1:
		return fmt.Sprintf("an interval at %v", e.Level)
	case e.N <= 0:
		return "an interval of nothing"
	}
	return ""
}

func seriesFault(s report.Series) string {
	if len(s.X) != len(s.Y) && s.Style != report.Box {
		return fmt.Sprintf("%d places and %d values", len(s.X), len(s.Y))
	}
	for i, y := range s.Y {
		if math.IsInf(y, 0) || s.Style != report.Box && math.IsInf(s.X[i], 0) {
			return "an infinite place"
		}
		if i < len(s.Lo) && i < len(s.Hi) && (y < s.Lo[i]-tolerated || y > s.Hi[i]+tolerated) {
			return fmt.Sprintf("%v lies outside its interval %v to %v", y, s.Lo[i], s.Hi[i])
		}
	}
	return ""
}
