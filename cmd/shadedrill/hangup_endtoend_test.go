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
	program := build(t)
	for name, trap := range map[string]string{"by the signal": ":", "by the end of the terminal": `""`} {
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
			for deadline := time.Now().Add(15 * time.Second); len(ended) == 0; time.Sleep(30 * time.Millisecond) {
				if ended, _ = os.ReadFile(code); time.Now().After(deadline) {
					t.Fatal("the program goes on without a terminal")
				}
			}
			if text, err := os.ReadFile(said); err != nil || len(text) > 0 {
				t.Errorf("it says %q, %v", text, err)
			}
			if got := strings.TrimSpace(string(ended)); got != "1" {
				t.Errorf("exit code %s", got)
			}
			if rows := export(t, program, book); len(rows) != 2 {
				t.Errorf("2 answers were given, the book holds %d", len(rows))
			}
			command(t, program, "book", "check", "--book", book)
		})
	}
}
