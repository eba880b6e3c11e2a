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
)

func main() { os.Exit(run(os.Args[1:], processEnv())) }

// run executes one command line. The command tree is built anew for every run,
// so that nothing survives from one to the next. It returns the exit code: 0,
// 1 for a failure, 2 for a command line that cannot be understood.
func run(args []string, e env) (code int) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	a := &app{env: e}
	root := newRoot(a)
	defer func() {
		if p := recover(); p != nil {
			code = explain(e.stderr, &defect{what: p, stack: debug.Stack(), show: e.getenv("SHADEDRILL_DEBUG") != ""})
		}
	}()
	defer a.close()
	root.SetArgs(args)
	root.SetIn(e.stdin)
	root.SetOut(e.stdout)
	root.SetErr(e.stderr)
	cmd, err := root.ExecuteContextC(ctx)
	if err != nil && !a.entered {
		err = &usage{err: err, command: cmd.CommandPath()}
	}
	if err != nil && ctx.Err() != nil {
		err = fail("answers already given are in the book", "stopped by a signal")
	}
	if _, knows := errors.AsType[hinted](err); err != nil && !knows {
		err = &failure{err, fmt.Sprintf(`see "%s --help"`, cmd.CommandPath())}
	}
	return explain(e.stderr, err)
}
