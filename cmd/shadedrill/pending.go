package main

import (
	"context"

	"github.com/spf13/cobra"

	"shadedrill/scoring/record"
)

func openBook(context.Context, string) (record.Book, error) { return nil, errNoTrainer }
func (a *app) exportCommand() *cobra.Command                { return &cobra.Command{Use: "export"} }
