package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/sqlbook"
	"shadedrill/scoring/record/sqlite"
)

func (a *app) bookCopy() *cobra.Command {
	c := &cobra.Command{
		Use:   "copy FROM TO",
		Short: "Move a book between a file and a database",
		Long: `Copy a whole book from a file into a database, from a database into a file, or between
two of a kind. FROM may be in use; the copy is of one moment. TO must be a new file or
an empty database. All of it is entered in one transaction or nothing is, then rows are
counted and the chain of every sitting is verified.

The two are one book afterwards, with one identifier: go on in one of them only.`,
		Example: `  shadedrill book copy school.db postgres://owner@db.example/school
  shadedrill book copy postgres://owner@db.example/school school.db`,
		Args: exactly("the book to copy", "where the copy is to lie"),
	}
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if err := errors.Join(a.noSecret("FROM", args[0]), a.noSecret("TO", args[1])); err != nil {
			return err
		}
		a.flags.book = args[0]
		book, err := a.readBook(cmd.Context())
		if err != nil {
			return err
		}
		n, err := a.copyBook(cmd.Context(), rowsOf(book), args[1])
		if err != nil {
			return err
		}
		a.say("The book %s is copied to %s: %s, counted and verified.", shownBook(args[0]), shownBook(args[1]), scoring.Count(n, "row", "rows"))
		return nil
	}
	return c
}

// rowsOf is a book as it lies in its tables.
func rowsOf(book record.Store) *sqlbook.Book {
	switch b := book.(type) {
	case *postgres.Book:
		return b.Book
	case *sqlite.Book:
		return b.Book
	}
	return nil
}

// copyBook writes a book into a new file or an empty database, and says of how many rows
// it is.
func (a *app) copyBook(ctx context.Context, from *sqlbook.Book, to string) (rows int, err error) {
	bar := a.progressBar(0, "copying")
	defer bar.Finish()
	progress := func(n, of int) {
		rows = n
		bar.SetOf(n, of)
	}
	if !postgres.Named(to) {
		if _, _, err := (files.Target{Path: to}).Place(); err != nil {
			return 0, err
		}
		err := sqlite.CopyOf(ctx, from, to, false, progress)
		return rows, err
	}
	into, err := postgres.Open(ctx, to)
	if err != nil {
		return 0, err
	}
	defer into.Close()
	for _, n := range into.Notes() {
		a.note("%s", n)
	}
	err = into.CopyFrom(ctx, from, progress)
	return rows, err
}

// backup copies the book into a file.
func (a *app) backup(ctx context.Context, to string, replace bool) error {
	if !postgres.Named(a.bookPath()) {
		path, err := a.thereIsABook()
		if err != nil {
			return err
		}
		return sqlite.Backup(ctx, path, to, replace)
	}
	if a.book == nil {
		if _, err := a.readBook(ctx); err != nil {
			return err
		}
	}
	bar := a.progressBar(0, "copying")
	defer bar.Finish()
	return sqlite.CopyOf(ctx, rowsOf(a.book), to, replace, bar.SetOf)
}
