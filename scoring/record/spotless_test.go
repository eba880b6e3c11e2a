package record

import "testing"

// A name that is passed as it is would not be changed by what takes things out of names:
// all texts of up to five of these characters.
func TestSpotlessNamesAreClean(t *testing.T) {
	signs := []string{"a", "~", " ", "[", "\\", "\x1b", "\x7f", "\t", "é", "\u202e"}
	texts, passed := []string{""}, 0
	for range 5 {
		var longer []string
		for _, text := range texts {
			for _, sign := range signs {
				longer = append(longer, text+sign)
			}
		}
		for _, text := range longer {
			if !spotless(text) {
				continue
			}
			passed++
			if got := cleaned(text); got != text {
				t.Fatalf("%+q is taken for spotless, and cleaned it is %+q", text, got)
			}
		}
		texts = longer
	}
	if passed < 1000 {
		t.Errorf("only %d texts are spotless", passed)
	}
}
