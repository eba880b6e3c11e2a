// Command shadedrill trains and measures the eye that takes a shade.
//
// The files: main.go and env.go are the doors to the world, root.go the command
// tree, failure.go what a user is told when something is wrong, and then one
// file a subcommand.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring/reports/history"
	"shadedrill/trainer"
)

func main() { os.Exit(run(os.Args[1:], processEnv())) }

// run executes one command line. The command tree is built anew for every run,
// so that nothing survives from one to the next. It returns the exit code: 0,
// 1 for a failure, 2 for a command line that cannot be understood.
func run(args []string, e env) (code int) {
	ctx, stop := stoppable()
	defer stop()
	out := &written{to: e.stdout}
	e.stdout = out
	e.stdin = &listening{ctx: ctx, from: e.stdin}
	a := &app{env: e}
	root := newRoot(a)
	broke := func(with any, stack []byte) error {
		if e.getenv("SHADEDRILL_DEBUG") == "" {
			stack = nil
		}
		return panicked(with, stack)
	}
	defer func() {
		if p := recover(); p != nil {
			code = explain(e.stderr, e.errorWidth, broke(p, debug.Stack()))
		}
	}()
	defer a.close()
	root.SetArgs(args)
	root.SetIn(e.stdin)
	root.SetOut(e.stdout)
	root.SetErr(e.stderr)
	cmd, err := root.ExecuteContextC(ctx)
	if out.failed != nil {
		err = fail("make room, or write to another place", "standard output cannot be written to: %w", reason(out.failed))
	} else if err != nil && !a.entered {
		err = misread(err, cmd.CommandPath())
	}
	if errors.Is(err, trainer.ErrGone) {
		select { // a terminal that ends and its signal come in either order
		case <-ctx.Done():
		case <-time.After(200 * time.Millisecond):
		}
	}
	stoppedBy, stopped := errors.AsType[signalled](context.Cause(ctx))
	switch {
	case err == nil:
	case stopped && stoppedBy.signal == syscall.SIGHUP:
		return stoppedBy.code() // whoever might be told has closed the window
	case stopped:
		explain(e.stderr, e.errorWidth, fail("answers already given are in the book", "%v", stoppedBy))
		return stoppedBy.code()
	case errors.Is(err, trainer.ErrGone):
		return exitFailure
	}
	if b, ok := errors.AsType[*trainer.Broken](err); ok {
		err = broke(b.What, b.Stack)
	} else if p, ok := errors.AsType[*history.Panic](err); ok { // of one who helped with a report
		err = broke(p.Value, p.Stack)
	}
	if err != nil && fault.Hint(err) == "" {
		err = fault.Wrap(err, fmt.Sprintf(`see "%s --help"`, cmd.CommandPath()))
	}
	return explain(e.stderr, e.errorWidth, err)
}

// written is standard output. It remembers that something could not be written,
// which most of what prints does not ask.
type written struct {
	to     io.Writer
	failed error
}

func (w *written) Write(b []byte) (int, error) {
	n, err := w.to.Write(b)
	if err != nil && w.failed == nil {
		w.failed = err
	}
	return n, err
}

// signalled is why a run ends that a signal has stopped.
type signalled struct{ signal syscall.Signal }

func (s signalled) Error() string { return "stopped by a signal" }

// code is what a shell gives a command that a signal has ended.
func (s signalled) code() int { return 128 + int(s.signal) }

// stoppable is the context of a run, which signals end. One that is ignored already,
// as nohup does it, stays ignored.
func stoppable() (context.Context, func()) {
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
			if s, ok := s.(syscall.Signal); ok {
				cancel(signalled{s})
			}
		case <-ctx.Done():
		}
	}()
	return ctx, func() { signal.Stop(came); cancel(nil) }
}
