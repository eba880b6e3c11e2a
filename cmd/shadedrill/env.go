package main

import (
	"context"
	"crypto/rand"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"shadedrill/cmd/shadedrill/process"
	"shadedrill/scoring/record"
)

// env is everything a command takes from the world around it.
type env struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	getenv         func(string) string
	now            func() time.Time
	// chance is what forms of the test are drawn by.
	chance io.Reader
	// width is how many characters a line of standard output may take, 0 where nobody
	// knows: it is not a terminal, and COLUMNS is not set.
	width int
	// watched says that standard error is a terminal, errorWidth how many characters
	// a line of it may take, 0 for no limit.
	watched    bool
	errorWidth int
	// asks says that whoever started the program can be asked: standard input is a
	// terminal as well.
	asks     bool
	openBook func(ctx context.Context, path string) (record.Store, error)
}

func processEnv() env {
	e := env{
		stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr,
		getenv:   os.Getenv,
		now:      time.Now,
		chance:   rand.Reader,
		width:    process.TextWidth(os.Getenv("COLUMNS"), os.Stdout),
		watched:  term.IsTerminal(int(os.Stderr.Fd())),
		asks:     term.IsTerminal(int(os.Stdin.Fd())) && term.IsTerminal(int(os.Stderr.Fd())),
		openBook: openBook,
	}
	if e.watched {
		e.errorWidth = process.TextWidth(os.Getenv("COLUMNS"), os.Stderr)
	}
	return e
}
