package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/files"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/sqlite"
)

func (a *app) bookCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "book",
		Short: "The book itself: verify it, copy it while it is in use",
		Example: `  shadedrill book check
  shadedrill book backup /media/stick/shadedrill-2026-12-01.db`,
	}
	c.AddCommand(a.bookCheck(), a.bookBackup(), a.bookCopy(), a.bookSalvage())
	return c
}

func (a *app) bookCheck() *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Verify that a book is whole: the file, and everything that it holds",
		Long: `Verify that a book is whole: the file, the references in it, every person, sitting,
class, assignment and session, and that every answer can be marked. A damaged book
is left as it is. What was found stands on standard error, and the exit code is 1.

Of a book in a database everything is verified that the book holds. The pages below
it are the database's own affair (pg_amcheck).`,
		Example: "  shadedrill book check --book class.db",
		RunE: func(cmd *cobra.Command, _ []string) error {
			path, found, form, err := a.checkBook(cmd.Context())
			if err != nil {
				return err
			}
			if !found.Sound() {
				return damage(path, found)
			}
			a.say("The book %s is sound (form %d).", path, form)
			without := ""
			if found.Empty > 0 {
				without = fmt.Sprintf(", %d without an answer, as settings are kept", found.Empty)
			}
			a.say("%s, %s (%d unfinished%s), %s, all of them markable; %s, %s, %s, %s, %s.",
				people(found.People), scoring.Count(found.Sittings, "sitting", "sittings"), found.Unfinished, without,
				scoring.Count(found.Answers-found.Unknown, "answer", "answers"), scoring.Count(found.Sheets, "sheet", "sheets"),
				scoring.Count(found.Classes, "class", "classes"), scoring.Count(found.Assignments, "assignment", "assignments"),
				scoring.Count(found.Panels, "calibration session", "calibration sessions"), scoring.Count(found.Forms, "form of the test", "forms of the test"))
			for _, line := range asides(found) {
				a.say("%s", line)
			}
			return nil
		},
	}
}

// checkBook verifies the book, and says where it lies and of what form it is.
func (a *app) checkBook(ctx context.Context) (name string, found record.Inventory, form int, err error) {
	bar := a.progressBar(-1, "answers")
	defer bar.Finish()
	if postgres.Named(a.bookPath()) {
		book, err := a.readBook(ctx)
		if err != nil {
			return "", found, 0, err
		}
		found, form, err = book.(*postgres.Book).Check(ctx, bar.Set)
		return a.bookName(), found, form, err
	}
	path, err := a.thereIsABook()
	if err != nil {
		return "", found, 0, err
	}
	watching, seen := a.whileOlder(ctx)
	defer seen()
	if found, form, err = sqlite.Check(watching, path, bar.Set); err != nil {
		err = told.Within(path, err)
	}
	return path, found, form, err
}

// asides are what is worth knowing of a sound book.
func asides(found record.Inventory) []string {
	var lines []string
	if found.Unknown > 0 {
		lines = append(lines, fmt.Sprintf("%s to exercises that this program does not know; %s kept.", scoring.Count(found.Unknown, "further answer is", "further answers are"), scoring.Plural(found.Unknown, "it is", "they are")))
	}
	if found.Imported > 0 {
		lines = append(lines, scoring.Count(found.Imported, "sitting was", "sittings were")+" imported from another book.")
	}
	begun := slices.SortedFunc(maps.Keys(found.Begun), func(x, y record.Begun) int { return x.At.Compare(y.At) })
	for _, b := range begun {
		lines = append(lines, fmt.Sprintf("%s on %s (%s): what was changed before that day cannot be told.",
			scoring.Count(found.Begun[b], "sitting has a chain that was begun", "sittings have chains that were begun"), b.At.Local().Format(time.DateOnly), b.Why))
	}
	for _, n := range found.Notes {
		lines = append(lines, "worth knowing: "+n)
	}
	return lines
}

// damage tells what was found in a book.
func damage(path string, found record.Inventory) error {
	list := fault.List{Outcome: path + " is damaged",
		Mend: `nothing was changed: put the last copy in its place, or save what can still be read with "shadedrill book salvage"`}
	for _, f := range found.Findings {
		list.Lines = append(list.Lines, path+": "+f)
	}
	if found.More > 0 {
		list.Lines = append(list.Lines, fmt.Sprintf("%s: and %d more", path, found.More))
	}
	return &list
}

