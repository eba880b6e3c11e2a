package main

import (
	"io"

	"shadedrill/cmd/shadedrill/told"
)

// progressBar shows how far a long command has come, where somebody watches.
func (a *app) progressBar(total int, doing string) *told.Bar {
	var w io.Writer
	if a.watched && !a.flags.quiet && a.getenv("NO_COLOR") == "" {
		w = a.stderr
	}
	return told.NewBar(w, a.now, total, doing)
}

// readingBar shows how much of a file has been read.
func (a *app) readingBar(in io.Reader, doing string) (*told.Bar, io.Reader) {
	b := a.progressBar(0, doing)
	return b, b.Reading(in)
}
