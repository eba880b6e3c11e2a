package fault_test

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"testing"

	"shadedrill/colour/fault"
)

func TestTheOutermostHintIsTold(t *testing.T) {
	inner := fault.At(3, "no number", "write a number")
	if inner.Error() != "line 3: no number" || fault.At(0, "empty", "").Error() != "empty" {
		t.Errorf("told as %q", inner)
	}
	read := fmt.Errorf("teeth.csv: %w", inner)
	if fault.Hint(read) != "write a number" || fault.Hint(fault.Wrap(read, "name another file")) != "name another file" {
		t.Errorf("hints %q, %q", fault.Hint(read), fault.Hint(fault.Wrap(read, "name another file")))
	}
	if fault.Hint(nil) != "" || fault.Hint(io.EOF) != "" {
		t.Error("a hint out of nowhere")
	}
	if !errors.Is(fault.Wrap(io.EOF, "again"), io.EOF) {
		t.Error("what went wrong cannot be told any more")
	}
}

func TestListTellsTwentyAndCountsTheRest(t *testing.T) {
	var l fault.List
	for i := range 23 {
		l.Add(fault.At(i+1, "bad", fmt.Sprintf("mend %d", i+1)))
	}
	l.Outcome = "nothing was imported"
	all := l.All()
	if len(all) != 22 || all[19] != "line 20: bad" || !slices.Equal(all[20:], []string{"and 3 more", "nothing was imported"}) {
		t.Errorf("told as %q", all)
	}
	if got := fault.Hint(fmt.Errorf("x: %w", &l)); got != "mend 1" {
		t.Errorf("hint %q", got)
	}
}
