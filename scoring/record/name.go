package record

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"

	"shadedrill/colour/fault"
)

// LongestName is how many characters a name may have; house choice.
const LongestName = 60

// mostMarks is how many combining marks may stand on one letter. Pointed Hebrew
// needs three; towers of marks that reach into other rows of a table need more.
const mostMarks = 4

const nameHint = "a name has 1 to 60 characters, at least one of them a letter or digit"

// CleanName makes a name from outside fit to be stored and shown anywhere.
// Terminal escape sequences, control characters, directional overrides and
// characters that cannot be seen are taken out, white space is made single
// spaces. A name of which nothing readable is left, or that is too long, is an
// error. Cleaning a clean name changes nothing.
func CleanName(name string) (string, error) {
	if !utf8.ValidString(name) {
		return "", fault.New("the name is not UTF-8 text", nameHint)
	}
	clean := clean(name)
	readable := strings.ContainsFunc(clean, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) })
	switch {
	case !readable:
		return "", fault.New("the name has no letters or digits", nameHint)
	case utf8.RuneCountInString(clean) > LongestName:
		return "", fault.New(fmt.Sprintf("the name is longer than %d characters", LongestName), nameHint)
	}
	return clean, nil
}

// NameKey is equal for names of people that read alike: but for case, spacing and
// joiners, and however their letters are put together (accents, ligatures, full-width
// forms, ß and ss). It is toNFKC_Casefold of the Unicode Standard (section 3.13, D145
// and R5) after cleaning.
func NameKey(name string) string {
	name = clean(name)
	if ascii(name) {
		return strings.ToLower(name)
	}
	key := norm.NFD.String(withoutJoiners(name))
	// What is taken apart may hold what folds, and what is folded what is taken apart.
	for range 2 {
		key = norm.NFKC.String(cases.Fold().String(key))
	}
	return strings.Join(strings.Fields(withoutJoiners(clean(key))), " ")
}

func withoutJoiners(s string) string {
	return strings.Map(func(r rune) rune {
		if joiner(r) {
			return -1
		}
		return r
	}, s)
}

// TitleKey is equal for names of classes and calibration sessions that read alike but
// for case, spacing and joiners. The order in which people are asked in a session
// depends on it: it never changes.
func TitleKey(name string) string {
	return strings.Map(func(r rune) rune {
		if joiner(r) {
			return -1
		}
		// The smallest of the letters that fold into each other stands for them.
		least := r
		for f := unicode.SimpleFold(r); f != r; f = unicode.SimpleFold(f) {
			least = min(least, f)
		}
		return least
	}, strings.Join(strings.Fields(clean(name)), " "))
}

func clean(name string) string {
	if spotless(name) {
		return name
	}
	return cleaned(name)
}

// spotless reports words of printable ASCII with single spaces between them, from
// which nothing is to be taken. Most names are such, and lists of people are put in order
// by their keys.
func spotless(name string) bool {
	space := true
	for i := range len(name) {
		b := name[i]
		if b < ' ' || b > '~' || b == ' ' && space {
			return false
		}
		space = b == ' '
	}
	return !space
}

func cleaned(name string) string {
	var b strings.Builder
	letter := false // a letter came before, so a joiner or mark has something to stand on
	marks := 0
	runes := []rune(withoutEscapes(name))
	for i, r := range runes {
		switch {
		case unicode.IsSpace(r):
			b.WriteByte(' ')
			letter = false
		case joiner(r):
			if letter && i+1 < len(runes) && joined(runes[i-1]) && joined(runes[i+1]) {
				b.WriteRune(r)
			}
		case unseen(r):
		case unicode.Is(unicode.M, r):
			if marks++; letter && marks <= mostMarks {
				b.WriteRune(r)
			}
		case !unicode.IsPrint(r):
		default:
			letter, marks = true, 0
			b.WriteRune(r)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// joiner reports zero-width joiner and non-joiner, which some scripts need.
func joiner(r rune) bool { return r == 0x200C || r == 0x200D }

// joined reports letters and marks of scripts in which joiners change the
// spelling; elsewhere a joiner only hides in a name.
func joined(r rune) bool {
	return unicode.In(r, unicode.Arabic, unicode.Syriac, unicode.Mongolian, unicode.Devanagari, unicode.Bengali, unicode.Gurmukhi,
		unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu, unicode.Kannada, unicode.Malayalam, unicode.Sinhala)
}

// unseen reports characters that take no ink: formats (directional overrides
// among them), variation selectors, fillers.
func unseen(r rune) bool {
	return unicode.In(r, unicode.Cf, unicode.Variation_Selector, unicode.Other_Default_Ignorable_Code_Point) || r == 0x2800
}

// withoutEscapes takes out terminal control sequences whole, so that no "[31m"
// stays behind (ECMA-48: ESC or its 8-bit form, parameters, final byte; strings
// up to BEL or ST).
func withoutEscapes(s string) string {
	const esc, bel, st = 0x1B, 0x07, 0x9C
	var b strings.Builder
	runes := []rune(s)
	for i := 0; i < len(runes); i++ {
		r := runes[i]
		next := rune(0)
		if r == esc && i+1 < len(runes) {
			next = runes[i+1]
		}
		switch {
		case next == '[' || r == 0x9B: // control sequence
			if next != 0 {
				i++
			}
			for i++; i < len(runes) && runes[i] >= 0x20 && runes[i] < 0x40; i++ {
			}
		case next != 0 && strings.ContainsRune("]PX^_", next) || strings.ContainsRune("\u0090\u0098\u009D\u009E\u009F", r):
			for i++; i < len(runes) && runes[i] != bel && runes[i] != st; i++ {
				if runes[i] == esc && i+1 < len(runes) && runes[i+1] == '\\' {
					i++
					break
				}
			}
		case r == esc: // other sequences: intermediates and a final byte
			for i++; i < len(runes) && runes[i] >= 0x20 && runes[i] < 0x30; i++ {
			}
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
