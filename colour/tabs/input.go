package tabs

import (
	"errors"
	"fmt"
	"math"
	"unicode"
	"unicode/utf8"

	"shadedrill/colour"
	"shadedrill/colour/fault"
)

const (
	nameHint = "names hold up to 60 printable characters: letters, digits, spaces, punctuation"
	labHint  = "give CIELAB (D65, 2°): L 0..100, a and b between -160 and 160, with decimal points"
)

// longestName keeps a name within one line of a table; house choice.
const longestName = 60

// checkName refuses names that cannot be shown as they are: control characters
// and terminal escapes would act on the terminal, format characters and
// directional overrides would show a name that is not the one stored.
func checkName(name string) error {
	if name == "" {
		return errors.New("is empty")
	}
	if !utf8.ValidString(name) {
		return fmt.Errorf("%q is not UTF-8 text", fault.Excerpt(name))
	}
	if utf8.RuneCountInString(name) > longestName {
		return fmt.Errorf("%q is longer than %d characters", fault.Excerpt(name), longestName)
	}
	for _, r := range name {
		switch {
		case unicode.IsControl(r):
			return fmt.Errorf("%q holds the control character U+%04X", fault.Excerpt(name), r)
		case unicode.Is(unicode.Cf, r):
			return fmt.Errorf("%q holds the invisible format character U+%04X", fault.Excerpt(name), r)
		case r != ' ' && !unicode.IsGraphic(r), unicode.IsSpace(r) && r != ' ', r == utf8.RuneError:
			return fmt.Errorf("%q holds the unprintable character U+%04X", fault.Excerpt(name), r)
		}
	}
	if name[0] == ' ' || name[len(name)-1] == ' ' {
		return fmt.Errorf("%q begins or ends with a space", name)
	}
	return nil
}

// checkLab refuses what is no colour. The bound on a* and b* lies beyond every
// real surface colour; a larger number is a slipped decimal point.
func checkLab(c colour.Lab) error {
	switch {
	case !c.Finite():
		return errors.New("a coordinate is not a finite number")
	case c.L < 0 || c.L > 100:
		return fmt.Errorf("lightness L is %g, outside 0..100", c.L)
	case math.Abs(c.A) > 160:
		return fmt.Errorf("a is %g, outside -160..160", c.A)
	case math.Abs(c.B) > 160:
		return fmt.Errorf("b is %g, outside -160..160", c.B)
	}
	return nil
}
