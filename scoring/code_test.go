package scoring

import (
	"fmt"
	"testing"
)

// One identifier has one code everywhere; identifiers share codes as seldom as letters
// drawn by lot would: about 2 in 3,000 of 19^5.
func TestCodesOfAssignments(t *testing.T) {
	if got := (Assignment{ID: "01HZZZZZZZZZZZZZZZZZZZZZZZ", Number: 3}).Code(); got != (Assignment{ID: "01HZZZZZZZZZZZZZZZZZZZZZZZ", Number: 8}).Code() || len(got) != 5 {
		t.Errorf("code %q depends on the number", got)
	}
	seen := map[string]bool{}
	twice := 0
	for i := range 3000 {
		code := Assignment{ID: AssignmentID(fmt.Sprintf("assignment-%d", i))}.Code()
		if seen[code] {
			twice++
		}
		seen[code] = true
	}
	if twice > 8 {
		t.Errorf("%d of 3000 assignments share a code", twice)
	}
}

// The code of a set is that of the assignment which it is.
func TestCodeOfASet(t *testing.T) {
	a := Assignment{ID: "01HZZZZZZZZZZZZZZZZZZZZZZZ", Number: 3}
	if got := a.Set().Ref.Code(); got != a.Code() {
		t.Errorf("%q, not %q", got, a.Code())
	}
	if got := (SetRef{Kind: PanelSet, Name: string(a.ID)}).Code(); got != "" {
		t.Errorf("a session has the code %q", got)
	}
}
