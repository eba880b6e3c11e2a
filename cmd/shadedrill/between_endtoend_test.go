//go:build endtoend

package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
)

// shownOn lists the 24-bit backgrounds of a screen that are not neutral.
func shownOn(screen string) map[colour.SRGB]bool {
	seen := map[colour.SRGB]bool{}
	for _, m := range escape.FindAllStringSubmatch(screen, -1) {
		if c, ok := background(m[1]); ok && (c.R != c.G || c.G != c.B) {
			seen[c] = true
		}
	}
	return seen
}

// trialOf reads the trial of an exported row and checks that its colours, and no
// others, were on the screen.
func trialOf(t *testing.T, row map[string]string, screen map[colour.SRGB]bool) exercises.Trial {
	t.Helper()
	var trial exercises.Trial
	if err := json.Unmarshal([]byte(row["trial_data"]), &trial); err != nil {
		t.Fatal(err)
	}
	wanted := map[colour.SRGB]bool{trial.Target: true}
	for _, p := range trial.Patches {
		wanted[p.Colour] = true
	}
	for c := range wanted {
		if !screen[c] {
			t.Errorf("trial %d: %s was not on the screen", trial.Ordinal+1, c.Hex())
		}
	}
	if len(screen) != len(wanted) {
		t.Errorf("trial %d: %d colours on the screen instead of %d", trial.Ordinal+1, len(screen), len(wanted))
	}
	return trial
}

func begin(t *testing.T, program, book, kind string, trials int) *terminal {
	t.Helper()
	s := startTerminal(t, 80, 24, fmt.Sprintf("%s practise %s --seed 4 --count %d --limit 0 --book %s --learner Tester", program, kind, trials, book))
	s.wait("Before you begin")
	s.press("Enter")
	passDisplayCheck(s)
	s.wait("There is no|Between the trials")
	s.press("Enter")
	return s
}

// A drill of halfway typed in a terminal: what was seen and pressed is in the book.
func TestEndToEndHalfway(t *testing.T) {
	t.Parallel() // they wait more than they work
	program, book := build(t), filepath.Join(t.TempDir(), "book.db")
	s := begin(t, program, book, "halfway", 3)
	var screens []map[colour.SRGB]bool
	for i, key := range []string{"2", "5", "3"} {
		screens = append(screens, shownOn(s.wait(fmt.Sprintf(`trial %d of 3\s`, i+1)+`[\s\S]*right end`)))
		s.press(key)
		s.wait("●")
		s.press("Enter")
		s.wait(fmt.Sprintf("trial %d of 3, answered", i+1))
		s.press("Enter")
	}
	s.wait("(?i)summary")
	rows := export(t, program, book)
	for i, want := range []string{"0.250000", "1.000000", "0.500000"} {
		trial := trialOf(t, rows[i], screens[i])
		left, right, _ := exercises.EndsOf(trial)
		place := map[string]int{"0.250000": 1, "0.500000": 2, "1.000000": 4}[want]
		if got := rows[i]["number"]; got != want || rows[i]["answer_hex"] != exercises.InBetween(left, right, place).Hex() {
			t.Errorf("trial %d: place %s, colour %s", i+1, got, rows[i]["answer_hex"])
		}
	}
}

// The same of try-in, with a step back on the way.
func TestEndToEndTryIn(t *testing.T) {
	t.Parallel() // they wait more than they work
	program, book := build(t), filepath.Join(t.TempDir(), "book.db")
	s := begin(t, program, book, "try-in", 2)
	first := shownOn(s.wait(`trial 1 of 2\s[\s\S]*▸ value`))
	s.press("Right")
	s.wait("▸ chroma")
	s.press("BSpace")
	s.wait("▸ value")
	s.press("Left", "Down", "Right")
	s.wait("▸ verdict")
	s.press("a")
	s.wait("For the laboratory: ")
	s.press("Enter")
	s.wait(`trial 2 of 2\s[\s\S]*▸ value`)
	s.press("Down", "Right", "Left", "r")
	s.wait("For the laboratory: ")
	s.press("Enter")
	s.wait("(?i)summary")
	rows := export(t, program, book)
	trialOf(t, rows[0], first)
	for i, want := range [][4]string{{"-1", "0", "1", "adjust"}, {"0", "1", "-1", "remake"}} {
		if got := [4]string{rows[i]["said_value"], rows[i]["said_chroma"], rows[i]["said_hue"], rows[i]["choice"]}; got != want {
			t.Errorf("trial %d: the book says %v, pressed was %v", i+1, got, want)
		}
	}
}
