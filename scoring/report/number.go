package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring"
)

// forPeople writes a number with a true minus sign, no negative zero, and a
// plus sign where the sign is the message.
func forPeople(v float64, decimals int, signed bool) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	switch zero := strings.Trim(s, "0.") == ""; {
	case zero:
		return s
	case v < 0:
		return "−" + s
	case signed:
		return "+" + s
	}
	return s
}

// machineDigits is how many digits machines get: all that a computation here
// can answer for, so that 0.1 is not 0.10000000000000142.
const machineDigits = 10

// forMachines writes a number, or nothing for one that is not finite.
func forMachines(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	if v == 0 { // −0 as well
		return "0"
	}
	return strconv.FormatFloat(v, 'g', machineDigits, 64)
}

// parts gives an estimate as people read it, the number and its interval,
// without its warnings.
func (e Estimated) parts() (number, interval string) {
	if !e.Defined() {
		return "undefined", ""
	}
	scale, unit := 1.0, ""
	if e.Percent {
		scale, unit = 100, " %"
	}
	number = forPeople(scale*e.Value, e.Decimals, e.Signed)
	switch e.Open() {
	case 1:
		return "at least " + number + unit, ""
	case -1:
		return "at most " + number + unit, ""
	}
	if e.HasInterval() {
		interval = "(" + forPeople(scale*e.Lo, e.Decimals, e.Signed) + " to " + forPeople(scale*e.Hi, e.Decimals, e.Signed) + ")" + unit
		return number, interval
	}
	return number + unit, ""
}

func (e Estimated) words() string {
	number, interval := e.parts()
	if interval == "" {
		return number
	}
	return number + " " + interval
}

// words gives a cell as people read it, without footnotes.
func words(c Cell) string {
	switch c := c.(type) {
	case Text:
		return Clean(string(c))
	case Word:
		return Clean(c.Shown)
	case Swatch:
		return colour.SRGB(c).Hex()
	case Shade:
		return colour.SRGB(c).Lab().LCh().String()
	case Spark:
		return c.words()
	case Number:
		if c.Percent {
			return forPeople(100*c.Value, c.Decimals, c.Signed)
		}
		return forPeople(c.Value, c.Decimals, c.Signed)
	case Count:
		return strconv.Itoa(int(c))
	case Yes:
		if c {
			return "yes"
		}
		return "no"
	case Estimated:
		return c.words()
	}
	return ""
}

// SignedWords is a number in a sentence, with its sign and two decimals.
func SignedWords(v float64) string { return forPeople(v, 2, true) }

// Words gives a cell as people read it, for use in a sentence.
func Words(c Cell) string { return words(c) }

// warnings are the statistic's own, and that its interval is rough where little stands
// behind it: said here, so that no report can forget it.
func (e Estimated) warnings() []string {
	if e.Rough() {
		return append(slices.Clone(e.Warnings), scoring.RoughInterval)
	}
	return e.Warnings
}

// footnotes numbers the warnings of a section's table. The same warning keeps
// its number wherever it stands.
type footnotes struct {
	texts []string
	at    map[string]int
}

// marks returns the numbers of a cell's warnings, from 1.
func (f *footnotes) marks(c Cell) []int {
	e, ok := c.(Estimated)
	if !ok {
		return nil
	}
	var list []int
	for _, w := range e.warnings() {
		w = Clean(w)
		if f.at == nil {
			f.at = map[string]int{}
		}
		if _, known := f.at[w]; !known {
			f.texts = append(f.texts, w)
			f.at[w] = len(f.texts)
		}
		list = append(list, f.at[w])
	}
	slices.Sort(list)
	return list
}

// raised writes footnote numbers as superscripts: ¹, or ¹˒² for two.
func raised(marks []int) string {
	var b strings.Builder
	for i, m := range marks {
		if i > 0 {
			b.WriteString("˒")
		}
		for _, digit := range strconv.Itoa(m) {
			b.WriteString(superscripts[digit-'0'])
		}
	}
	return b.String()
}

var superscripts = [10]string{"⁰", "¹", "²", "³", "⁴", "⁵", "⁶", "⁷", "⁸", "⁹"}

// levelNote says what the brackets of a table mean, or "" without brackets.
func levelNote(t *Table) string {
	var levels []string
	seen := map[float64]bool{}
	for row := range t.Rows {
		for column := range t.Columns {
			e, ok := t.Cell(row, column).(Estimated)
			if ok && e.Defined() && e.HasInterval() && !seen[e.Level] {
				seen[e.Level] = true
				levels = append(levels, strconv.FormatFloat(math.Round(e.Level*1000)/10, 'f', -1, 64)+" %")
			}
		}
	}
	switch len(levels) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("In brackets: the %s interval.", levels[0])
	}
	return fmt.Sprintf("In brackets: intervals at %s.", strings.Join(levels, " and "))
}
