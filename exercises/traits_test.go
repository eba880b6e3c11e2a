package exercises

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/exercises/observer"
)

// Which exercises can ask for one attribute alone is what their trials say: where one is
// named, those that can ask something else, and the others take no notice of it.
func TestNarrowsIsTrue(t *testing.T) {
	for _, kind := range []KindID{ValueFirst, Halfway, LineUp, Thirds, Whitening, Combination, Lighting} {
		s := Setup{Kind: kind, Count: 3, Seed: 3, Sheet: sheetOf(t, "natural")}
		all, _ := play(t, s, observer.Observer{}, 1)
		s.Attribute = AttributeHue
		hue, _ := play(t, s, observer.Observer{}, 1)
		if narrows := !cmp.Equal(all, hue); narrows != TraitsOf(kind).Narrows {
			t.Errorf("%s: an attribute changes the trials: %v; its traits say %v", kind, narrows, TraitsOf(kind).Narrows)
		}
	}
}
