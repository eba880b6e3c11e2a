package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/trainer/ask"
)

// libraries that people may come with, and what is said of them: an empty text
// where they work. A kind that needs no library, or fewer of its tabs, takes what
// others refuse.
var oddLibraries = []struct {
	name, csv string
	refusal   string // what every kind says; "some" where it depends on the kind
}{
	{"one tab", "name,L,a,b\nonly,72,2,20\n", "some"},
	{"two alike", "name,L,a,b\none,70,1,18\nother,70,1,18\n", "some"},
	{"two", "name,L,a,b\ndark,64,3,22\nlight,84,0,14\n", "some"},
	{"beyond the display", "name,L,a,b\nviolet,30,80,-110\ngreen,80,-120,90\nred,50,110,80\nblue,20,70,-120\ncyan,85,-90,-60\n", "some"},
	{"not a number", "name,L,a,b\none,NaN,1,18\nother,70,1,18\n", "not a finite number"},
	{"infinite", "name,L,a,b\none,70,+Inf,18\nother,70,1,18\n", "not a finite number"},
	{"control characters", "name,L,a,b\n\"evil\x1b]0;x\x07\",70,1,18\nother,60,1,18\n", "control character"},
	{"one name twice", "name,L,a,b\nsame,70,1,18\nsame,60,1,18\n", "same"},
	{"nothing", "", "empty"},
	{"no tabs", "name,L,a,b\n", "no tab"},
}

// Every kind takes each library or says in one line what
// is wrong with it and what would mend it; never is there a panic, a control
// character, or a book left behind.
func TestOddLibrariesInEveryExercise(t *testing.T) {
	dir := t.TempDir()
	ways := map[string][]string{"menu": {"practise"}}
	for _, k := range practisable() {
		ways[k] = practiseArgs(k)
		ways[k+", exactly tabs"] = append(practiseArgs(k), "--targets", "tabs")
	}
	for i, l := range oddLibraries {
		file := filepath.Join(dir, fmt.Sprintf("library%d.csv", i))
		if err := os.WriteFile(file, []byte(l.csv), 0o600); err != nil {
			t.Fatal(err)
		}
		for way, args := range ways {
			checkLibrary(t, l.name+", "+way, l.refusal, append(args, "--library", file))
		}
	}
}

// A form of the proficiency test is laid down with each library, or it is said in one
// line what is wrong with it, and no form is left behind.
func TestOddLibrariesInAForm(t *testing.T) {
	dir := t.TempDir()
	for i, l := range oddLibraries {
		file := filepath.Join(dir, fmt.Sprintf("library%d.csv", i))
		if err := os.WriteFile(file, []byte(l.csv), 0o600); err != nil {
			t.Fatal(err)
		}
		w := newWorld(t)
		switch code := w.run("exam", "new", "spring", "--items", "4", "--library", file); {
		case code == 0 && l.refusal != "" && l.refusal != "some":
			t.Errorf("%s: taken", l.name)
		case code != 0 && l.refusal == "":
			t.Errorf("%s: %s", l.name, w.err.String())
		case code != 0:
			said := strings.TrimSpace(w.err.String())
			if lines := strings.Split(said, "\n"); len(lines) != 2 || !strings.HasPrefix(lines[1], "hint: ") || strings.ContainsAny(said, "\x1b\x07") {
				t.Errorf("%s: told as %q", l.name, said)
			}
			if _, err := os.Stat(w.vars["SHADEDRILL_BOOK"]); err == nil {
				t.Errorf("%s: a book was made", l.name)
			}
		}
	}
}

// Ten thousand tabs work everywhere.
func TestTenThousandTabsInEveryExercise(t *testing.T) {
	var b strings.Builder
	b.WriteString("name,L,a,b\n")
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range 10000 {
		fmt.Fprintf(&b, "t%d,%.2f,%.2f,%.2f\n", i, 55+35*rng.Float64(), -2+11*rng.Float64(), 5+27*rng.Float64())
	}
	file := filepath.Join(t.TempDir(), "many.csv")
	if err := os.WriteFile(file, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, k := range practisable() {
		checkLibrary(t, "ten thousand, "+k, "", append(practiseArgs(k), "--library", file))
	}
}

func practisable() (names []string) {
	for _, k := range exercises.Kinds() {
		if ask.Shown(k.ID()) {
			names = append(names, string(k.ID()))
		}
	}
	return names
}

// practiseArgs go straight to a drill; a threshold has no usual task.
func practiseArgs(kind string) []string {
	args := []string{"practise", kind}
	if kind == string(exercises.Threshold) {
		args = append(args, "--task", exercises.TaskDifferent)
	}
	return args
}

// checkLibrary runs a command that would open the trainer, in a world without a
// terminal: what gets as far as that took its library.
func checkLibrary(t *testing.T, what, refusal string, args []string) {
	t.Helper()
	w := newWorld(t)
	w.vars["TERM"] = "dumb"
	if code := w.run(args...); code != 1 {
		t.Errorf("%s: exit code %d", what, code)
	}
	said := strings.TrimSpace(w.err.String())
	lines := strings.Split(said, "\n")
	if len(lines) != 2 || !strings.HasPrefix(lines[0], "shadedrill: ") || !strings.HasPrefix(lines[1], "hint: ") {
		t.Errorf("%s: told as %q", what, said)
		return
	}
	if strings.ContainsAny(said, "\x1b\x07") || strings.Contains(said, "internal error") {
		t.Errorf("%s: %q", what, said)
	}
	if _, err := os.Stat(w.vars["SHADEDRILL_BOOK"]); err == nil {
		t.Errorf("%s: a book was made", what)
	}
	works := strings.Contains(lines[0], "dumb")
	switch {
	case refusal == "" && !works:
		t.Errorf("%s: refused: %s", what, said)
	case refusal == "some":
		t.Logf("%s: %s", what, map[bool]string{true: "works", false: lines[0]}[works])
	case refusal != "" && !strings.Contains(lines[0], refusal):
		t.Errorf("%s: %q does not say %q", what, lines[0], refusal)
	}
}
