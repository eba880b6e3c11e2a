package panels

import (
	"testing"

	"shadedrill/exercises"
)

// What is advised can be done: the exercise in which an attribute is to be seen alone asks
// for it alone.
func TestWhatIsAdvisedAsksForOneAttribute(t *testing.T) {
	for _, attribute := range attributes {
		if kind := exercises.SeenAlone(attribute); !exercises.TraitsOf(kind).Narrows {
			t.Errorf("%s cannot ask for %s alone", kind, attribute)
		}
	}
}
