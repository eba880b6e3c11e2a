//go:build endtoend

package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"shadedrill/colour"
)

// makeOnce makes the program once for all tests of a run. It takes the place of the one
// that the run before has made.
var makeOnce = sync.OnceValues(func() (string, error) {
	dir := filepath.Join(os.TempDir(), fmt.Sprintf("shadedrill-endtoend-%d", os.Getuid()))
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	program := filepath.Join(dir, "shadedrill")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		return "", fmt.Errorf("go build: %w\n%s", err, out)
	}
	return program, nil
})

func build(t *testing.T) string {
	t.Helper()
	program, err := makeOnce()
	if err != nil {
		t.Fatal(err)
	}
	return program
}

// terminal is a program running in a tmux of its own.
type terminal struct {
	t      *testing.T
	socket string
	last   string // the key pressed last
}

func startTerminal(t *testing.T, width, height int, command string) *terminal {
	t.Helper()
	term := &terminal{t: t, socket: fmt.Sprintf("shadedrill-%d-%d", os.Getpid(), time.Now().UnixNano())}
	t.Cleanup(func() { _ = exec.Command("tmux", "-L", term.socket, "kill-server").Run() })
	term.tmux("-f", "/dev/null", "new-session", "-d", "-x", strconv.Itoa(width), "-y", strconv.Itoa(height),
		"COLORTERM=truecolor "+command+"; sleep 60")
	return term
}

