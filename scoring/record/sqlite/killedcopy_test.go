//go:build unix

package sqlite_test

import (
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"shadedrill/scoring/record/sqlite"
)

// A backup that is killed leaves the copy of before or a whole one, and beside it
// nothing; where the system has no files without a name, at most its own draft, which
// nobody else can read and which the next backup takes away. What is asked of the system's mask is that everything be readable by all.
func TestAKilledBackupLeavesNothingToOthers(t *testing.T) {
	old := syscall.Umask(0)
	defer syscall.Umask(old)
	path, folder := furnished(t), t.TempDir()
	to := filepath.Join(folder, "copy.db")
	if err := sqlite.Backup(ctx, path, to, false); err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(4, 40))
	left, early, kills := 0, 0, 8
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		kills = 40
	}
	for range kills {
		c := exec.Command(os.Args[0])
		c.Env = append(os.Environ(), childBook+"="+path, childCopy+"="+to)
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		if _, err := out.Read(make([]byte, 16)); err != nil {
			t.Fatal(err)
		}
		time.Sleep(time.Duration(rng.IntN(30)) * time.Millisecond)
		c.Process.Kill()
		if c.Wait(); !c.ProcessState.Exited() {
			early++
		}
		files, err := os.ReadDir(folder)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			info, err := f.Info()
			if err != nil {
				t.Fatal(err)
			}
			if f.IsDir() || info.Mode().Perm() != 0o600 || f.Name() != "copy.db" && !strings.HasPrefix(f.Name(), ".shadedrill-copy-") {
				t.Errorf("left behind: %s, mode %v", f.Name(), info.Mode())
			}
			if f.Name() != "copy.db" {
				left++
			}
		}
		if found, _, err := sqlite.Check(ctx, to, nil); err != nil || !found.Sound() {
			t.Fatalf("the copy is not sound: %v %v", err, found)
		}
		for _, ending := range []string{"-wal", "-shm"} {
			os.Remove(to + ending)
		}
	}
	t.Logf("%d kills, %d of them before the end, %d files left behind", kills, early, left)
	if early == 0 {
		t.Error("no backup was killed before its end: the test shows nothing")
	}
	if runtime.GOOS == "linux" && left > 0 {
		t.Errorf("%d of %d killed backups left something behind", left, early)
	}
	if err := sqlite.Backup(ctx, path, to, true); err != nil {
		t.Fatal(err)
	}
	if files, _ := os.ReadDir(folder); len(files) != 1 {
		t.Errorf("after the next backup there are %v", files)
	}
}
