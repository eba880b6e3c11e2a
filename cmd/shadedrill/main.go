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
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"shadedrill/colour/fault"
	"shadedrill/trainer"
)

func main() { os.Exit(run(os.Args[1:], processEnv())) }

// run executes one command line. The command tree is built anew for every run,
// so that nothing survives from one to the next. It returns the exit code: 0,
// 1 for a failure, 2 for a command line that cannot be understood.
func run(args []string, e env) (code int) {
	ctx, stop := stoppable()
	defer stop()
	a := &app{env: e}
	root := newRoot(a)
	defer func() {
		if p := recover(); p != nil {
			var stack []byte
			if e.getenv("SHADEDRILL_DEBUG") != "" {
				stack = debug.Stack()
			}
			code = explain(e.stderr, panicked(p, stack))
		}
	}()
	defer a.close()
	root.SetArgs(args)
	root.SetIn(e.stdin)
	root.SetOut(e.stdout)
	root.SetErr(e.stderr)
	cmd, err := root.ExecuteContextC(ctx)
	if err != nil && !a.entered {
		err = misread(err, cmd.CommandPath())
	}
	if err != nil && (errors.Is(err, trainer.ErrGone) || errors.Is(context.Cause(ctx), errHungUp)) {
		return exitFailure // whoever might be told has closed the window
	}
	if err != nil && ctx.Err() != nil {
		err = fail("answers already given are in the book", "stopped by a signal")
	}
	if err != nil && fault.Hint(err) == "" {
		err = fault.Wrap(err, fmt.Sprintf(`see "%s --help"`, cmd.CommandPath()))
	}
	return explain(e.stderr, err)
}

// errHungUp is why a run ends whose terminal was closed.
var errHungUp = errors.New("the terminal was closed")

// stoppable is the context of a run, which signals end.
func stoppable() (context.Context, func()) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	ctx, cancel := context.WithCancelCause(ctx)
	hung := make(chan os.Signal, 1)
	if !signal.Ignored(syscall.SIGHUP) { // as nohup asks
		signal.Notify(hung, syscall.SIGHUP)
	}
	go func() {
		select {
		case <-hung:
			cancel(errHungUp)
		case <-ctx.Done():
		}
	}()
	return ctx, func() { signal.Stop(hung); cancel(nil); stop() }
}
