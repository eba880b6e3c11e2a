package main

import (
	"go/ast"
	"os"
	"path"
	"regexp"
	"strings"
	"testing"
)

// A check whose test is gone passes and measures nothing: every test, benchmark
// and fuzz target that .ci/run and DEVELOPERS.md name stands in a package that
// the command runs.
func TestChecksNameWhatExists(t *testing.T) {
	functions := map[string][]string{} // by folder
	for _, s := range sources(t) {
		if s.test {
			for _, o := range s.tree.Scope.Objects {
				functions[s.dir] = append(functions[s.dir], o.Name)
			}
		}
	}
	named := 0
	for _, file := range []string{".ci/run", "DEVELOPERS.md"} {
		text, err := os.ReadFile("../../" + file)
		if err != nil {
			t.Fatal(err)
		}
		for _, command := range regexp.MustCompile("(?m)^go test.*$|`[^`]*go test[^`]*`").FindAllString(string(text), -1) {
			words := strings.Fields(strings.NewReplacer(`\|`, "|", "'", "", "`", "").Replace(command))
			for i, w := range words[1:] {
				kind := map[string]string{"-run": "Test", "-skip": "Test", "-bench": "Benchmark", "-fuzz": "Fuzz"}[words[i]]
				if kind == "" || w == "^$" {
					continue
				}
				for _, name := range strings.Split(w, "|") {
					named++
					if !anyNamed(functions, words, kind, name) {
						t.Errorf("%s: no %s is named %q where the command looks: %s", file, strings.ToLower(kind), name, command)
					}
				}
			}
		}
	}
	if named < 8 {
		t.Errorf("only %d names found: the test looks in the wrong place", named)
	}
}

// anyNamed looks for a function of a kind in the packages among a command's words.
func anyNamed(functions map[string][]string, words []string, kind, name string) bool {
	for _, w := range words {
		if !strings.HasPrefix(w, "./") {
			continue
		}
		tree, whole := strings.CutSuffix(path.Clean(w), "/...")
		for dir, list := range functions {
			if dir != tree && !(whole && strings.HasPrefix(dir, tree+"/")) {
				continue
			}
			for _, f := range list {
				if strings.HasPrefix(f, kind) && regexp.MustCompile(name).MatchString(f) {
					return true
				}
			}
		}
	}
	return false
}

// The race detector looks wherever something runs beside something else: every
// package that starts a goroutine, itself or in its tests, is in that step of
// .ci/run, and DEVELOPERS.md says the same.
func TestTheRaceStepCoversEveryGoroutine(t *testing.T) {
	tested, started := map[string]bool{}, map[string]string{}
	for _, s := range sources(t) {
		tested[s.dir] = tested[s.dir] || s.test
		ast.Inspect(s.tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt:
				started[s.dir] = s.path
			case *ast.SelectorExpr:
				if of, ok := n.X.(*ast.Ident); ok && (of.Name == "sync" && n.Sel.Name == "WaitGroup" || n.Sel.Name == "AfterFunc" && (of.Name == "time" || of.Name == "context")) {
					started[s.dir] = s.path
				}
			}
			return true
		})
	}
	if len(started) < 5 {
		t.Fatalf("goroutines are started in %v only: the test looks in the wrong place", started)
	}
	for _, file := range []string{".ci/run", "DEVELOPERS.md"} {
		text, err := os.ReadFile("../../" + file)
		if err != nil {
			t.Fatal(err)
		}
		step := regexp.MustCompile("go test -race[^`\n]*").FindString(string(text))
		if step == "" {
			t.Errorf("%s has no race step", file)
		}
		for dir, path := range started {
			if !tested[dir] { // its goroutines run in the tests of others
				continue
			}
			covered := false
			for _, w := range strings.Fields(step) {
				tree, whole := strings.CutSuffix(strings.TrimPrefix(w, "./"), "/...")
				covered = covered || dir == tree || whole && strings.HasPrefix(dir, tree+"/")
			}
			if !covered {
				t.Errorf("%s: %s starts goroutines and is not in: %s", file, path, step)
			}
		}
	}
}
