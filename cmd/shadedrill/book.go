package main

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
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

// bookName is where the book lies, as it may be printed.
func (a *app) bookName() string { return shownBook(a.bookPath()) }

func shownBook(path string) string {
	if postgres.Named(path) {
		return postgres.Shown(path)
	}
	return path
}

// besideBook is where files lie that belong to the book and to this machine: beside it,
// or for a book in a database in the user's data folder.
func (a *app) besideBook() string {
	path := a.bookPath()
	if !postgres.Named(path) {
		return path
	}
	sum := sha256.Sum256([]byte(postgres.Shown(path)))
	return filepath.Join(xdg.DataHome, "shadedrill", fmt.Sprintf("database-%x", sum[:4]))
}

// useBook opens the book, and makes a new one where there is none.
func (a *app) useBook(ctx context.Context) (record.Store, error) {
	if err := a.noSecret("--book", a.flags.book); err != nil {
		return nil, err
	}
	path := a.bookPath()
	watching, seen := a.whileOlder(ctx)
	book, err := a.openBook(watching, path)
	seen()
	if err != nil && postgres.Named(path) {
		return nil, err // which names the book
	}
	if err != nil {
		return nil, told.Within(path, err)
	}
	a.opened(book)
	return book, nil
}

// opened keeps a book until the program ends, and tells what is worth knowing of how it
// lies.
func (a *app) opened(book record.Store) {
	a.book = book
	if b, ok := book.(*postgres.Book); ok {
		for _, n := range b.Notes() {
			a.note("%s", n)
		}
	}
}

// noSecret refuses a password on the command line, which every user of the machine can
// read in the list of processes.
func (a *app) noSecret(where, path string) error {
	if postgres.Named(path) && postgres.Secret(path) {
		return told.Misused("put it into PGPASSWORD, into a file that PGPASSFILE names, or the whole address into SHADEDRILL_BOOK",
			"%s holds a password, which others can read in the list of processes", where)
	}
	return nil
}

// bookToTry is the book, or for what is only tried (dry) and finds none, an empty one that
// is gone afterwards.
func (a *app) bookToTry(ctx context.Context, dry bool) (record.Store, error) {
	if _, err := os.Stat(a.bookPath()); dry && !postgres.Named(a.bookPath()) && errors.Is(err, fs.ErrNotExist) {
		return record.NewMemory(), nil
	}
	return a.useBook(ctx)
}

// manySittings is how many an older book may have before it is worth a word that it is
// brought up to date; house choice, about a second.
const manySittings = 1000

// whileOlder says that an older book is brought up to date, and how far that has come.
// What it returns ends the saying.
func (a *app) whileOlder(ctx context.Context) (context.Context, func()) {
	var b *told.Bar
	ctx = sqlite.Watching(ctx, func(done, of int) {
		if of < manySittings {
			return
		}
		if b == nil {
			b = a.progressBar(of, "bringing the book up to date")
			if !b.Watched() {
				a.note("the book is of an earlier version: it is brought up to date, once")
			}
		}
		b.Set(done)
	})
	return ctx, func() {
		if b != nil {
			b.Clear()
		}
	}
}

// openBook is where the driver is chosen.
func openBook(ctx context.Context, path string) (record.Store, error) {
	if postgres.Named(path) {
		book, err := postgres.Open(ctx, path)
		if err != nil {
			return nil, err
		}
		return book, nil
	}
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	return book, nil
}

// readBook opens a book that must be there already: asking for results must
// not leave an empty book behind. It may lie where nothing can be written.
func (a *app) readBook(ctx context.Context) (record.Store, error) {
	if path := a.bookPath(); postgres.Named(path) {
		if err := a.noSecret("--book", a.flags.book); err != nil {
			return nil, err
		}
		book, err := postgres.OpenThere(ctx, path)
		if err != nil {
			return nil, err
		}
		a.opened(book)
		return book, nil
	}
	if _, err := a.thereIsABook(); err != nil {
		return nil, err
	}
	book, err := a.useBook(ctx)
	if !sqlite.Unwritable(err) {
		return book, err
	}
	ctx, seen := a.whileOlder(ctx)
	defer seen()
	if book, err = sqlite.OpenToRead(ctx, a.bookPath()); err != nil {
		return nil, told.Within(a.bookPath(), err)
	}
	a.book = book
	return book, nil
}

// mayHaveBook is false where surely nothing was ever recorded.
func (a *app) mayHaveBook() bool {
	_, err := os.Stat(a.bookPath())
	return postgres.Named(a.bookPath()) || !errors.Is(err, fs.ErrNotExist)
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
			return scoring.Learner{}, told.Fail(`practise first ("shadedrill")`, "nobody is in the book %s yet", a.bookName())
		case 1:
			return everybody[0], nil
		}
		return scoring.Learner{}, told.Misused("say whose answers with --learner: "+some(everybody),
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
