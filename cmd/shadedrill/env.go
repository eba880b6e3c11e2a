package main

import (
	"context"
	"crypto/rand"
	"io"
	"os"
	"strconv"
	"time"

	"golang.org/x/term"

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
		width:    textWidth(os.Getenv("COLUMNS"), terminalWidth(os.Stdout)),
		watched:  term.IsTerminal(int(os.Stderr.Fd())),
		asks:     term.IsTerminal(int(os.Stdin.Fd())) && term.IsTerminal(int(os.Stderr.Fd())),
		openBook: openBook,
	}
	if e.watched {
		e.errorWidth = textWidth(os.Getenv("COLUMNS"), terminalWidth(os.Stderr))
	}
	return e
}

// textWidth is what COLUMNS says, but never more than the terminal has; 0 where neither
// is known.
func textWidth(columns string, terminal int) int {
	said, err := strconv.Atoi(columns)
	if err != nil || said <= 0 {
		return terminal
	}
	if terminal > 0 {
		return min(said, terminal)
	}
	return said
}

func terminalWidth(f *os.File) int {
	width, _, err := term.GetSize(int(f.Fd()))
	if err != nil {
		return 0
	}
	return width
}
