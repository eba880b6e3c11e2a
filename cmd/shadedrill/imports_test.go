package main

import (
	"bufio"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The house: a package may import from its own room and from those to the left.
var rooms = []string{"colour", "exercises", "scoring", "trainer", "cmd"}

// within a room, what a package must not import though it lies in reach.
var forbidden = map[string][]string{
	"exercises/psychometric": {"exercises"},
	"exercises/adaptive":     {"exercises"},
	"exercises/observer":     {"exercises"},
	"scoring":                {"scoring/..."},
	"scoring/trend":          {"scoring/record", "scoring/report", "scoring/reports/..."},
	"scoring/agreement":      {"scoring/record", "scoring/report", "scoring/reports/..."},
	"scoring/items":          {"scoring/record", "scoring/report", "scoring/reports/..."},
	"scoring/threshold":      {"scoring/record", "scoring/report", "scoring/reports/..."},
	"scoring/report":         {"scoring/record", "scoring/reports/..."},
	"scoring/record":         {"scoring/report", "scoring/reports/..."},
	"trainer/draw":           {"trainer", "trainer/ask"},
	"trainer/ask":            {"trainer"},
}

// readers are the rooms of the reports. They share history and know nothing of
// each other, but for a learner's progress, which quotes the table of thresholds.
// No report of real people needs simulated ones.
var readers = []string{"learners", "classes", "panels", "tests", "thresholds", "cases", "libraries"}

const reports = "scoring/reports/"

func init() {
	for _, r := range append(slices.Clone(readers), "history") {
		not := []string{"scoring/simulate", "scoring/simulate/..."}
		for _, other := range readers {
			if other != r && r+" "+other != "learners thresholds" {
				not = append(not, reports+other)
			}
		}
		forbidden[reports+r] = not
	}
}

// outside says where packages from elsewhere may be used. An import that no
// entry covers fails: a new dependency is a visible decision.
var outside = map[string][]string{
	"github.com/lucasb-eyer/go-colorful": {"colour"},
	"gonum.org/v1/gonum":                 {"colour", "exercises", "scoring"},
	"github.com/olekukonko/tablewriter":  {"scoring/report"},
	"database/sql":                       {"scoring/record"},
	"modernc.org/sqlite":                 {"scoring/record"},
	"zombiezen.com/go/sqlite":            {"scoring/record/sqlite"},
	"github.com/jackc/pgx/v5":            {"scoring/record"},
	"github.com/oklog/ulid/v2":           {"scoring/record"},
	"github.com/google/uuid":             {"scoring/transfer"}, // name-based identifiers of xAPI statements
	"github.com/gdamore/tcell/v2":        {"trainer"},
	"github.com/coder/websocket":         {"trainer/web"},
	"golang.org/x/crypto":                {"trainer/serve"},                   // argon2id; certificates by ACME
	"golang.org/x/time":                  {"trainer/serve"},                   // how often something may be tried
	"github.com/piglig/go-qr":            {"trainer/serve"},                   // links as square codes
	"golang.org/x/text":                  {"scoring/record", "trainer/serve"}, // names and passphrases that read alike
	"github.com/spf13/cobra":             {"cmd"},
	"github.com/spf13/pflag":             {"cmd"},
	"github.com/adrg/xdg":                {"cmd"},
	"golang.org/x/term":                  {"cmd"},
	"github.com/google/go-cmp":           {"_test", "scoring/record/recordtest", "trainer/trainertest"},
	"github.com/rogpeppe/go-internal":    {"_test"},
	"github.com/creack/pty":              {"_test"},
}

// indirect are the modules that the ones above, and the three tools named in
// go.mod, bring along.
var indirect = strings.Fields(`
	github.com/BurntSushi/toml github.com/jackc/pgpassfile github.com/jackc/pgservicefile github.com/jackc/puddle/v2 github.com/kr/text github.com/cpuguy83/go-md2man/v2 github.com/russross/blackfriday/v2 go.yaml.in/yaml/v3 github.com/cespare/xxhash/v2 github.com/clipperhouse/displaywidth
	github.com/clipperhouse/uax29/v2 github.com/dustin/go-humanize github.com/fatih/color
	github.com/gdamore/encoding github.com/inconshreveable/mousetrap
	github.com/mattn/go-colorable github.com/mattn/go-isatty github.com/mattn/go-runewidth
	github.com/mitchellh/colorstring github.com/ncruces/go-strftime github.com/olekukonko/cat
	github.com/olekukonko/errors github.com/olekukonko/ll github.com/remyoudompheng/bigfft
	github.com/rivo/uniseg golang.org/x/exp/typeparams golang.org/x/mod golang.org/x/net
	golang.org/x/sync golang.org/x/sys golang.org/x/telemetry golang.org/x/tools
	golang.org/x/vuln honnef.co/go/tools modernc.org/libc modernc.org/mathutil modernc.org/memory`)

func TestImportsPointLeft(t *testing.T) {
	files := sources(t)
	if len(files) < 20 {
		t.Fatalf("only %d files found: the test looks in the wrong place", len(files))
	}
	for _, f := range files {
		room := slices.Index(rooms, strings.Split(f.dir, "/")[0])
		if room < 0 {
			t.Errorf("%s lies in no room of the house", f.path)
			continue
		}
		if in, ok := strings.CutPrefix(f.dir, reports); ok && in != "history" && !slices.Contains(readers, in) {
			t.Errorf("%s lies in a room of the reports that is on no list: who reads it?", f.path)
		}
		for _, imported := range f.imports {
			own, isOwn := strings.CutPrefix(imported, "shadedrill/")
			switch {
			case isOwn:
				if to := slices.Index(rooms, strings.Split(own, "/")[0]); to < 0 || to > room {
					t.Errorf("%s imports %s: imports point left (%s)", f.path, own, strings.Join(rooms, " <- "))
				}
				for _, not := range forbidden[f.dir] {
					if f.tree.Name.Name == filepath.Base(f.dir)+"_test" && (strings.HasPrefix(f.dir, "trainer/") || f.dir == "scoring") {
						continue // tested from outside, with what it works together with
					}
					tree, whole := strings.CutSuffix(not, "...")
					if f.test && strings.HasPrefix(f.dir, reports) && strings.HasPrefix(own, reports) {
						continue // a test may hold two reports beside each other
					}
					if own == not || whole && strings.HasPrefix(own, tree) {
						t.Errorf("%s imports %s, which %s must not know", f.path, own, f.dir)
					}
				}
			default:
				checkOutside(t, f, imported)
			}
		}
	}
}

func checkOutside(t *testing.T, f source, imported string) {
	t.Helper()
	for prefix, places := range outside {
		if imported != prefix && !strings.HasPrefix(imported, prefix+"/") {
			continue
		}
		for _, place := range places {
			if f.dir == place || strings.HasPrefix(f.dir, place+"/") || place == "_test" && f.test {
				return
			}
		}
		if f.test && strings.HasPrefix(prefix, "golang.org/x/") {
			return
		}
		t.Errorf("%s imports %s, which belongs in %s only", f.path, imported, strings.Join(places, ", "))
		return
	}
	if strings.Contains(strings.Split(imported, "/")[0], ".") {
		t.Errorf("%s imports %s, which is on no list: a new dependency is a visible decision", f.path, imported)
	}
}

func TestModulesAreListed(t *testing.T) {
	f, err := os.Open("../../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := bufio.NewScanner(f)
	block, found := "", 0
	for in.Scan() {
		line, _, _ := strings.Cut(in.Text(), "//")
		fields := strings.Fields(line)
		directive := block
		switch {
		case len(fields) == 0:
			continue
		case fields[0] == ")":
			block = ""
			continue
		case len(fields) == 2 && fields[1] == "(":
			block = fields[0]
			continue
		case block == "":
			directive, fields = fields[0], fields[1:]
		}
		switch directive {
		case "replace", "exclude":
			t.Errorf("go.mod has %q: whoever builds the program elsewhere would get another one", in.Text())
		case "require":
			found++
			_, direct := outside[fields[0]]
			if marked := strings.Contains(in.Text(), "// indirect"); !direct && !(marked && slices.Contains(indirect, fields[0])) {
				t.Errorf("go.mod requires %s, which is on no list: a new dependency is a visible decision", fields[0])
			}
		}
	}
	if found < 10 {
		t.Errorf("only %d requirements read from go.mod", found)
	}
}

// Chance and time are arguments: below trainer and cmd nothing asks the clock,
// and nothing draws from the source of chance that all share. The keys that a book makes
// for its rows are no part of the record, and must differ from server to server; nor is
// how long a database that is away is waited for.
func TestChanceAndTimeAreArguments(t *testing.T) {
	for _, f := range sources(t) {
		if f.test || strings.HasPrefix(f.dir, "cmd") || strings.HasPrefix(f.dir, "trainer") || f.dir == "scoring/record/sqlbook" || strings.HasPrefix(f.dir, "scoring/record/postgres") {
			continue
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			s, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			from, ok := s.X.(*ast.Ident)
			if !ok || from.Obj != nil {
				return true
			}
			global := from.Name == "rand" && !slices.Contains([]string{"Rand", "New", "NewPCG", "NewChaCha8", "NewZipf", "Source", "PCG", "ChaCha8", "Zipf"}, s.Sel.Name)
			clock := from.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "Sleep", "After", "Tick"}, s.Sel.Name)
			if global || clock {
				t.Errorf("%s uses %s.%s: chance and time come in from outside", f.fset.Position(s.Pos()), from.Name, s.Sel.Name)
			}
			return true
		})
	}
}

