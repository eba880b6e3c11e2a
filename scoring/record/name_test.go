package record_test

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"shadedrill/scoring/record"
)

// Hostile, foreign and plain names, and what is kept of them.
func TestNamesAreMadeFitToShow(t *testing.T) {
	const mark = "\u0301"
	for in, want := range map[string]string{
		"Ada Finch":                     "Ada Finch",
		"  Ada \t\n Finch ":             "Ada Finch",
		"\x1b[31mAda\x1b[0m":            "Ada",
		"\x1b]0;title\x07Ada":           "Ada",
		"\u009b31mAda":                  "Ada",
		"Ada\u202eFinch":                "AdaFinch",
		"Ada\u200dFinch":                "AdaFinch", // a joiner only hides in Latin
		"\u0915\u094d\u200d\u0937":      "\u0915\u094d\u200d\u0937",
		"Ada" + strings.Repeat(mark, 4): "Ada" + strings.Repeat(mark, 4),
		"Ada" + strings.Repeat(mark, 5): "Ada" + strings.Repeat(mark, 4),
		"A" + strings.Repeat(mark, 9) + "b" + strings.Repeat(mark, 9): "A" + strings.Repeat(mark, 4) + "b" + strings.Repeat(mark, 4),
		mark + "Ada":                            "Ada", // a mark needs a letter to stand on
		"Ada " + mark + "Finch":                 "Ada Finch",
		strings.Repeat("x", record.LongestName): strings.Repeat("x", record.LongestName),
		"7":                                     "7",
	} {
		if got, err := record.CleanName(in); err != nil || got != want {
			t.Errorf("%+q became %+q (%v), want %+q", in, got, err, want)
		}
	}
	for in, says := range map[string]string{
		"":               "no letters or digits",
		" \u2800\u00ad ": "no letters or digits",
		"…!":             "no letters or digits",
		"\xff\xfe":       "not UTF-8",
		strings.Repeat("x", record.LongestName+1): "longer than 60",
	} {
		if got, err := record.CleanName(in); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%+q became %+q (%v), want an error that says %q", in, got, err, says)
		}
	}
}

// Whatever is typed: a name that is taken is short, readable, free of what a
// terminal obeys, and cleaning it again changes nothing; its key neither.
func FuzzName(f *testing.F) {
	for _, s := range []string{"Ada Finch", "\x1b[31mAda", "José", "Jose\u0301", "\u0915\u094d\u200d\u0937", "Ada\u202eFinch", "\xff", "ß ﬁ Ａ", "a\x1b]0;b\x1b\\c",
		strings.Repeat("x\u0301", 61), "\u200dA\u200d", "İi\u0307", "ǅ", "\u1885A", "a\u034fb", "\U000e0041x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		key := record.NameKey(s)
		if again := record.NameKey(key); utf8.ValidString(s) && again != key {
			t.Errorf("the key %+q of %+q has the key %+q", key, s, again)
		}
		name, err := record.CleanName(s)
		if err != nil {
			if name != "" {
				t.Errorf("%+q is refused (%v) and yet became %+q", s, err, name)
			}
			return
		}
		if again, err := record.CleanName(name); err != nil || again != name {
			t.Errorf("%+q became %+q, that became %+q (%v)", s, name, again, err)
		}
		if record.NameKey(name) != key {
			t.Errorf("%+q has the key %+q, cleaned %+q it has %+q", s, key, name, record.NameKey(name))
		}
		if n := utf8.RuneCountInString(name); n < 1 || n > record.LongestName || !utf8.ValidString(name) {
			t.Errorf("%+q became %+q of %d characters", s, name, n)
		}
		marks := 0
		for _, r := range name {
			if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || unicode.IsSpace(r) && r != ' ' {
				t.Errorf("%+q became %+q, which holds %+q", s, name, r)
			}
			if !unicode.Is(unicode.M, r) {
				marks = 0
			} else if marks++; marks > 4 {
				t.Errorf("%+q became %+q with %d marks on a letter", s, name, marks)
			}
		}
	})
}
