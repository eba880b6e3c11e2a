//go:build endtoend

package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A whole day's plan in a real terminal: every drill to its end, whatever it asks, until
// the day is done and says what tomorrow will hold; the next start says so too.
func TestEndToEndDaysPlan(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	book := filepath.Join(t.TempDir(), "book.db")
	s := startTerminal(t, 80, 24, fmt.Sprintf("%s practise --learner Ada --seed 5 --minutes 10 --rest 0s --limit 0s --book %s", program, book))
	s.wait("education")
	s.press("Enter")
	began := time.Now()
	for steps := 0; ; steps++ {
		if steps > 400 || time.Since(began) > 8*time.Minute {
			t.Fatalf("the day does not end:\n%s", s.wait("."))
		}
		screen := escape.ReplaceAllString(s.wait(`\S`), "")
		switch {
		case strings.Contains(screen, "Done for today"):
			if done := strings.Count(screen, "done, "); !strings.Contains(screen, "Tomorrow, about") || done < 3 {
				t.Errorf("after %d drills:\n%s", done, screen)
			}
			s.press("Enter")
			s.wait("Leave")
			s.press("q")
			again := startTerminal(t, 80, 24, fmt.Sprintf("%s practise --learner Ada --book %s", program, book))
			for range 20 {
				if strings.Contains(escape.ReplaceAllString(again.wait(`\S`), ""), "Done for today") {
					break
				}
				again.press("Enter")
			}
			again.wait("Done for today")
			again.press("C-c")
			t.Logf("a day in %d steps and %v", steps, time.Since(began).Round(time.Second))
			return
		case strings.Contains(screen, "half way") && !strings.Contains(screen, "answered"):
			s.press("3", "Enter")
		case strings.Contains(screen, "Display check") && strings.Contains(screen, "digits below"):
			s.press("1")
		default:
			s.press("Enter")
		}
	}
}