// Nobody else's file is long either.
func TestFilesStayShort(t *testing.T) {
	for _, f := range sources(t) {
		if lines := f.fset.Position(f.tree.FileEnd).Line; lines > 500 {
			t.Errorf("%s has %d lines: one idea a file, at most 500 lines", f.path, lines)
		}
	}
}

type source struct {
	path, dir string // from the top of the tree, with slashes
	test      bool
	imports   []string
	tree      *ast.File
	fset      *token.FileSet
}

// sources parses every Go file of the tree.
func sources(t *testing.T) []source {
	t.Helper()
	var list []source
	top := filepath.Join("..", "..")
	err := filepath.WalkDir(top, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != top && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if d.IsDir() || filepath.Ext(path) != ".go" {
			return nil
		}
		s := source{fset: token.NewFileSet(), test: strings.HasSuffix(path, "_test.go")}
		if s.tree, err = parser.ParseFile(s.fset, path, nil, 0); err != nil {
			return err
		}
		relative, err := filepath.Rel(top, path)
		if err != nil {
			return err
		}
		s.path = filepath.ToSlash(relative)
		s.dir = filepath.ToSlash(filepath.Dir(relative))
		for _, i := range s.tree.Imports {
			imported, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, imported)
		}
		list = append(list, s)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}
