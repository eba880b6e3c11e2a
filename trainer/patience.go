package trainer

import (
	"sync"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/trainer/draw"
)

// patience is how long nothing may happen after a key before the screen says why.
// House choice: about what a person takes for a key that was not felt.
const patience = 700 * time.Millisecond

const unanswered = "One moment, please: the book has not answered yet. Nothing is lost."

// watch looks over the handling of one event.
type watch struct {
	mu    sync.Mutex
	timer *time.Timer
	over  bool
	said  bool // that the book has not answered
}

// patiently handles an event. When that takes long, since the book is far away or cannot
// be reached, the message line says so meanwhile: the loop itself stands still. No page
// draws while it handles an event, so the line is all that is drawn then.
func (a *app) patiently(ev tcell.Event) {
	if _, ok := ev.(*tcell.EventResize); ok { // this alone draws, and asks no book
		a.handle(ev)
		return
	}
	w := &watch{}
	a.watch = w
	defer func() {
		w.end()
		if w.said {
			a.counted = false // the line is painted over
		}
	}()
	w.timer = time.AfterFunc(patience, a.guarded(func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		if !w.over {
			w.said = a.drawMessage(unanswered)
		}
	}))
	a.handle(ev)
}

// end waits until nothing is drawn, and nothing is any more.
func (w *watch) end() {
	w.timer.Stop()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.over = true
}

// drawMessage paints the message line of the picture that is shown anew, and nothing
// else; false where the picture has none.
func (a *app) drawMessage(text string) bool {
	if a.line == (draw.Rect{}) || !a.canvas.Row(a.line.Y) {
		return false
	}
	a.canvas.Write(a.line.X+draw.Margin, a.line.Y, text, a.canvas.Tone.Strong, false)
	a.canvas.End()
	return true
}
