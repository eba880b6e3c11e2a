package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
)

// bookPath is where the book lies: the flag, the environment, or the user's
// data folder.
func (a *app) bookPath() string {
	if a.flags.book != "" {
		return a.flags.book
	}
	if path := a.getenv("SHADEDRILL_BOOK"); path != "" {
		return path
	}
	return filepath.Join(xdg.DataHome, "shadedrill", "book.db")
}

// useBook opens the book, and makes a new one where there is none.
func (a *app) useBook(ctx context.Context) (record.Store, error) {
	path := a.bookPath()
	book, err := a.openBook(ctx, path)
	if err != nil {
		return nil, &within{path, err}
	}
	a.book = book
	return book, nil
}

// openBook is where SQLite is chosen.
func openBook(ctx context.Context, path string) (record.Store, error) {
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	return book, nil
}

// readBook opens a book that must be there already: asking for results must
// not leave an empty book behind. It may lie where nothing can be written.
func (a *app) readBook(ctx context.Context) (record.Store, error) {
	if _, err := a.thereIsABook(); err != nil {
		return nil, err
	}
	book, err := a.useBook(ctx)
	if !sqlite.Unwritable(err) {
		return book, err
	}
	if book, err = sqlite.OpenToRead(ctx, a.bookPath()); err != nil {
		return nil, &within{a.bookPath(), err}
	}
	a.book = book
	return book, nil
}

// person finds whose answers are meant: the named learner, or the only one.
func (a *app) person(ctx context.Context, book record.Book) (scoring.Learner, error) {
	everybody, err := book.Learners(ctx)
	if err != nil {
		return scoring.Learner{}, err
	}
	name := a.learnerName()
	if name == "" {
		switch len(everybody) {
		case 0:
			return scoring.Learner{}, fail(`practise first ("shadedrill")`, "nobody is in the book %s yet", a.bookPath())
		case 1:
			return everybody[0], nil
		}
		return scoring.Learner{}, misused("say whose answers with --learner: "+some(everybody),
			"the book holds %d people", len(everybody))
	}
	return a.named(ctx, book, name)
}

func (a *app) learnerName() string {
	if a.flags.learner != "" {
		return a.flags.learner
	}
	return a.getenv("SHADEDRILL_LEARNER")
}

// some names people, as many as fit a line.
func some(people []scoring.Learner) string {
	const most = 8
	var names []string
	for i, p := range people {
		if i == most {
			names = append(names, fmt.Sprintf("and %d more", len(people)-most))
			break
		}
		names = append(names, p.Name)
	}
	return strings.Join(names, ", ")
}

func (a *app) completeLearner(cmd *cobra.Command, _ []string, _ string) ([]string, cobra.ShellCompDirective) {
	book, err := a.readBook(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	everybody, err := book.Learners(cmd.Context())
	if err != nil {
		return nil, cobra.ShellCompDirectiveError
	}
	var names []string
	for _, p := range everybody {
		names = append(names, p.Name)
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
