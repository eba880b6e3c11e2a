package main

import (
	"encoding/json"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// testdata/newkind is an exercise, "darker", as it would lie in the tree: its files and
// its place in the order of the kinds. The program is built with it laid over the tree.
//
// What must be true of every exercise without further work: the script
// testdata/newkind/everywhere.txt finds it in every command that speaks of exercises,
// and the trainer asks it from its menu. With SHADEDRILL_HEAVY=1 every other test of the
// tree runs with it too, last in the order, but for the pictures of the menu, which show
// the new line. Among the first it changes a newcomer's day, which some of them spell out.
func TestNewKindIsEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program anew")
	}
	overlay := layOver(t, "ValueFirst, ", "ValueFirst, Darker, ")
	program := filepath.Join(t.TempDir(), "shadedrill")
	goRun(t, "build", "-overlay", overlay, "-ldflags", "-s -w", "-o", program, ".")
	testscript.Run(t, testscript.Params{
		Files:               []string{"testdata/newkind/everywhere.txt"},
		RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("PATH", filepath.Dir(program)+string(filepath.ListSeparator)+e.Getenv("PATH"))
			e.Setenv("XDG_DATA_HOME", e.WorkDir+"/data")
			e.Setenv("TZ", "UTC")
			e.Setenv("LC_ALL", "C.UTF-8")
			return nil
		},
	})
	goRun(t, "test", "-overlay", overlay, "-run", "^TestDarker$", "shadedrill/trainer")
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		last := layOver(t, "Threshold}", "Threshold, Darker}")
		goRun(t, "test", "-overlay", last, "-short", "-skip", "^(TestMenuFitsTheSmallestWindow|TestNewKindIsEverywhere)$", "shadedrill/...")
	}
}

// layOver writes the file that has the go command see the tree with the new kind, and the
// order of the kinds with a part of it put otherwise.
func layOver(t *testing.T, part, with string) string {
	t.Helper()
	top, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	replace := map[string]string{}
	from := filepath.Join(top, "cmd/shadedrill/testdata/newkind")
	err = filepath.WalkDir(from, func(path string, d fs.DirEntry, err error) error {
		if err == nil && filepath.Ext(path) == ".go" {
			replace[filepath.Join(top, strings.TrimPrefix(path, from))] = path
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	// The one line of the tree that a new kind changes.
	const order = "var order = []KindID{"
	path := filepath.Join(top, "exercises/kind.go")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, found := strings.Cut(string(text), order)
	line, after, _ := strings.Cut(rest, "\n")
	if !found || strings.Count(line, part) != 1 {
		t.Fatalf("%s has no line %q with %q in it", path, order, part)
	}
	changed := before + order + strings.Replace(line, part, with, 1) + "\n" + after
	replace[path] = filepath.Join(t.TempDir(), "kind.go")
	if err := os.WriteFile(replace[path], []byte(changed), 0o600); err != nil {
		t.Fatal(err)
	}
	list, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "overlay.json")
	if err := os.WriteFile(file, list, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func goRun(t *testing.T, args ...string) {
	t.Helper()
	command := exec.Command("go", args...)
	command.Env = append(os.Environ(), "SHADEDRILL_HEAVY=")
	if out, err := command.CombinedOutput(); err != nil {
		t.Fatalf("go %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}
