//go:build unix

package trainer

import (
	"os"
	"os/signal"
	"syscall"
	"time"
)

// setAside stops this job as Ctrl-Z does in a terminal that reads lines, every
// process of it, and returns when the shell has called it back.
var setAside = func() {
	back := make(chan os.Signal, 1)
	signal.Notify(back, syscall.SIGCONT)
	defer signal.Stop(back)
	if syscall.Kill(0, syscall.SIGTSTP) != nil {
		return
	}
	select {
	case <-back:
	case <-time.After(time.Second): // without a shell above it nothing was stopped
	}
}
