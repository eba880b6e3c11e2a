//go:build endtoend

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A proficiency test is typed in a real terminal to its certificate: both parts,
// nothing said between, broken off and taken up again; then the certificate as text
// and as a page in a browser.
func TestEndToEndExam(t *testing.T) {
	t.Parallel() // they wait more than they work
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Fatal("chromium is needed: apt-get install chromium")
	}
	program := build(t)
	dir := t.TempDir()
	book := filepath.Join(dir, "book.db")
	command(t, program, "exam", "new", "spring", "--items", "4", "--level", "passed=50", "--level", "again=0", "--book", book)
	start := fmt.Sprintf("%s exam take --form spring --book %s --learner Tester", program, book)
	s := startTerminal(t, 80, 24, start)
	s.wait("Before you begin")
	s.press("Enter")
	passDisplayCheck(s)

	answer := func(trial int) {
		t.Helper()
		screen := s.wait(fmt.Sprintf(`Step 1 of 2[\s\S]*`))
		s.wait(fmt.Sprintf("trial %d of 4", trial))
		if strings.Contains(screen, "ΔE00") {
			t.Errorf("feedback before the end:\n%s", screen)
		}
		s.press("Right", "Enter")
		s.wait("Step 2 of 2")
		s.press("Enter")
	}
	s.wait("part 1 of 2")
	s.press("Enter")
	answer(1)
	answer(2)
	s.wait("trial 3 of 4")
	s.tmux("kill-server") // the window is gone

	s = startTerminal(t, 80, 24, start)
	s.wait("2 trials to come")
	s.press("Enter")
	answer(3)
	answer(4)
	s.wait("part 2 of 2")
	s.press("Enter")
	for i := range 4 {
		answer(i + 1)
	}
	s.wait("Certificate[\\s\\S]*8 answers in 2 sittings")
	s.press("q") // to the menu …
	s.wait("Somebody else")
	s.press("q") // … and out
	s.wait("as a page to print")

	report := []string{"exam", "report", "--form", "spring", "--learner", "Tester", "--book", book}
	text := command(t, program, report...)
	for _, want := range []string{"Proficiency test, form spring: Tester", "8 answers in 2 sittings", "answers right", "median ΔE00",
		"bias in value", "bias in chroma", "bias in hue", "Passed from 50 % right, again below", "of the 4 items with any tooth colour",
		"spring: 4 of value first, 4 of value first with any tooth colour; fingerprint", "natural, fingerprint as shown",
		"none before the end", "display check  checked on", "diagnoses nothing", "A display is not a tooth", "licensed clinician"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), strings.Join(strings.Fields(want), " ")) {
			t.Errorf("the certificate does not say %q:\n%s", want, text)
		}
	}
	if rows := export(t, program, book); len(rows) != 8 {
		t.Errorf("%d answers in the book, 8 were given", len(rows))
	}
	page := filepath.Join(dir, "certificate.html")
	command(t, program, append(report, "-o", page)...)
	html, err := os.ReadFile(page)
	if err != nil || !strings.Contains(string(html), "diagnoses nothing") {
		t.Errorf("the page has no cautions, %v", err)
	}
	for _, width := range []int{1200, 360} {
		window{t, browser, dir}.look(page, width)
	}
}
