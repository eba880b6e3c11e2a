//go:build endtoend

package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"

	"shadedrill/exercises"
)

// A row is carried into another order and a stock tooth is taken in a real
// terminal: what was on the screen is what the export says.
func TestEndToEndLineUpAndCombination(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	book := filepath.Join(t.TempDir(), "book.db")
	s := startTerminal(t, 80, 24, fmt.Sprintf("%s practise line-up --seed 11 --count 1 --patches 6 --book %s --learner Tester", program, book))
	s.wait("Before you begin")
	s.press("Enter")
	passDisplayCheck(s)
	s.wait("Take a patch up")
	s.press("Enter")
	s.wait("lightest at the left")
	s.press("Space", "Right", "Right", "Space") // the first patch to the third place
	s.press("End", "Space", "Home", "Space")    // the last to the front
	s.settled("take up")
	s.press("Enter")
	s.wait("in order, lightest to darkest")
	rows := export(t, program, book)
	var answer exercises.Answer
	if len(rows) != 1 || json.Unmarshal([]byte(rows[0]["answer_data"]), &answer) != nil || !slices.Equal(answer.Order, []int{5, 1, 2, 0, 3, 4}) {
		t.Fatalf("the export holds %v", rows)
	}

	s.press("Enter")
	s.wait("(?i)summary")

	s = startTerminal(t, 80, 24, fmt.Sprintf("%s practise combination --seed 11 --count 1 --limit 0 --book %s --learner Tester", program, book))
	s.wait("redo the crown")
	s.press("Enter")
	s.wait("Step 1 of 3, value")
	s.press("Right", "Enter")
	tab := func(screen string) string {
		return regexp.MustCompile(`L\d+ C\d+ h\d+`).FindString(escape.ReplaceAllString(screen, ""))
	}
	before := tab(s.wait(`Step 2 of 3, chroma[\s\S]*L\d+ C\d+ h\d+`))
	s.press("Right")
	name := before
	for end := time.Now().Add(30 * time.Second); name == before; {
		if name = tab(s.settled("back to value")); time.Now().After(end) {
			t.Fatalf("the next tab is not shown, only %q", name)
		}
	}
	s.press("Enter")
	s.wait("Step 3 of 3, verdict")
	s.press("a")
	s.wait("the crown +best")
	rows = export(t, program, book)
	if len(rows) != 2 || rows[1]["tab"] != name || rows[1]["choice"] != exercises.Acceptable || rows[1]["dE00"] == "" || name == "" {
		t.Errorf("the screen named %q, the export says %q, %q, ΔE00 %q", name, rows[1]["tab"], rows[1]["choice"], rows[1]["dE00"])
	}
}
