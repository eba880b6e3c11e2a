package main

import (
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
)

// bar shows on standard error how far a long command has come. It is silent
// unless a person watches.
type bar struct{ inner *progressbar.ProgressBar }

func (a *app) progressBar(total int, doing string) bar {
	w := io.Discard
	if a.watched {
		w = a.stderr
	}
	return bar{progressbar.NewOptions(total,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetDescription(doing),
		progressbar.OptionShowCount(),
		progressbar.OptionSetWidth(30),
		progressbar.OptionThrottle(100e6),
		progressbar.OptionClearOnFinish(),
	)}
}

// readingBar shows how much of a file has been read, where its size is known.
func (a *app) readingBar(in io.Reader, doing string) (bar, io.Reader) {
	total := int64(-1)
	if f, ok := in.(*os.File); ok {
		if info, err := f.Stat(); err == nil && info.Mode().IsRegular() {
			total = info.Size()
		}
	}
	w := io.Discard
	if a.watched {
		w = a.stderr
	}
	b := bar{progressbar.NewOptions64(total,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetDescription(doing),
		progressbar.OptionShowBytes(true),
		progressbar.OptionSetWidth(30),
		progressbar.OptionThrottle(100e6),
		progressbar.OptionClearOnFinish(),
	)}
	return b, io.TeeReader(in, b.inner)
}

// Set says how much is done; an error of the bar is nobody's loss.
func (b bar) Set(n int) { _ = b.inner.Set(n) }

// Clear makes room for a line of text; the next Set draws the bar again.
func (b bar) Clear() { _ = b.inner.Clear() }

func (b bar) Finish() { _ = b.inner.Finish() }
