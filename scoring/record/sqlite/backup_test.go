package sqlite_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shadedrill/scoring/record/sqlite"
)

// A damaged book makes no backup that somebody would rely on, and does not replace
// one that is sound.
func TestADamagedBookMakesNoBackup(t *testing.T) {
	whole, err := os.ReadFile(furnished(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{
		// Each of these can be copied row by row.
		"PRAGMA foreign_keys = 0; DELETE FROM class",
		"PRAGMA foreign_keys = 0; DELETE FROM sitting WHERE ulid = 'S07'",
		"PRAGMA foreign_keys = 0; DELETE FROM sheet",
	} {
		folder := t.TempDir()
		path, to := filepath.Join(folder, "book.db"), filepath.Join(folder, "copy.db")
		if err := os.WriteFile(path, whole, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := sqlite.Backup(ctx, path, to, false); err != nil {
			t.Fatal(err)
		}
		sound, err := os.ReadFile(to)
		if err != nil {
			t.Fatal(err)
		}
		execute(t, path, statement)
		if err := sqlite.Backup(ctx, path, to, true); err == nil || !strings.Contains(err.Error(), "damaged") {
			t.Errorf("%s: error %v", statement, err)
		}
		if now, err := os.ReadFile(to); err != nil || string(now) != string(sound) {
			t.Errorf("%s: the sound copy was replaced (%v)", statement, err)
		}
		if err := sqlite.Backup(ctx, path, filepath.Join(folder, "new.db"), false); err == nil {
			t.Errorf("%s: a damaged copy was made", statement)
		}
		if left, _ := filepath.Glob(filepath.Join(folder, "new*")); len(left) > 0 {
			t.Errorf("%s: left behind: %v", statement, left)
		}
		if left, _ := filepath.Glob(filepath.Join(folder, ".shadedrill*")); len(left) > 0 {
			t.Errorf("%s: left behind: %v", statement, left)
		}
	}
}
