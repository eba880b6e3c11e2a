package told

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"
)

// Bar shows on standard error how far a long command has come, in one line that
// is drawn over. It is silent unless a person watches.
type Bar struct {
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

// NewBar is a bar of so many steps, 0 where nobody knows how many; w is nil where nobody
// watches.
func NewBar(w io.Writer, now func() time.Time, total int, doing string) *Bar {
	return &Bar{w: w, now: now, doing: doing, total: max(0, int64(total)), scale: 1}
}

// Watched says whether somebody sees it.
func (b *Bar) Watched() bool { return b.w != nil }

// Reading shows in MB how much of a file has been read, where its size is known, and
// returns the file that counts.
func (b *Bar) Reading(in io.Reader) io.Reader {
	b.unit, b.scale = " MB", 1e6
	if f, ok := in.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
			b.total = info.Size()
		}
	}
	return io.TeeReader(in, b)
}

// Write counts what passes.
func (b *Bar) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.set(b.done + int64(len(p)))
	return len(p), nil
}

// Set says how much is done.
func (b *Bar) Set(n int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.set(int64(n))
}

// SetOf says how much is done of how much.
func (b *Bar) SetOf(n, of int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.total = int64(of)
	b.set(int64(n))
}

func (b *Bar) set(done int64) {
	b.done = done
	if b.w == nil || b.visible && b.now().Sub(b.drawn) < barPause {
		return
	}
	b.drawn, b.visible = b.now(), true
	// A picture that cannot be shown is nobody's loss.
	fmt.Fprintf(b.w, "\r\x1b[K%s", b.line())
}

func (b *Bar) line() string {
	count := fmt.Sprintf("%.*f%s", b.decimals(), float64(b.done)/b.scale, b.unit)
	if b.total == 0 {
		return b.doing + "  " + count
	}
	share := min(1, float64(b.done)/float64(b.total))
	full := int(share * barWidth)
	return fmt.Sprintf("%s %3.0f %%  [%s%s]  %s of %.*f%s", b.doing, 100*share, strings.Repeat("=", full), strings.Repeat(" ", barWidth-full),
		count, b.decimals(), float64(b.total)/b.scale, b.unit)
}

func (b *Bar) decimals() int {
	if b.scale == 1 {
		return 0
	}
	return 1
}

// Clear makes room for a line of text; the next Set draws the bar again.
func (b *Bar) Clear() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.w != nil && b.visible {
		fmt.Fprint(b.w, "\r\x1b[K")
	}
	b.visible = false
}

// Finish takes the bar away.
func (b *Bar) Finish() { b.Clear() }
