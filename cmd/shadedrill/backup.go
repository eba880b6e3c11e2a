package main

import (
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/record/postgres"
)

// leastEvery keeps copies from following each other without a pause. House choice.
const leastEvery = time.Minute

// copyStamp names a copy by its moment, so that names sort by time.
const copyStamp = "20060102-150405"

// backupEvery copies a book into a folder again and again until it is stopped. A copy
// that fails is told, and the next one is tried all the same; of the copies that are
// there nothing is taken away for it.
func (a *app) backupEvery(cmd *cobra.Command, folder string, every time.Duration, keep int) error {
	switch {
	case every < leastEvery:
		return told.Misused("such as 24h", "--every is %v, less than %v", every, leastEvery)
	case keep < 1:
		return told.Misused("such as 14", "--keep is %d: no copy would stay", keep)
	}
	if postgres.Named(a.bookPath()) {
		if _, err := a.readBook(cmd.Context()); err != nil {
			return err
		}
	} else if _, err := a.thereIsABook(); err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return told.Fail("name a folder that you may write to", "cannot make %s: %w", folder, told.Reason(err))
	}
	ctx := cmd.Context()
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		to := filepath.Join(folder, backupPrefix(a.besideBook())+a.now().UTC().Format(copyStamp)+".db")
		if err := a.backup(ctx, to, false); err != nil {
			if ctx.Err() != nil {
				return nil
			}
			told.Explain(a.stderr, a.errorWidth, err)
		} else {
			a.say("%s", "Copied to "+to)
			a.dropOld(folder, backupPrefix(a.besideBook()), keep)
		}
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// backupPrefix is how the copies of a book begin, so that those of another one in the
// same folder are left alone.
func backupPrefix(book string) string {
	name := filepath.Base(book)
	return name[:len(name)-len(filepath.Ext(name))] + "-"
}

// dropOld takes away all copies but the last. Only what bears the name of a copy, with
// a moment in it, is one.
func (a *app) dropOld(folder, prefix string, keep int) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		told.Explain(a.stderr, a.errorWidth, err)
		return
	}
	var copies []string
	for _, e := range entries {
		name := e.Name()
		if len(name) != len(prefix)+len(copyStamp)+len(".db") || name[:len(prefix)] != prefix || !e.Type().IsRegular() {
			continue
		}
		if _, err := time.Parse(copyStamp+".db", name[len(prefix):]); err == nil {
			copies = append(copies, name)
		}
	}
	slices.Sort(copies)
	for _, name := range copies[:max(0, len(copies)-keep)] {
		if err := os.Remove(filepath.Join(folder, name)); err != nil {
			told.Explain(a.stderr, a.errorWidth, err)
		}
	}
}
