package main

import (
	"path/filepath"
	"strings"
	"testing"
)

// Whoever watches sees how far an import is; a file that is written to sees
// nothing of it.
func TestAnImportShowsHowFarItIs(t *testing.T) {
	w := newWorld(t)
	file := filepath.Join(t.TempDir(), "answers.csv")
	if code := w.run("simulate", "--learners", "1", "--sittings", "2", "--items", "5", "--book", w.vars["SHADEDRILL_BOOK"]) +
		w.run("export", "-o", file); code != 0 {
		t.Fatalf("%d: %s", code, w.err.String())
	}
	for _, watched := range []bool{true, false} {
		w.watched = watched
		w.vars["SHADEDRILL_BOOK"] = filepath.Join(t.TempDir(), "other.db")
		if code := w.run("import", file); code != 0 || !strings.Contains(w.out.String(), "10 answers read: 10 new") {
			t.Fatalf("%d: %s %s", code, w.out.String(), w.err.String())
		}
		if got := strings.Contains(w.err.String(), "importing ") && strings.Contains(w.err.String(), "%"); got != watched {
			t.Errorf("watched %v: %q", watched, w.err.String())
		}
		if strings.Contains(w.out.String(), "importing") {
			t.Error("the bar went to standard output")
		}
	}
}
