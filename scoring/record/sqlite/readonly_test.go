//go:build unix

package sqlite_test

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
)

// readAsNobody is what the test does in a process that may not write: it reads the
// book named, and says how much is in it.
const readAsNobody = "SHADEDRILL_TEST_READ_AS_NOBODY"

func TestReadAsNobody(t *testing.T) {
	path := os.Getenv(readAsNobody)
	if path == "" {
		t.Skip("runs in a process of its own")
	}
	if _, err := sqlite.Open(ctx, path); !sqlite.Unwritable(err) {
		t.Fatalf("the book could be opened to be written to, or it is not said why not: %v", err)
	}
	book, err := sqlite.OpenToRead(ctx, path)
	if err != nil {
		t.Fatalf("%v; hint: %s", err, fault.Hint(err))
	}
	if _, err := book.AddLearner(ctx, scoring.Learner{Name: "Cy Vale", At: recordtest.Noon}); err == nil || !strings.Contains(err.Error(), "can only be read here") {
		t.Errorf("writing: %v", err)
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
	t.Logf("answers read: %d", len(recordtest.All(t, book, record.Filter{})))
	book.Close()
	if found := check(t, path); !found.Sound() {
		t.Errorf("findings %q", found.Findings)
	}
	if err := sqlite.Backup(ctx, path, filepath.Join(os.Getenv("TMPDIR"), "copy.db"), true); err != nil {
		t.Errorf("backup: %v", err)
	}
}

// A book in a folder that cannot be written to, in a file that cannot be written to,
// is read, of the newest form and of an older one, and nothing is written beside it.
func TestReadOnlyBooksAreRead(t *testing.T) {
	for name, source := range map[string]string{"newest": furnished(t), "first form": formOne(t)} {
		folder, err := os.MkdirTemp("", "shadedrill-ro-*")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { os.Chmod(folder, 0o700); os.RemoveAll(folder) })
		path, program := filepath.Join(folder, "book.db"), filepath.Join(folder, "test")
		copyFile(t, source, path, 0o444)
		copyFile(t, os.Args[0], program, 0o555)
		scratch := filepath.Join(folder, "scratch")
		if err := errors.Join(os.Mkdir(scratch, 0o777), os.Chmod(scratch, 0o777), os.Chmod(folder, 0o555)); err != nil {
			t.Fatal(err)
		}
		c := exec.Command(program, "-test.run", "^TestReadAsNobody$", "-test.v")
		c.Env = append(os.Environ(), readAsNobody+"="+path, "TMPDIR="+scratch)
		if os.Getuid() == 0 {
			c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		}
		c.Dir = scratch
		want := map[string]string{"newest": "answers read: 1800", "first form": "answers read: 2"}[name]
		if out, err := c.CombinedOutput(); err != nil || !strings.Contains(string(out), want) {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
		if beside, _ := filepath.Glob(path + "-*"); len(beside) > 0 {
			t.Errorf("%s: left beside it: %v", name, beside)
		}
	}
}

func copyFile(t *testing.T, from, to string, mode os.FileMode) {
	t.Helper()
	content, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, content, 0o600)
	}
	if err == nil {
		err = os.Chmod(to, mode)
	}
	if err != nil {
		t.Fatal(err)
	}
}
