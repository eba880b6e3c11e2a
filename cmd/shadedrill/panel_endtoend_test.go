//go:build endtoend

package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
)

// A calibration session is laid down, taken in a small terminal, broken off, taken
// up again to its end, refused a second time, and found in the lead's report.
func TestEndToEndPanelIsTaken(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	book := filepath.Join(t.TempDir(), "team.db")
	command(t, program, "panel", "new", "Spring team", "--items", "3", "--repeats", "2", "--seed", "4", "--rest", "0s", "--book", book, "--learner", "Ida")
	take := fmt.Sprintf("%s panel take 'Spring team' --book %s --learner Tester", program, book)

	s := startTerminal(t, 80, 24, take)
	s.wait("Before you begin") // Ida laid it down; whoever takes it is here for the first time
	s.press("Enter")
	passDisplayCheck(s)
	s.wait("calibration session Spring team")
	s.wait("no feedback before the end")
	s.press("Enter")
	answer := func(n int) {
		s.wait(fmt.Sprintf("trial %d of 6", n))
		s.wait("Step 1 of 2")
		s.press("Right", "Enter")
		s.wait("Step 2 of 2")
		s.press("Enter")
	}
	answer(1)
	answer(2)
	s.wait("trial 3 of 6")
	s.tmux("kill-server") // the window is gone, and the program with it

	s = startTerminal(t, 80, 24, take)
	s.wait("4 trials to come")
	s.press("Enter")
	for n := 3; n <= 6; n++ {
		answer(n)
	}
	s.wait("(?i)summary")
	s.wait("6 trials")
	s.press("q") // to the menu …
	s.wait("Somebody else")
	s.press("q") // … and out
	s.wait("panel report")

	out := command(t, program, "panel", "report", "Spring team", "--book", book)
	for _, want := range []string{"1 person began it, 1 finished it: 3 shared items, each shown twice to each; 6 answers", "Tester", "lead          Ida", "one rater only"} {
		if !strings.Contains(strings.Join(strings.Fields(out), " "), strings.Join(strings.Fields(want), " ")) {
			t.Errorf("the report does not say %q:\n%s", want, out)
		}
	}
	s = startTerminal(t, 80, 24, take)
	s.wait("Tester took the calibration session")
	s.wait("hint: a session is taken once")
}
