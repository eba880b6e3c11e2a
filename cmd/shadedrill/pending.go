package main

import (
	"context"

	"github.com/spf13/cobra"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
)

func openBook(ctx context.Context, path string) (record.Book, error) {
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	return book, nil
}

func (a *app) exportCommand() *cobra.Command { return &cobra.Command{Use: "export"} }
