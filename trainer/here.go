package trainer

import (
	"context"
	"fmt"
	"runtime"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour/fault"
	"shadedrill/trainer/display"
)

// Refuse says why the environment alone rules the trainer out, before anything
// is opened; nil means that it may be tried.
func Refuse(getenv func(string) string) error {
	return display.Refuse(runtime.GOOS, getenv, display.Depth)
}

// RunHere is [Run] on the terminal that the program was started in.
func RunHere(ctx context.Context, cfg Config) error {
	cfg = cfg.filled()
	if err := Refuse(cfg.Getenv); err != nil {
		return err
	}
	screen, err := tcell.NewScreen()
	if err != nil {
		return fault.New(fmt.Sprintf("This terminal cannot be opened: %v.", err), "start shadedrill in a terminal window; TERM must name a terminal that is known here")
	}
	cfg.setAside = setAside
	return Run(ctx, screen, cfg)
}
