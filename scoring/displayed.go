package scoring

import "shadedrill/exercises"

// DisplayState is what is known of the display that a sitting was taken on.
type DisplayState string

const (
	DisplayChecked DisplayState = "checked"
	DisplayFailed  DisplayState = "failed"
	DisplayNone    DisplayState = "none"    // never checked
	DisplayNoPart  DisplayState = "no part" // no colour was shown on it
)

// DisplayState says whether the colours of a sitting can have been what they were meant to
// be, as far as its person's display check tells.
func (s Sitting) DisplayState() DisplayState {
	switch d := s.Display; {
	case exercises.TraitsOf(s.Setup.Kind).ByHand:
		return DisplayNoPart
	case d.At.IsZero():
		return DisplayNone
	case !d.Acceptable:
		return DisplayFailed
	}
	return DisplayChecked
}

// Trusted reports whether nothing stands against the display.
func (d DisplayState) Trusted() bool { return d == DisplayChecked || d == DisplayNoPart }

// Words say it in a column.
func (d DisplayState) Words() string {
	switch d {
	case DisplayFailed:
		return "check FAILED"
	case DisplayNone:
		return "not checked"
	case DisplayNoPart:
		return "plays no part"
	}
	return "checked"
}
