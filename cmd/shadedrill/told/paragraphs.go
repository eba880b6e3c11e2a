package told

import (
	"strings"
	"unicode/utf8"

	"shadedrill/scoring/report"
)

// HelpWidth is the width that every help text keeps to.
const HelpWidth = 80

// Paragraphs sets text in lines of the help's width. Indented lines are lists and
// stay lines of their own: a name, two blanks or more, and what is said of it.
func Paragraphs(text string) string {
	var lines []string
	for _, block := range strings.Split(strings.TrimSpace(text), "\n\n") {
		if len(lines) > 0 {
			lines = append(lines, "")
		}
		var flowing []string
		flush := func() {
			if len(flowing) > 0 {
				lines = append(lines, report.Wrap(strings.Join(flowing, " "), HelpWidth)...)
				flowing = nil
			}
		}
		for _, line := range strings.Split(block, "\n") {
			if !strings.HasPrefix(line, " ") {
				flowing = append(flowing, line)
				continue
			}
			flush()
			name, said := line, ""
			if i := strings.LastIndex(line, "  "); i > 1 {
				name, said = line[:i+2], line[i+2:]
			}
			lines = append(lines, Entry(name, said))
		}
		flush()
	}
	return strings.Join(lines, "\n")
}

// Entry is a line of a list, what is said of the name kept right of it.
func Entry(name, said string) string {
	margin := utf8.RuneCountInString(name)
	return name + strings.Join(report.Wrap(said, HelpWidth-margin), "\n"+strings.Repeat(" ", margin))
}
