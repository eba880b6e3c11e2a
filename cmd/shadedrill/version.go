package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// Stamped by the release build: -ldflags "-X main.release=1.2.3 -X main.commit=… -X main.built=2026-01-31".
var release, commit, built string

// version names this build: what was stamped into it, or else as far as the
// build knows itself.
func version() string {
	name, from, day := release, commit, built
	if info, ok := debug.ReadBuildInfo(); ok {
		if v := info.Main.Version; name == "" && v != "(devel)" {
			name = v
		}
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision" && from == "":
				from = s.Value
			case s.Key == "vcs.time" && day == "":
				day = s.Value
			}
		}
	}
	return fmt.Sprintf("%s (commit %s, %s; %s, %s/%s)", orElse(name, "unreleased"), orElse(from, "unknown"), orElse(day, "day unknown"),
		runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

func orElse(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

func (a *app) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version, its commit and day, and the Go it was built with",
		RunE: func(*cobra.Command, []string) error {
			_, err := fmt.Fprintln(a.stdout, "shadedrill "+version())
			return err
		},
	}
}
