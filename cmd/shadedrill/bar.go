package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"
)

// bar shows on standard error how far a long command has come, in one line that
// is drawn over. It is silent unless a person watches.
type bar struct {
	w       io.Writer // nil: nobody watches
	now     func() time.Time
	doing   string
	total   int64 // 0: not known
	unit    string
	scale   float64 // counts a unit
	done    int64
	drawn   time.Time
	visible bool
	mu      sync.Mutex // those who count may be several
}

const (
	barWidth = 30
	barPause = 100 * time.Millisecond // between two pictures
)

func (a *app) progressBar(total int, doing string) *bar {
	b := &bar{now: a.now, doing: doing, total: max(0, int64(total)), scale: 1}
	if a.watched && !a.flags.quiet && a.getenv("NO_COLOR") == "" {
		b.w = a.stderr
	}
	return b
}

// readingBar shows how much of a file has been read, where its size is known.
func (a *app) readingBar(in io.Reader, doing string) (*bar, io.Reader) {
	b := a.progressBar(0, doing)
	b.unit, b.scale = " MB", 1e6
	if f, ok := in.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
			b.total = info.Size()
		}
	}
	return b, io.TeeReader(in, b)
}

// Write counts what passes.
func (b *bar) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.set(b.done + int64(len(p)))
	return len(p), nil
}

// Set says how much is done.
func (b *bar) Set(n int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.set(int64(n))
}

// setOf says how much is done of how much.
func (b *bar) setOf(n, of int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.total = int64(of)
	b.set(int64(n))
}

func (b *bar) set(done int64) {
	b.done = done
	if b.w == nil || b.visible && b.now().Sub(b.drawn) < barPause {
		return
	}
	b.drawn, b.visible = b.now(), true
	// A picture that cannot be shown is nobody's loss.
	fmt.Fprintf(b.w, "\r\x1b[K%s", b.line())
}

func (b *bar) line() string {
	count := fmt.Sprintf("%.*f%s", b.decimals(), float64(b.done)/b.scale, b.unit)
	if b.total == 0 {
		return b.doing + "  " + count
	}
	share := min(1, float64(b.done)/float64(b.total))
	full := int(share * barWidth)
	return fmt.Sprintf("%s %3.0f %%  [%s%s]  %s of %.*f%s", b.doing, 100*share, strings.Repeat("=", full), strings.Repeat(" ", barWidth-full),
		count, b.decimals(), float64(b.total)/b.scale, b.unit)
}

func (b *bar) decimals() int {
	if b.scale == 1 {
		return 0
	}
	return 1
}

// Clear makes room for a line of text; the next Set draws the bar again.
func (b *bar) Clear() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.w != nil && b.visible {
		fmt.Fprint(b.w, "\r\x1b[K")
	}
	b.visible = false
}

// finish takes the bar away.
func (b *bar) finish() { b.Clear() }
