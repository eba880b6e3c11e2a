package main

import (
	"bytes"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"shadedrill/cmd/shadedrill/told"

	"github.com/spf13/cobra"
)

// Whoever opens a plain terminal window has 80 columns.
func TestHelpFitsIntoEightyColumns(t *testing.T) {
	commands := 0
	var each func(*cobra.Command)
	each = func(c *cobra.Command) {
		commands++
		var b bytes.Buffer
		c.SetOut(&b)
		if err := c.Help(); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(b.String(), "\n") {
			if n := utf8.RuneCountInString(line); n > told.HelpWidth && !strings.HasPrefix(c.CommandPath(), "shadedrill completion") {
				t.Errorf("%s --help: %d columns: %s", c.CommandPath(), n, line)
			}
		}
		for _, sub := range c.Commands() {
			each(sub)
		}
	}
	each(newRoot(&app{env: processEnv()}))
	if commands < 20 {
		t.Fatalf("only %d commands seen", commands)
	}
}

func TestUnknownWordsAreMet(t *testing.T) {
	for _, c := range []struct{ args, says, hint string }{
		{"practice --list", `unknown command "practice"`, "did you mean practise?"},
		{"practise --plam", "unknown flag: --plam", "did you mean --plan?"},
		{"practise valeu-first", `"valeu-first"`, "did you mean value-first?"},
		{"practise --zzzzz", "unknown flag: --zzzzz", `see "shadedrill practise --help"`},
	} {
		var out, errs bytes.Buffer
		e := processEnv()
		e.stdout, e.stderr = &out, &errs
		if code := run(strings.Fields(c.args), e); code != told.ExitUsage {
			t.Errorf("%s: exit code %d", c.args, code)
		}
		if !strings.Contains(errs.String(), c.says) || !strings.Contains(errs.String(), "hint: "+c.hint) {
			t.Errorf("%s: %s", c.args, errs.String())
		}
	}
}

// A hint that can only be typed is kept from whoever sits at a browser. The server knows
// such hints by the names of commands, which it cannot ask for.
func TestTheServerKnowsAllCommands(t *testing.T) {
	text, err := os.ReadFile("../../trainer/serve/visit.go")
	if err != nil {
		t.Fatal(err)
	}
	list := regexp.MustCompile(`const typing = .*shadedrill \(([a-z|]+)\)`).FindSubmatch(text)
	if list == nil {
		t.Fatal("trainer/serve/visit.go has no list of commands")
	}
	known := strings.Split(string(list[1]), "|")
	for _, c := range newRoot(&app{env: processEnv()}).Commands() {
		switch c.Name() {
		case "version", "help", "completion", "manpages": // no hint names them
		default:
			if !slices.Contains(known, c.Name()) {
				t.Errorf("%s is not among %v", c.Name(), known)
			}
		}
	}
}
