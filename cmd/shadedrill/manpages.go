//go:build manpages

package main

import (
	"os"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// The release build alone needs this, under the tag manpages: the generator would
// otherwise be part of everybody's program.
func init() {
	furtherCommands = append(furtherCommands, func(a *app) *cobra.Command {
		return &cobra.Command{
			Use:    "manpages FOLDER",
			Short:  "Write the manual pages",
			Hidden: true,
			Args:   exactly("FOLDER"),
			RunE: func(cmd *cobra.Command, args []string) error {
				root := cmd.Root()
				root.DisableAutoGenTag = true
				day, err := time.Parse(time.RFC3339, built)
				if err != nil {
					return err
				}
				if err := os.MkdirAll(args[0], 0o755); err != nil {
					return err
				}
				return doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "shadedrill " + release, Manual: "shadedrill", Date: &day}, args[0])
			},
		}
	})
}
