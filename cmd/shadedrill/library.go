package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/tabs"
)

// loadLibrary takes a built-in library's name or the path of a CSV file.
func loadLibrary(from string) (*tabs.Library, error) {
	if slices.Contains(tabs.Builtin(), from) {
		return tabs.Load(from)
	}
	f, err := os.Open(from)
	if err != nil {
		hint := "built in are " + strings.Join(tabs.Builtin(), " and ") + "; anything else is the path of a CSV file with the columns name,L,a,b and, if wanted, group"
		return nil, told.Fail(hint, "cannot read the library %q: %w", from, told.Reason(err))
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, told.Fail("give the CSV file itself", "cannot read the library %q: it is a folder", from)
	}
	l, err := tabs.ReadCSV(f, strings.TrimSuffix(filepath.Base(from), filepath.Ext(from)))
	if err != nil {
		return nil, told.Within(from, err)
	}
	return l, nil
}

func (a *app) completeLibrary(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return tabs.Builtin(), cobra.ShellCompDirectiveDefault
}
