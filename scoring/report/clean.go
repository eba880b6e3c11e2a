package report

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// escapes are the terminal's control sequences and operating-system commands
// (ECMA-48, 8.3.16 and 5.6), taken out whole so that no letters of them stay.
var escapes = regexp.MustCompile(`\x1b\[[0-?]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(\x07|\x1b\\)?`)

// Clean makes outside text safe to print in one line: terminal escapes and all
// other control characters, bidirectional overrides and
// other invisible format characters go, line ends and tabulators become spaces,
// and broken UTF-8 becomes the replacement character. The joiners stay, since
// names in several scripts need them.
func Clean(s string) string {
	clean := true
	for i := 0; i < len(s); i++ {
		if s[i] < ' ' || s[i] >= 0x7f {
			clean = false
			break
		}
	}
	if clean {
		return s
	}
	var b strings.Builder
	if strings.ContainsRune(s, '\x1b') {
		s = escapes.ReplaceAllString(s, "")
	}
	for _, r := range strings.ToValidUTF8(s, string(utf8.RuneError)) {
		switch {
		case r == '\t' || r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			b.WriteByte(' ')
		case r == '\u200c' || r == '\u200d':
			b.WriteRune(r)
		case unicode.Is(unicode.Cc, r) || unicode.Is(unicode.Cf, r):
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Spreadsheet makes text safe to open in a spreadsheet: what would be taken
// for a formula gets an apostrophe before it, which spreadsheets read as "this
// is text". So does what stands after a semicolon, at which spreadsheets of many
// countries part the cells of a line, and text that begins with apostrophes of its own
// before such a sign, so that [FromSpreadsheet] gives every text back. Plain numbers are
// left alone.
func Spreadsheet(s string) string {
	s = Clean(s)
	if runs.MatchString(s) && !plainNumber(s) {
		s = "'" + s
	}
	return parted.ReplaceAllString(s, ";'$1")
}

// FromSpreadsheet takes off the apostrophes that [Spreadsheet] put before text.
func FromSpreadsheet(s string) string {
	if held, ok := strings.CutPrefix(s, "'"); ok && runs.MatchString(held) {
		s = held
	}
	return guarded.ReplaceAllString(s, ";$1")
}

// What a spreadsheet runs, or would but for the apostrophes before it.
const formula = `[\s\p{Z}'"]*[=+\-@|%＝＋－＠]`

var (
	runs    = regexp.MustCompile(`^` + formula)
	parted  = regexp.MustCompile(`;(` + formula + `)`)
	guarded = regexp.MustCompile(`;'(` + formula + `)`)
)

// plainNumber reports whether s is an optional sign, digits and at most one
// decimal point: nothing that a spreadsheet could run.
func plainNumber(s string) bool { return number.MatchString(s) }

var number = regexp.MustCompile(`^[+-]?(\d+\.?\d*|\.\d+)$`)
