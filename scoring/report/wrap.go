package report

import (
	"strings"
	"unicode/utf8"

	"github.com/olekukonko/tablewriter/pkg/twwidth"
)

// Wrap breaks text at spaces so that its lines take at most width cells; a width that
// is not positive is no limit, and text that fits stays as it is. A longer word is
// broken where the width ends.
func Wrap(text string, width int) []string {
	if width <= 0 || twwidth.Width(text) <= width {
		return []string{text}
	}
	return WrapBy(text, width, func(text string) (int, int) {
		_, n := utf8.DecodeRuneInString(text)
		return n, twwidth.Width(text[:n])
	})
}

// WrapBy does it for whoever measures otherwise, as a screen does: first says how many
// bytes the first character of a text has and how many cells it takes. Every line takes
// as many words as it can.
func WrapBy(text string, width int, first func(text string) (bytes, cells int)) []string {
	width = max(1, width)
	var lines []string
	line, used := "", 0
	end := func() {
		if used > 0 {
			lines = append(lines, line)
		}
		line, used = "", 0
	}
	for _, word := range strings.Fields(text) {
		cells, fits := measured(word, width, first)
		if used > 0 && used+1+cells <= width {
			line, used = line+" "+word, used+1+cells
			continue
		}
		end()
		for cells > width && fits > 0 { // longer than a line
			lines = append(lines, word[:fits])
			word = word[fits:]
			cells, fits = measured(word, width, first)
		}
		line, used = word, cells
	}
	end()
	if len(lines) == 0 {
		lines = append(lines, "")
	}
	return lines
}

// measured is how many cells a word takes, and how many bytes of it fit a line.
func measured(word string, width int, first func(string) (bytes, cells int)) (cells, fits int) {
	for at := 0; at < len(word); {
		n, w := first(word[at:])
		at, cells = at+n, cells+w
		if cells <= width {
			fits = at
		}
	}
	return cells, fits
}
