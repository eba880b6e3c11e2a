package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// world is an env without anything outside of the test.
type world struct {
	env
	out, err bytes.Buffer
	vars     map[string]string
}

func newWorld(t *testing.T) *world {
	t.Helper()
	w := &world{vars: map[string]string{"SHADEDRILL_BOOK": filepath.Join(t.TempDir(), "book.db"), "TERM": "xterm-256color"}}
	w.env = env{
		stdin: strings.NewReader(""), stdout: &w.out, stderr: &w.err,
		getenv:   func(name string) string { return w.vars[name] },
		now:      func() time.Time { return time.Date(2025, 3, 1, 9, 0, 0, 0, time.UTC) },
		openBook: openBook,
	}
	return w
}

func (w *world) run(args ...string) int {
	w.out.Reset()
	w.err.Reset()
	return run(args, w.env)
}

func TestAPanicReachesNobody(t *testing.T) {
	w := newWorld(t)
	if err := os.WriteFile(w.vars["SHADEDRILL_BOOK"], nil, 0o600); err != nil {
		t.Fatal(err)
	}
	w.openBook = func(context.Context, string) (record.Store, error) { panic("index out of range\nsecond line") }
	if code := w.run("progress"); code != 1 {
		t.Errorf("exit code %d", code)
	}
	lines := strings.Split(strings.TrimSpace(w.err.String()), "\n")
	if len(lines) != 2 || !strings.HasPrefix(lines[0], "shadedrill: internal error: index out of range") || !strings.HasPrefix(lines[1], "hint: ") {
		t.Errorf("told as %q", lines)
	}
	w.vars["SHADEDRILL_DEBUG"] = "1"
	w.run("progress")
	if !strings.Contains(w.err.String(), "run_test.go") {
		t.Errorf("SHADEDRILL_DEBUG=1 does not show where:\n%s", w.err.String())
	}
}

func TestControlCharactersReachNoTerminal(t *testing.T) {
	w := newWorld(t)
	for _, args := range [][]string{{"\x1b[31mx"}, {"--\x1b]0;x\x07"}, {"practise", "a\u202eb"}, {"tabs", "show", "a\x1bb"}, {"compare", "\x1b[2J"}} {
		if code := w.run(args...); code == 0 {
			t.Errorf("%q is taken", args)
		}
		if strings.ContainsAny(w.err.String()+w.out.String(), "\x1b\x07\u202e") {
			t.Errorf("%q: %q", args, w.err.String())
		}
	}
}

// The command tree is built anew: flags of one run are not there in the next.
func TestRunsShareNothing(t *testing.T) {
	w := newWorld(t)
	if code := w.run("tabs", "show", "starter", "--format", "csv"); code != 0 {
		t.Fatal(w.err.String())
	}
	if code := w.run("tabs", "show", "starter"); code != 0 || strings.HasPrefix(w.out.String(), "group,") {
		t.Errorf("the second run prints %q", w.out.String())
	}
}

// stopping is the signal that ends this process's commands: an interrupt, but where whoever
// started the tests has it ignored, as a shell does for what it runs in the background.
func stopping() syscall.Signal {
	if signal.Ignored(syscall.SIGINT) {
		return syscall.SIGTERM
	}
	return syscall.SIGINT
}

func TestAStoppedCommandSaysSo(t *testing.T) {
	w := newWorld(t)
	if err := os.WriteFile(w.vars["SHADEDRILL_BOOK"], nil, 0o600); err != nil {
		t.Fatal(err)
	}
	w.openBook = func(ctx context.Context, _ string) (record.Store, error) {
		p, err := os.FindProcess(os.Getpid())
		if err != nil {
			return nil, err
		}
		if err := p.Signal(stopping()); err != nil {
			return nil, err
		}
		<-ctx.Done()
		return nil, errors.New("something about a context")
	}
	if code := w.run("progress"); code != 128+int(stopping()) || !strings.Contains(w.err.String(), "shadedrill: stopped by a signal") {
		t.Errorf("exit code %d, told as %q", code, w.err.String())
	}
}

// A read that waits on standard input hears a signal as well.
func TestACommandThatWaitsForInputIsStopped(t *testing.T) {
	w := newWorld(t)
	in, out := io.Pipe()
	defer out.Close()
	w.stdin = in
	go func() {
		out.Write([]byte("{")) // somebody reads
		p, err := os.FindProcess(os.Getpid())
		if err == nil {
			err = p.Signal(stopping())
		}
		if err != nil {
			t.Error(err)
		}
	}()
	if code := w.run("import", "-"); code != 128+int(stopping()) || !strings.Contains(w.err.String(), "shadedrill: stopped by a signal") {
		t.Errorf("exit code %d, told as %q", code, w.err.String())
	}
}

// SHADEDRILL_BOOK may be somebody's own book: nobody made up goes in there unless
// --book says so.
func TestSimulationsKeepOutOfRealBooks(t *testing.T) {
	w := newWorld(t)
	book := record.NewMemory()
	if _, err := book.AddLearner(context.Background(), scoring.Learner{Name: "Somebody", At: w.now()}); err != nil {
		t.Fatal(err)
	}
	w.openBook = func(context.Context, string) (record.Store, error) { return book, nil }
	args := []string{"simulate", "--learners", "1", "--sittings", "1", "--items", "2", "--seed", "1"}
	if code := w.run(args...); code != 2 || !strings.Contains(w.err.String(), "holds real people") {
		t.Errorf("exit code %d, told as %q", code, w.err.String())
	}
	if code := w.run(append(args, "--book", "named.db")...); code != 0 {
		t.Errorf("with --book: exit code %d, %s", code, w.err.String())
	}
}

func TestASeedAsksTheSameWhateverWasAnsweredBefore(t *testing.T) {
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args     []string
		adaptive bool
	}{{nil, true}, {[]string{"--seed", "7"}, false}, {[]string{"--even"}, false}} {
		var d drillFlags
		cmd := &cobra.Command{}
		cmd.Flags().Uint64("seed", 0, "")
		d.flags(cmd)
		if err := cmd.ParseFlags(c.args); err != nil {
			t.Fatal(err)
		}
		config, err := d.config(cmd, kind)
		if err != nil || config.Start.Adaptive != c.adaptive {
			t.Errorf("%q: adaptive is %v, %v", c.args, config.Start.Adaptive, err)
		}
	}
}