func (a *app) bookBackup() *cobra.Command {
	var force bool
	var every time.Duration
	keep := 14
	c := &cobra.Command{
		Use:   "backup FILE|FOLDER",
		Short: "Copy a book, which may be in use, to another file",
		Long: `Copy a book, which may be in use, to another file. The copy is of one moment and is
verified; it is there whole or not at all. It is a book like any other: --book
opens it.

The copy of a book in a database is a file: of one moment, and everything that the book
holds. What else protects a database (its log, its standbys, pg_basebackup) is its own.

With --every it goes on: a copy now, and one after each such time, into a folder, of
which the last --keep stay. It ends with a signal.`,
		Example: `  shadedrill book backup copy.db
  shadedrill book backup --force /media/stick/shadedrill.db
  shadedrill book backup --every 24h --keep 14 /var/backups/shadedrill`,
		Args: exactly("the file to copy to"),
	}
	c.Flags().BoolVar(&force, "force", false, "replace the file if it is there")
	c.Flags().DurationVar(&every, "every", 0, "copy into a folder again and again, after each such `time`")
	c.Flags().IntVar(&keep, "keep", keep, "with --every: how `many` copies stay")
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if cmd.Flags().Changed("every") || cmd.Flags().Changed("keep") {
			return a.backupEvery(cmd, args[0], every, keep)
		}
		if err := a.mayCopyTo(cmd.Context(), args[0]); err != nil {
			return err
		}
		if err := a.backup(cmd.Context(), args[0], force); err != nil {
			return err
		}
		info, err := os.Stat(args[0])
		if err != nil {
			return err
		}
		a.say("The book %s is copied to %s, %.1f MB, and the copy is whole.", a.bookName(), args[0], float64(info.Size())/1e6)
		return nil
	}
	return c
}

// mayCopyTo looks at the place of a copy: an earlier copy of the same book may be there,
// and no other book.
func (a *app) mayCopyTo(ctx context.Context, to string) error {
	if !files.IsBook(to) {
		_, _, err := files.Target{Path: to}.Place()
		return err
	}
	from, err := a.readBook(ctx)
	if err != nil {
		return err
	}
	if there, err := sqlite.OpenToRead(ctx, to); err == nil {
		defer there.Close()
		if there.ID() == from.ID() {
			return nil
		}
	}
	return told.Fail("name a new file: only an earlier copy of the same book is ever replaced", "cannot copy the book to %s: it is another book, or belongs to one", to)
}

// thereIsABook is where the book lies, if it does.
func (a *app) thereIsABook() (string, error) {
	path := a.bookPath()
	switch info, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist):
		return "", told.Fail(`practise first ("shadedrill"), name another book with --book, or make one to look at ("shadedrill simulate --help")`,
			"there is no book at %s yet", path)
	case err != nil:
		return "", fmt.Errorf("cannot open the book %s: %w", path, told.Reason(err))
	case info.IsDir():
		return "", told.Fail("name the book itself, not its folder", "cannot open the book %s: it is a folder", path)
	}
	return path, nil
}

func (a *app) bookSalvage() *cobra.Command {
	var to string
	c := &cobra.Command{
		Use:   "salvage BOOK",
		Short: "Save what can still be read of a damaged book into a new one",
		Long: `Save what can still be read of a damaged book into a new one: people, classes with
their rosters, assignments, calibration sessions and forms of the test that nobody has
changed; every sitting that is as it was taken, and of the others every answer that is
proved to be as it was given. Said, a line each, is what could not be saved. Where the
book itself is gone and only its log is left (BOOK-wal), what the log holds is saved. The
damaged book is left as it is.`,
		Example: "  shadedrill book salvage damaged.db -o saved.db",
		Args:    exactly("the damaged book"),
	}
	c.Flags().StringVarP(&to, "output", "o", "", "the new `book`")
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if to == "" {
			return told.Misused("say -o NEW.db", "the new book is not named")
		}
		if _, _, err := (files.Target{Path: to}).Place(); err != nil {
			return err
		}
		if postgres.Named(args[0]) {
			return told.Fail("put the database's last backup in its place, or promote a standby", "what is damaged in a database cannot be read around it")
		}
		done, err := sqlite.Salvage(cmd.Context(), args[0], to, a.now())
		if err != nil {
			return err
		}
		a.say("Saved into %s: %s, %s as they were taken, %s with losses; %s; %s.", to, people(done.People),
			scoring.Count(done.Whole, "sitting", "sittings"), scoring.Count(done.Broken, "sitting", "sittings"), scoring.Count(done.Answers, "answer", "answers"),
			scoring.Count(done.Sets, "class, assignment, session or form", "classes, assignments, sessions and forms"))
		if done.Dropped+done.Missing > 0 {
			a.say("Not saved: %s not proved to be as given, %s that could not be read.",
				scoring.Count(done.Dropped, "answer", "answers"), scoring.Count(done.Missing, "answer", "answers"))
		}
		for _, line := range done.Lines {
			a.say("%s", line)
		}
		return nil
	}
	return c
}
