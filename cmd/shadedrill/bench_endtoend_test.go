//go:build endtoend

package main

import (
	"fmt"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// A round at the bench, typed in a real terminal: the layout is read off the screen
// as the person does who lays out, the pairs are found, and no colour is ever shown.
func TestEndToEndBench(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	book := filepath.Join(t.TempDir(), "book.db")
	s := startTerminal(t, 80, 24, fmt.Sprintf("%s practise bench --pairs 6 --count 1 --seed 4 --book %s --learner Tester", program, book))
	grey := func(pattern string) string {
		t.Helper()
		screen := s.wait(pattern)
		for _, m := range escape.FindAllStringSubmatch(screen, -1) {
			if c, ok := background(m[1]); ok && (c.R != c.G || c.G != c.B) {
				t.Errorf("the screen with %q shows the colour %s", pattern, c.Hex())
			}
		}
		return escape.ReplaceAllString(screen, "")
	}
	s.wait("Before you begin")
	s.press("Enter")
	grey("You need two sets of the same real tabs")
	s.press("Enter")
	grey("Give the screen")
	s.press("Enter")
	layout := grey("left set +right set")
	s.press("Enter")
	grey("The layout is hidden again")
	s.press("Enter")

	var a, b [7]string // tabs by place
	for _, m := range regexp.MustCompile(`(\d+)  (tab \d+) +(tab \d+)`).FindAllStringSubmatch(layout, -1) {
		var place int
		fmt.Sscan(m[1], &place)
		a[place], b[place] = m[2], m[3]
	}
	for i := 1; i <= 6; i++ {
		grey(fmt.Sprintf(`pair of left %d\?`, i))
		for j := 1; j <= 6; j++ {
			if b[j] == a[i] {
				s.press(fmt.Sprint(j), "Enter")
			}
		}
	}
	grey("▸ hand in")
	s.press("Enter")
	grey("6 of 6 pairs found, in 0:")
	if rows := export(t, program, book); len(rows) != 1 {
		t.Errorf("%d answers in the book, 1 was given", len(rows))
	}
	s.press("Enter")
	grey("summary[\\s\\S]*6 of 6 pairs found")
	if out := command(t, program, "progress", "--book", book, "--learner", "Tester"); !strings.Contains(out, "Pairs of one round hang together") {
		t.Errorf("progress says nothing of the pairs:\n%s", out)
	}
}
