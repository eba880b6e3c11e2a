// Package process is what a run has of the system around it: signals that end it, standard
// input that they end too, standard output that remembers a failure, the width of lines.
package process

import (
	"context"
	"io"
	"os"
	"os/signal"
	"strconv"
	"syscall"

	"golang.org/x/term"
)

// Written is standard output. It remembers that something could not be written,
// which most of what prints does not ask.
type Written struct {
	To     io.Writer
	Failed error
}

func (w *Written) Write(b []byte) (int, error) {
	n, err := w.To.Write(b)
	if err != nil && w.Failed == nil {
		w.Failed = err
	}
	return n, err
}

// Signalled is why a run ends that a signal has stopped.
type Signalled struct{ Signal syscall.Signal }

func (s Signalled) Error() string { return "stopped by a signal" }

// Code is what a shell gives a command that a signal has ended.
func (s Signalled) Code() int { return 128 + int(s.Signal) }

// Stoppable is the context of a run, which signals end. One that is ignored already,
// as nohup does it, stays ignored. Whoever types Ctrl-C a second time does not want to
// wait any longer, and the system ends the run at once; a closed window may send several
// signals, and they do not.
func Stoppable() (context.Context, func()) {
	ctx, cancel := context.WithCancelCause(context.Background())
	came := make(chan os.Signal, 1)
	for _, s := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT, syscall.SIGABRT} {
		if !signal.Ignored(s) {
			signal.Notify(came, s)
		}
	}
	go func() {
		select {
		case s := <-came:
			if !signal.Ignored(syscall.SIGINT) {
				signal.Reset(syscall.SIGINT)
			}
			if s, ok := s.(syscall.Signal); ok {
				cancel(Signalled{s})
			}
		case <-ctx.Done():
		}
	}()
	return ctx, func() { signal.Stop(came); cancel(nil) }
}

// TextWidth is how many characters a line may take: what COLUMNS says, but never more than
// the terminal has; 0 where neither is known.
func TextWidth(columns string, f *os.File) int { return textWidth(columns, terminalWidth(f)) }

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
