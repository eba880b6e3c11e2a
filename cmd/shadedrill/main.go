// Command shadedrill trains and measures the eye that takes a shade.
//
// The files: main.go and env.go are the doors to the world, root.go the command
// tree, and then one file a subcommand.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"syscall"
	"time"

	"shadedrill/cmd/shadedrill/process"
	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/fault"
	"shadedrill/scoring/reports/history"
	"shadedrill/trainer"
)

func main() { os.Exit(run(os.Args[1:], processEnv())) }

// run executes one command line. The command tree is built anew for every run,
// so that nothing survives from one to the next. It returns the exit code: 0,
// 1 for a failure, 2 for a command line that cannot be understood.
func run(args []string, e env) (code int) {
	ctx, stop := process.Stoppable()
	defer stop()
	out := &process.Written{To: e.stdout}
	e.stdout = out
	e.stdin = process.Listen(ctx, e.stdin)
	a := &app{env: e}
	root := newRoot(a)
	broke := func(with any, stack []byte) error {
		if e.getenv("SHADEDRILL_DEBUG") == "" {
			stack = nil
		}
		return told.Panicked(with, stack)
	}
	defer func() {
		if p := recover(); p != nil {
			code = told.Explain(e.stderr, e.errorWidth, broke(p, debug.Stack()))
		}
	}()
	defer a.close()
	root.SetArgs(args)
	root.SetIn(e.stdin)
	root.SetOut(e.stdout)
	root.SetErr(e.stderr)
	cmd, err := root.ExecuteContextC(ctx)
	if out.Failed != nil {
		err = told.Fail("make room, or write to another place", "standard output cannot be written to: %w", told.Reason(out.Failed))
	} else if err != nil && !a.entered {
		err = told.Misread(err, cmd.CommandPath())
	}
	if errors.Is(err, trainer.ErrGone) {
		select { // a terminal that ends and its signal come in either order
		case <-ctx.Done():
		case <-time.After(200 * time.Millisecond):
		}
	}
	stoppedBy, stopped := errors.AsType[process.Signalled](context.Cause(ctx))
	switch {
	case err == nil:
	case stopped && stoppedBy.Signal == syscall.SIGHUP:
		return stoppedBy.Code() // whoever might be told has closed the window
	case stopped:
		told.Explain(e.stderr, e.errorWidth, told.Fail("answers already given are in the book", "%v", stoppedBy))
		return stoppedBy.Code()
	case errors.Is(err, trainer.ErrGone):
		return told.ExitFailure
	}
	if b, ok := errors.AsType[*trainer.Broken](err); ok {
		err = broke(b.What, b.Stack)
	} else if p, ok := errors.AsType[*history.Panic](err); ok { // of one who helped with a report
		err = broke(p.Value, p.Stack)
	}
	if err != nil && fault.Hint(err) == "" {
		err = fault.Wrap(err, fmt.Sprintf(`see "%s --help"`, cmd.CommandPath()))
	}
	return told.Explain(e.stderr, e.errorWidth, err)
}
