//go:build endtoend

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// prng is what Wine 8 lacks of what Go's runtime asks for: one function.
const prng = `#include <windows.h>
BOOLEAN WINAPI SystemFunction036(PVOID, ULONG);
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE buffer, SIZE_T n) { return SystemFunction036(buffer, (ULONG)n); }
`

// windows runs the Windows program under Wine.
type windows struct {
	t       *testing.T
	program string
	folder  string // where commands run
	env     []string
}

func newWindows(t *testing.T) *windows {
	t.Helper()
	dir := t.TempDir()
	w := &windows{t: t, program: filepath.Join(dir, "shadedrill.exe"), folder: t.TempDir(),
		env: append(os.Environ(), "WINEPREFIX="+filepath.Join(dir, "prefix"), "WINEDLLOVERRIDES=bcryptprimitives=n;mscoree=;mshtml=", "WINEDEBUG=-all")}
	source := filepath.Join(dir, "prng.c")
	if err := os.WriteFile(source, []byte(prng), 0o600); err != nil {
		t.Fatal(err)
	}
	w.tool(nil, "wineboot", "-i")
	w.tool(nil, "x86_64-w64-mingw32-gcc", "-shared", "-o", filepath.Join(dir, "prefix/drive_c/windows/system32/bcryptprimitives.dll"), source, "-ladvapi32")
	w.tool([]string{"CGO_ENABLED=0", "GOOS=windows", "GOARCH=amd64"}, "go", "build", "-ldflags", "-X main.release=1.2.3", "-o", w.program, ".")
	t.Cleanup(func() { exec.Command("env", append(w.env[len(w.env)-3:], "wineserver", "-k")...).Run() })
	return w
}

func (w *windows) tool(env []string, name string, args ...string) {
	w.t.Helper()
	c := exec.Command(name, args...)
	c.Env = append(w.env, env...)
	if out, err := c.CombinedOutput(); err != nil {
		w.t.Fatalf("%s: %v\n%s", name, err, out)
	}
}

// run runs one command line and returns what it printed and its exit code.
func (w *windows) run(stdin string, args ...string) (out, errs string, code int) {
	w.t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	c := exec.CommandContext(ctx, "wine", append([]string{w.program}, args...)...)
	c.Dir, c.Env, c.Stdin = w.folder, w.env, strings.NewReader(stdin)
	var o, e bytes.Buffer
	c.Stdout, c.Stderr = &o, &e
	if err := c.Run(); err != nil && c.ProcessState == nil {
		w.t.Fatal(err)
	}
	return strings.ReplaceAll(o.String(), "\r\n", "\n"), strings.ReplaceAll(e.String(), "\r\n", "\n"), c.ProcessState.ExitCode()
}

func (w *windows) works(wants string, args ...string) string {
	w.t.Helper()
	out, errs, code := w.run("", args...)
	if code != 0 || !strings.Contains(out, wants) {
		w.t.Fatalf("%v: exit code %d, no %q in\n%s%s", args, code, wants, out, errs)
	}
	return out
}

func (w *windows) refused(says string, args ...string) {
	w.t.Helper()
	out, errs, code := w.run("", args...)
	if code != 1 || !strings.Contains(errs, says) || !strings.Contains(errs, "hint: ") || strings.Contains(errs, "goroutine") {
		w.t.Errorf("%v: exit code %d, no %q in\n%s%s", args, code, says, out, errs)
	}
}

// What Windows has other ways for: paths, file modes, moving an open file, a full
// disk. The screens cannot be judged here.
func TestEndToEndWindows(t *testing.T) {
	t.Parallel() // they wait more than they work
	w := newWindows(t)
	w.works("shadedrill 1.2.3 (commit", "version")
	w.works("Simulated 01", "simulate", "--class", "Monday group", "--learners", "3", "--sittings", "4", "--items", "10", "--seed", "1", "--book", "class.db")
	w.works("Simulated 01", "class", "review", "Monday group", "--book", "class.db")
	w.works("is sound", "book", "check", "--book", "class.db")
	w.works("ΔE00", "progress", "--learner", "Simulated 01", "--book", "class.db")
	w.works("", "export", "--book", "class.db", "-o", "answers.csv")
	w.works("new", "import", "answers.csv", "--book", "other.db")
	first := w.works("", "export", "--book", "class.db")
	if again := w.works("", "export", "--book", "other.db"); again != first {
		t.Errorf("what came back differs: %d bytes, %d bytes", len(first), len(again))
	}
	w.works("", "book", "backup", "copy.db", "--book", "class.db")
	w.works("is sound", "book", "check", "--book", "copy.db")

	t.Run("a read-only book is read", func(t *testing.T) {
		w := &windows{t: t, program: w.program, folder: w.folder, env: w.env}
		if err := os.Chmod(filepath.Join(w.folder, "copy.db"), 0o444); err != nil {
			t.Fatal(err)
		}
		w.works("Simulated 01", "progress", "--learner", "Simulated 01", "--book", "copy.db")
	})
	t.Run("a full disk", func(t *testing.T) {
		w := &windows{t: t, program: w.program, folder: t.TempDir(), env: w.env}
		if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=192k", "none", w.folder).CombinedOutput(); err != nil {
			t.Fatalf("no small disk can be made here: %v %s", err, out)
		}
		t.Cleanup(func() { exec.Command("umount", "-l", w.folder).Run() })
		w.refused("", "simulate", "--learners", "5", "--sittings", "50", "--seed", "1", "--book", "full.db")
	})
	t.Run("a book cannot be moved while it is open", func(t *testing.T) {
		w := &windows{t: t, program: w.program, folder: w.folder, env: w.env}
		rows, err := os.ReadFile(filepath.Join(w.folder, "answers.csv"))
		if err != nil {
			t.Fatal(err)
		}
		c := exec.Command("wine", w.program, "import", "-", "--format", "csv", "--book", "open.db")
		c.Dir, c.Env = w.folder, w.env
		in, err := c.StdinPipe()
		if err != nil {
			t.Fatal(err)
		}
		var said bytes.Buffer
		c.Stdout, c.Stderr = &said, &said
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		book := filepath.Join(w.folder, "open.db")
		for waited := 0; ; waited++ {
			if _, err := os.Stat(book); err == nil {
				break
			}
			if waited > 300 {
				c.Process.Kill()
				t.Fatal("the book was never opened")
			}
			time.Sleep(100 * time.Millisecond)
		}
		move := exec.Command("wine", "cmd", "/c", "move", "open.db", "elsewhere.db")
		move.Dir, move.Env = w.folder, w.env
		moved, _ := move.CombinedOutput()
		fmt.Fprint(in, string(rows))
		in.Close()
		err = c.Wait()
		if _, gone := os.Stat(filepath.Join(w.folder, "elsewhere.db")); gone == nil {
			// Where the system lets it go, the program must say so and claim nothing.
			if err == nil {
				t.Errorf("the book was moved, and the import said %s", said.String())
			}
			return
		}
		if err != nil {
			t.Fatalf("%v: %s (move said %s)", err, said.String(), moved)
		}
		if got := w.works("", "export", "--book", "open.db"); got != first {
			t.Error("the book that stayed does not hold what was imported")
		}
	})
}