func (s *terminal) tmux(args ...string) string {
	s.t.Helper()
	out, err := exec.Command("tmux", append([]string{"-L", s.socket}, args...)...).CombinedOutput()
	if err != nil {
		s.t.Fatalf("tmux %s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return string(out)
}

func (s *terminal) press(keys ...string) {
	s.t.Helper()
	for _, key := range keys {
		// As a person does: what comes with the picture counts for nothing, and the
		// same key a little longer.
		pause := 350 * time.Millisecond
		if key == s.last {
			pause = 850 * time.Millisecond
		}
		time.Sleep(pause)
		s.tmux("send-keys", key)
		s.last = key
	}
}

// wait returns the screen, with its colours, once the pattern is on it.
func (s *terminal) wait(pattern string) string {
	s.t.Helper()
	re := regexp.MustCompile(pattern)
	deadline := time.Now().Add(30 * time.Second)
	for {
		plain := s.tmux("capture-pane", "-p")
		if re.MatchString(plain) {
			return s.tmux("capture-pane", "-e", "-p")
		}
		if time.Now().After(deadline) {
			s.t.Fatalf("waited for %q, the screen shows:\n%s", pattern, plain)
		}
		time.Sleep(30 * time.Millisecond)
	}
}

// settled is wait, once two pictures a moment apart are the same: tmux may be read in
// the middle of one.
func (s *terminal) settled(pattern string) string {
	s.t.Helper()
	for last := s.wait(pattern); ; {
		time.Sleep(100 * time.Millisecond)
		now := s.wait(pattern)
		if now == last {
			return now
		}
		last = now
	}
}

var escape = regexp.MustCompile("\x1b\\[([0-9;:]*)m")

// fieldOf finds the two patches on the line that bears both of their labels: the
// first two 24-bit backgrounds after the room's own.
func fieldOf(t *testing.T, screen string) (target, candidate colour.SRGB) {
	t.Helper()
	for line := range strings.Lines(screen) {
		plain := escape.ReplaceAllString(line, "")
		if !strings.Contains(plain, "target") || !strings.Contains(plain, "candidate") {
			continue
		}
		var seen []colour.SRGB
		for _, m := range escape.FindAllStringSubmatch(line, -1) {
			c, ok := background(m[1])
			if !ok || c.R == c.G && c.G == c.B {
				continue
			}
			if len(seen) == 0 || seen[len(seen)-1] != c {
				seen = append(seen, c)
			}
		}
		switch len(seen) {
		case 1: // target and candidate are the same bytes
			return seen[0], seen[0]
		case 2:
			return seen[0], seen[1]
		}
		t.Fatalf("%d colours in the field: %v", len(seen), seen)
	}
	t.Fatalf("no field on the screen:\n%s", screen)
	return
}

// background reads "…48;2;r;g;b…" of an SGR sequence.
func background(sgr string) (colour.SRGB, bool) {
	_, rest, ok := strings.Cut(strings.ReplaceAll(sgr, ":", ";"), "48;2;")
	if !ok {
		return colour.SRGB{}, false
	}
	var v [3]int
	for i, part := range strings.SplitN(rest, ";", 4) {
		if i < 3 {
			v[i], _ = strconv.Atoi(part)
		}
	}
	return colour.SRGB{R: uint8(v[0]), G: uint8(v[1]), B: uint8(v[2])}, true
}

// A whole drill is typed in a real terminal. What was on the screen must be what
// is in the export, and its numbers must be those of the colours.
func TestEndToEndDrill(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	book := filepath.Join(t.TempDir(), "book.db")
	const trials = 6
	s := startTerminal(t, 100, 30, fmt.Sprintf("%s practise value-first --seed 11 --count %d --book %s --learner Tester", program, trials, book))

	s.wait("Before you begin")
	s.press("Enter")
	passDisplayCheck(s)

	type seen struct{ target, answer colour.SRGB }
	var shown []seen
	for i := range trials {
		if i == 0 {
			s.wait("Step 1: ")
			s.press("Enter")
		}
		s.wait(fmt.Sprintf(`Step 1 of 2[\s\S]*`))
		s.wait(fmt.Sprintf(`trial %d of %d`, i+1, trials))
		switch i % 3 {
		case 0:
			s.press("Right")
		case 1:
			s.press("Left", "Left")
		}
		s.press("Enter")
		s.wait("Step 2 of 2")
		if i == 2 { // back to value, and forward again
			s.press("BSpace")
			s.wait("Step 1 of 2")
			s.press("Right", "Enter")
			s.wait("Step 2 of 2")
		}
		if i%2 == 1 {
			s.press("h")
			s.wait("Between ")
		}
		target, candidate := fieldOf(t, s.settled("target"))
		shown = append(shown, seen{target, candidate})
		s.press("Enter")
		s.wait(fmt.Sprintf("trial %d of %d, answered", i+1, trials))
		// The answer is in the book before its feedback is on the screen.
		if rows := export(t, program, book); len(rows) != i+1 {
			t.Fatalf("feedback on trial %d is shown and the book holds %d answers", i+1, len(rows))
		}
		s.press("Enter")
	}
	s.wait("(?i)summary")

	rows := export(t, program, book)
	if len(rows) != trials {
		t.Fatalf("%d rows in the export, %d answers given", len(rows), trials)
	}
	for i, row := range rows {
		if row["target_hex"] != shown[i].target.Hex() || row["answer_hex"] != shown[i].answer.Hex() {
			t.Errorf("trial %d: the screen showed %s and %s, the export says %s and %s", i+1,
				shown[i].target.Hex(), shown[i].answer.Hex(), row["target_hex"], row["answer_hex"])
		}
		d := colour.Compare(shown[i].target.Lab(), shown[i].answer.Lab(), colour.Unit)
		for name, want := range map[string]float64{"dE00": d.E, "dL": d.L, "dC": d.C, "dH": d.H,
			"target_L": shown[i].target.Lab().L, "answer_b": shown[i].answer.Lab().B} {
			got, err := strconv.ParseFloat(row[name], 64)
			if err != nil || math.Abs(got-want) > 1e-3 {
				t.Errorf("trial %d: %s is %q, the colours on the screen give %.4f", i+1, name, row[name], want)
			}
		}
	}
	if out := command(t, program, "progress", "--book", book, "--learner", "Tester"); !strings.Contains(out, fmt.Sprint(trials)) {
		t.Errorf("progress does not tell of %d answers:\n%s", trials, out)
	}
}

// A drill whose window is closed is offered again, with every answer kept.
func TestEndToEndBrokenOffDrillIsOfferedAgain(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	book := filepath.Join(t.TempDir(), "book.db")
	start := fmt.Sprintf("%s practise value-first --seed 5 --count 4 --book %s --learner Tester", program, book)
	s := startTerminal(t, 80, 24, start)
	s.wait("Before you begin")
	s.press("Enter")
	passDisplayCheck(s)
	s.wait("Step 1: ")
	s.press("Enter")
	s.wait("trial 1 of 4")
	s.press("Enter")
	s.wait("Step 2 of 2")
	s.press("Enter")
	s.wait("trial 1 of 4, answered")
	s.tmux("kill-server") // the window is gone, and the program with it

	if rows := export(t, program, book); len(rows) != 1 {
		t.Fatalf("%d answers after the window was closed, 1 was given", len(rows))
	}
	s = startTerminal(t, 80, 24, start)
	s.wait("(?i)broke|broken off|unfinished")
}

func command(t *testing.T, program string, args ...string) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	out, err := exec.CommandContext(ctx, program, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return string(out)
}

func export(t *testing.T, program, book string) []map[string]string {
	t.Helper()
	table, err := csv.NewReader(strings.NewReader(command(t, program, "export", "--format", "csv", "--book", book))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, cells := range table[1 : len(table)-1] { // the last line is the file's end line
		row := map[string]string{}
		for i, name := range table[0] {
			row[name] = cells[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// passDisplayCheck answers each question of the display check with its first
// choice and leaves its result. Each key waits for what it answers.
func passDisplayCheck(s *terminal) {
	s.t.Helper()
	question := regexp.MustCompile(`question (\d)`)
	s.wait("Display check")
	answered := ""
	for range 400 {
		screen := escape.ReplaceAllString(s.wait(`\S`), "")
		if !strings.Contains(screen, "Display check") {
			return
		}
		now := "result"
		if m := question.FindStringSubmatch(screen); m != nil {
			now = m[1]
		}
		if now != answered {
			key := "1"
			if now == "result" {
				key = "Enter"
			}
			s.press(key)
			answered = now
		}
		time.Sleep(50 * time.Millisecond)
	}
	s.t.Fatal("the display check did not end")
}
