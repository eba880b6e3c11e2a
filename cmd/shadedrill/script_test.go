package main

import (
	"errors"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	_ "time/tzdata" // days.txt is in another zone than the machine

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"shadedrill": main})
}

// TestScripts runs testdata/script/*.txt: command lines as a user types them,
// what they print and how they exit. SHADEDRILL_UPDATE=1 rewrites what "cmp"
// compares.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		UpdateScripts:       os.Getenv("SHADEDRILL_UPDATE") != "",
		Setup: func(e *testscript.Env) error {
			e.Setenv("XDG_DATA_HOME", e.WorkDir+"/data")
			e.Setenv("TZ", "UTC")
			e.Setenv("LC_ALL", "C.UTF-8")
			e.Setenv("COLUMNS", "300") // a row is a line; what a page looks like says so with COLUMNS=
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"fails": fails},
	})
}

// fails runs a command that must end with the given exit code, print nothing on
// standard output, and say what is wrong as the program promises: lines that
// begin with its name, then one hint.
func fails(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: fails CODE COMMAND ARG...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != want {
		ts.Fatalf("ended with %v, want exit code %d", err, want)
	}
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("printed %q on standard output", out)
	}
	lines := strings.Split(strings.TrimSuffix(ts.ReadFile("stderr"), "\n"), "\n")
	for i, line := range lines {
		prefix := "shadedrill: "
		if i == len(lines)-1 {
			prefix = "hint: "
		}
		if !strings.HasPrefix(line, prefix) || len(lines) < 2 {
			ts.Fatalf("line %d on standard error is not %q and more: %q", i+1, prefix, line)
		}
	}
}
