//go:build endtoend

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A window is closed in the middle of a drill: the program ends without a word, by
// the hang-up signal or, where that is ignored, by the end of its terminal, and
// what was answered is in the book.
func TestEndToEndWindowClosed(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	for name, trap := range map[string]string{"by the signal": ":", "by the end of the terminal": `""`} {
		want := map[string]string{":": "129", `""`: "1"}[trap]
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			book, said, code := filepath.Join(folder, "book.db"), filepath.Join(folder, "said"), filepath.Join(folder, "code")
			script := filepath.Join(folder, "run.sh")
			text := fmt.Sprintf("trap %s HUP\n%s practise value-first --seed 11 --count 6 --book %s --learner Tester 2>%s\necho $? >%s.part; mv %s.part %s\n", trap, program, book, said, code, code, code)
			if err := os.WriteFile(script, []byte(text), 0o700); err != nil {
				t.Fatal(err)
			}
			s := startTerminal(t, 100, 30, "sh "+script)
			s.wait("Before you begin")
			s.press("Enter")
			passDisplayCheck(s)
			s.wait("Step 1: ")
			s.press("Enter")
			for i := 1; i <= 2; i++ {
				s.wait(`Step 1 of 2`)
				s.wait(fmt.Sprintf(`trial %d of 6`, i))
				s.press("Enter")
				s.wait("Step 2 of 2")
				s.press("Enter")
				s.wait(fmt.Sprintf("trial %d of 6, answered", i))
				s.press("Enter")
			}
			s.wait("trial 3 of 6")
			s.tmux("kill-pane")
			var ended []byte
			for deadline := time.Now().Add(30 * time.Second); len(ended) == 0; time.Sleep(30 * time.Millisecond) {
				if ended, _ = os.ReadFile(code); time.Now().After(deadline) {
					t.Fatal("the program goes on without a terminal")
				}
			}
			if text, err := os.ReadFile(said); err != nil || len(text) > 0 {
				t.Errorf("it says %q, %v", text, err)
			}
			if got := strings.TrimSpace(string(ended)); got != want {
				t.Errorf("exit code %s", got)
			}
			if rows := export(t, program, book); len(rows) != 2 {
				t.Errorf("2 answers were given, the book holds %d", len(rows))
			}
			command(t, program, "book", "check", "--book", book)
		})
	}
}

// A signal in mid-drill gives the terminal back as it was, says one thing, and exits
// with 128 and its number; Ctrl-Z gives it back until fg, and the trial is still there.
func TestEndToEndSignals(t *testing.T) {
	t.Parallel() // they wait more than they work
	program := build(t)
	for name, number := range map[string]int{"TERM": 15, "QUIT": 3, "ABRT": 6} {
		t.Run(name, func(t *testing.T) {
			folder := t.TempDir()
			book, pid := filepath.Join(folder, "book.db"), filepath.Join(folder, "pid")
			script := filepath.Join(folder, "run.sh")
			text := fmt.Sprintf("sh -c 'echo $$ >%s; exec %s practise value-first --seed 11 --count 6 --book %s --learner Tester'\necho code $?; stty -a\n", pid, program, book)
			if err := os.WriteFile(script, []byte(text), 0o700); err != nil {
				t.Fatal(err)
			}
			s := startTerminal(t, 100, 30, "sh "+script)
			s.wait("Before you begin")
			id, err := os.ReadFile(pid)
			if err != nil {
				t.Fatal(err)
			}
			command(t, "kill", "-"+name, strings.TrimSpace(string(id)))
			s.wait(fmt.Sprintf(`stopped by a signal[\s\S]*code %d[\s\S]* icanon[\s\S]* echo `, 128+number))
			if plain := s.tmux("capture-pane", "-p"); strings.Contains(plain, "goroutine") {
				t.Errorf("it says too much:\n%s", plain)
			}
		})
	}
	t.Run("aside and back", func(t *testing.T) {
		s := startTerminal(t, 100, 30, "bash --norc --noprofile")
		s.press(fmt.Sprintf("%s practise value-first --seed 11 --count 6 --book %s --learner Tester", program, filepath.Join(t.TempDir(), "book.db")), "Enter")
		s.wait("Before you begin")
		s.press("Enter")
		passDisplayCheck(s)
		s.wait("Step 1: ")
		s.press("Enter")
		s.wait("trial 1 of 6")
		s.press("Right", "C-z")
		s.wait(`Stopped`)
		s.press("stty -a", "Enter")
		s.wait(` icanon[\s\S]* echo `)
		s.press("fg", "Enter")
		s.wait(`trial 1 of 6`)
		s.press("Enter")
		s.wait("Step 2 of 2")
	})
}
