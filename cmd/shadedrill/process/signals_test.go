//go:build unix

package process

import (
	"bufio"
	"os"
	"os/exec"
	"os/signal"
	"syscall"
	"testing"
	"time"
)

// A run that does not end when it is told to can be ended from the keyboard, with a
// second Ctrl-C, and by nothing else that a closed window sends twice.
func TestASecondInterruptEndsWhatDoesNotEnd(t *testing.T) {
	if os.Getenv("SHADEDRILL_STUBBORN") != "" {
		ctx, stop := Stoppable()
		defer stop()
		os.Stdout.WriteString("ready\n")
		<-ctx.Done()
		os.Stdout.WriteString("told\n")
		time.Sleep(time.Minute)
		return
	}
	// Whoever runs the tests in the background has these ignored, and a child inherits that.
	if signal.Ignored(syscall.SIGINT) || signal.Ignored(syscall.SIGHUP) {
		heard := make(chan os.Signal, 8)
		signal.Notify(heard, syscall.SIGINT, syscall.SIGHUP)
		defer signal.Stop(heard)
	}
	for _, first := range []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP} {
		c := exec.Command(os.Args[0], "-test.run", t.Name())
		c.Env = append(os.Environ(), "SHADEDRILL_STUBBORN=1")
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		lines.Scan()
		c.Process.Signal(first)
		if lines.Scan(); lines.Text() != "told" {
			t.Fatalf("%v: the run says %q", first, lines.Text())
		}
		for _, further := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP} {
			c.Process.Signal(further)
		}
		c.Process.Signal(syscall.SIGINT)
		c.Wait()
		if s := c.ProcessState.Sys().(syscall.WaitStatus); !s.Signaled() || s.Signal() != syscall.SIGINT {
			t.Errorf("after %v and an interrupt: %v", first, c.ProcessState)
		}
	}
}
