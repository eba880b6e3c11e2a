//go:build endtoend

package main

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"
)

// mostScreens is how many screens may lie between the first start and the first marked
// answer, that one included.
const mostScreens = 8

// From the very first start to the first marked answer: few screens, few keys.
func TestEndToEndFirstAnswer(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	s := startTerminal(t, 80, 24, fmt.Sprintf("%s --seed 5 --book %s", program, filepath.Join(t.TempDir(), "book.db")))
	began := time.Now()
	screens, keys := 0, 0
	sees := func(pattern string) {
		s.wait(pattern)
		screens++
	}
	press := func(list ...string) {
		s.press(list...)
		keys += len(list)
	}
	sees("Your name, or a nickname")
	press("A", "d", "a")
	press("Enter")
	sees("Step 1: a strip of value groups")
	press("Enter")
	sees("Rest your eyes|Step 1 of 2")
	s.wait("Step 1 of 2")
	screens++
	press("Right", "Enter")
	sees("Step 2 of 2")
	press("Enter")
	sees("trial 1 of 5, answered")
	if screens > mostScreens {
		t.Errorf("%d screens", screens)
	}
	t.Logf("%d screens and %d keys, three of them the name, in %v at a calm pace", screens, keys, time.Since(began).Round(100*time.Millisecond))
}
