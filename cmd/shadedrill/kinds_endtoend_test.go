//go:build endtoend

package main

import (
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
)

// One tooth of three thirds typed in a terminal: the tabs named on the screen are
// those in the book, cervical first.
func TestEndToEndThirds(t *testing.T) {
	t.Parallel() // they wait more than they work
	program, book := build(t), filepath.Join(t.TempDir(), "book.db")
	s := begin(t, program, book, "thirds", 1)
	var named []string
	tab := regexp.MustCompile(`L\d+ C\d+ h\d+ .*more chroma`)
	for i, third := range []string{"Cervical", "Middle", "Incisal"} {
		s.wait(third + " third. Step 1 of 2")
		for range i { // another group each time
			s.press("Left")
		}
		s.press("Enter")
		line := tab.FindString(escape.ReplaceAllString(s.wait(third+` third. Step 2 of 2[\s\S]*more chroma`), ""))
		named = append(named, regexp.MustCompile(`L\d+ C\d+ h\d+`).FindString(line))
		s.press("Enter")
		s.wait(fmt.Sprintf("trial %d of 3, answered", i+1))
		s.press("Enter")
	}
	s.wait("(?i)summary")
	rows := export(t, program, book)
	if len(rows) != 3 {
		t.Fatalf("%d rows", len(rows))
	}
	var got, parts []string
	for _, r := range rows {
		got, parts = append(got, r["tab"]), append(parts, r["part"])
	}
	if !slices.Equal(got, named) || !slices.Equal(parts, []string{"cervical", "middle", "incisal"}) || named[0] == named[2] {
		t.Errorf("the screen named %v, the book holds %v of %v", named, got, parts)
	}
}

// A course of whitening: the steps said are in the book, and the feedback tells the
// steps there were.
func TestEndToEndWhitening(t *testing.T) {
	t.Parallel() // they wait more than they work
	program, book := build(t), filepath.Join(t.TempDir(), "book.db")
	s := begin(t, program, book, "whitening", 1)
	s.wait(`How many steps whiter[\s\S]*before +after`)
	s.press("Right", "Right", "Right")
	s.wait("become. 3 steps")
	s.press("Enter")
	s.wait("The tooth became")
	rows := export(t, program, book)
	if len(rows) != 1 || rows[0]["number"] != "3.000000" {
		t.Errorf("pressed was 3, the book holds %v", rows)
	}
}

// One pair under six lamps: every judgement is in the book, in daylight first, where
// the two are one colour.
func TestEndToEndLighting(t *testing.T) {
	t.Parallel() // they wait more than they work
	program, book := build(t), filepath.Join(t.TempDir(), "book.db")
	s := begin(t, program, book, "lighting", 1)
	keys := []string{"m", "s", "n", "m", "s", "n"}
	for i, key := range keys {
		s.wait(fmt.Sprintf(`trial %d of 6\s[\s\S]*they match`, i+1))
		s.press(key)
		s.wait(fmt.Sprintf("trial %d of 6, answered", i+1))
		s.press("Enter")
	}
	s.wait("(?i)summary")
	rows := export(t, program, book)
	if len(rows) != len(keys) {
		t.Fatalf("%d rows", len(rows))
	}
	lamps := map[string]bool{}
	for i, r := range rows {
		lamps[r["part"]] = true
		if want := map[string]string{"m": "match", "s": "acceptable", "n": "mismatch"}[keys[i]]; r["choice"] != want {
			t.Errorf("trial %d: pressed was %q, the book says %q", i+1, want, r["choice"])
		}
	}
	if rows[0]["part"] != "d65" || len(lamps) != len(keys) {
		t.Errorf("the lamps are %v, beginning with %s", lamps, rows[0]["part"])
	}
}

// A sitting of thresholds typed in a terminal, always with the same key: it ends, and
// says that it supports no number.
func TestEndToEndThreshold(t *testing.T) {
	t.Parallel() // they wait more than they work
	program, book := build(t), filepath.Join(t.TempDir(), "book.db")
	const trials = 12
	s := startTerminal(t, 80, 24, fmt.Sprintf("%s threshold --seed 4 --count %d --limit 0 --rest 100ms --book %s --learner Tester", program, trials, book))
	s.wait("Before you begin")
	s.press("Enter")
	passDisplayCheck(s)
	s.wait("Between the trials")
	s.press("Enter")
	for i := range trials {
		s.wait(fmt.Sprintf(`trial %d of %d\s[\s\S]*the left pair`, i+1, trials))
		s.press("Left")
	}
	s.wait("(?i)summary[\\s\\S]*(not enough|too few|no threshold|undefined)")
	rows := export(t, program, book)
	if len(rows) != trials {
		t.Fatalf("%d answers given, the book holds %d", trials, len(rows))
	}
	for i, r := range rows {
		if r["kind"] != "threshold" || r["choice"] != "left" {
			t.Errorf("answer %d: %s, %s", i+1, r["kind"], r["choice"])
		}
	}
}
