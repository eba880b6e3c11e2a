// Package web shows the trainer in a browser: a tcell.Screen whose cells go to a
// page over a WebSocket, and the page. The trainer runs on it as it runs in a
// terminal.
//
// A Screen outlives its sockets. Without a page it is a window of one cell: the
// trainer says that it is too small and stops its clocks, and the trial stands there
// when a page comes back.
package web

import (
	"slices"
	"sync"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/trainer"
	"shadedrill/trainer/draw"
)

// Options are what a server chooses for a screen.
type Options struct {
	// Keep is how long a trainer goes on without a page; 0 is five minutes.
	Keep time.Duration
	// Clock is the trainer's clock, by which a key was struck; nil is time.Now.
	Clock func() time.Time
	// Shown, when not nil, is called with what a page says of its display, from
	// the goroutine that reads the socket.
	Shown func(Shown)
}

const usualKeep = 5 * time.Minute

// Screen is a tcell.Screen in a browser. The methods of tcell.Screen belong to the
// trainer, the others may be called from any goroutine.
//
// A picture is what stands there between two calls of Show. The page gets it when it
// has drawn the one before: what came in between it never sees, and a page that does
// not draw costs nothing but its last picture.
type Screen struct {
	options Options

	mu    sync.Mutex
	event *sync.Cond // something for PollEvent, or room for an input
	cells cells

	// The picture.
	drawing  bool // it is being changed: not to be sent
	whole    bool // the page has none of it
	number   uint32
	telling  trainer.Telling
	keysNew  bool
	sceneNew bool          // its first picture is to be sent even if it looks like the last
	changed  time.Time     // when the scene was first shown, until it is sent
	held     time.Duration // how long the present scene waited to be sent

	// Inputs that were made before these pictures are refused.
	sceneFirst, sizeFirst uint32
	refused               int
	refusedNew            bool

	link     *link // the page, if there is one
	posted   []tcell.Event
	inputs   []message
	resized  time.Time // when a size was last taken over
	deferred bool      // a size waits for its time
	idle     *time.Timer
	ended    bool
	goodbye  closing
	shown    *Shown
	stats    Stats
}

// Stats count since the screen was made.
type Stats struct {
	Pictures int // sent
	Bytes    int // of them
	Inputs   int // handed to the trainer
	Refused  int // since their scene was over
	Links    int // pages that came, one after the other
}

var (
	_ trainer.Listener = (*Screen)(nil)
	_ draw.Blanker     = (*Screen)(nil)
)

// New makes a screen that nobody looks at yet.
func New(o Options) *Screen {
	if o.Keep <= 0 {
		o.Keep = usualKeep
	}
	if o.Clock == nil {
		o.Clock = time.Now
	}
	s := &Screen{options: o}
	s.event = sync.NewCond(&s.mu)
	s.cells.resize(1, 1)
	s.drawing = true // nothing was shown
	return s
}

// mostPosted bounds the trainer's own events, mostInputs what a page has sent and
// the trainer has not yet read; then the socket waits.
const (
	mostPosted = 64
	mostInputs = 256
)

// Init begins to wait for a page.
func (s *Screen) Init() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.link == nil {
		s.waitForPage()
	}
	return nil
}

// Fini ends the screen; the page is told.
func (s *Screen) Fini() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.ended = true
	if s.idle != nil {
		s.idle.Stop()
	}
	if s.link != nil {
		s.drop(s.link, s.goodbye.or(closing{CloseEnded, "the trainer has ended"}))
	}
	s.event.Broadcast()
}

// Size is the size that the last resize event told of.
func (s *Screen) Size() (w, h int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.cells.w, s.cells.h
}

// Put writes one sign.
func (s *Screen) Put(x, y int, text string, style tcell.Style) (rest string, width int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.drawing = true
	return s.cells.put(x, y, text, style)
}

// Blank empties cells of a row, as Put does one by one.
func (s *Screen) Blank(x, y, n int, ground colour.SRGB) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.drawing = true
	s.cells.blank(x, y, n, rgb{ground.R, ground.G, ground.B})
}

// Told takes what stands beside the next picture.
func (s *Screen) Told(t trainer.Telling) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if t.Typing != s.telling.Typing || !slices.Equal(t.Keys, s.telling.Keys) {
		s.keysNew, s.drawing = true, true
	}
	if t.Scene != s.telling.Scene {
		// The next picture that is sent is the first of this scene, since none is
		// sent while one is drawn.
		s.drawing, s.sceneNew = true, true
		s.sceneFirst = s.number + 1
		s.changed = time.Now()
	}
	s.telling = t
}

// Show makes what was put the picture.
func (s *Screen) Show() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.drawing = false
	s.wakeWriter()
}

// Sync sends the whole picture again.
func (s *Screen) Sync() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.whole = true
	s.wakeWriter()
}

func (s *Screen) wakeWriter() {
	if s.link != nil {
		s.link.wake()
	}
}

// PollEvent waits for the next event; nil means that the screen has ended or that
// no page came back.
//
// A new size comes before the inputs that wait, and before it at most one resize
// event, whatever number of sizes the page has sent. That a page is gone comes after
// what it has sent.
func (s *Screen) PollEvent() tcell.Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	for !s.ended {
		if len(s.posted) > 0 {
			ev := s.posted[0]
			s.posted = slices.Delete(s.posted, 0, 1)
			return ev
		}
		if ev := s.newSize(); ev != nil {
			return ev
		}
		if len(s.inputs) > 0 {
			m := s.inputs[0]
			s.inputs = slices.Delete(s.inputs, 0, 1)
			s.event.Broadcast() // there is room
			if ev := s.taken(m); ev != nil {
				return ev
			}
			continue
		}
		s.event.Wait()
	}
	return nil
}

// taken turns an input into an event, or refuses one that was meant for a scene
// that is over, or for places that have moved.
func (s *Screen) taken(m message) tcell.Event {
	released := m.kind == msgMouse && m.buttons == 0 // means nothing, but must not be missed
	if late := m.picture < s.sceneFirst || m.kind == msgMouse && m.picture < s.sizeFirst; late && !released {
		s.refuse()
		return nil
	}
	s.stats.Inputs++
	struck := &trainer.Struck{Event: tcell.NewEventKey(m.key, m.char, m.mods), At: m.at, Way: s.way()}
	if m.kind == msgMouse {
		struck.Event = tcell.NewEventMouse(m.x, m.y, m.buttons, tcell.ModNone)
	}
	return struck
}

func (s *Screen) refuse() {
	s.stats.Refused++
	s.refused++
	s.refusedNew = true
	s.wakeWriter()
}

// HasPendingEvent says nothing of inputs, so that the trainer draws after each: what
// the next one may mean is known only then.
func (s *Screen) HasPendingEvent() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.posted) > 0
}

// PostEvent takes an event of the trainer's own.
func (s *Screen) PostEvent(ev tcell.Event) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.posted) >= mostPosted {
		return tcell.ErrEventQFull
	}
	s.posted = append(s.posted, ev)
	s.event.Broadcast()
	return nil
}

// leastBetweenSizes holds back a page that changes its size without end: each new
// size is a whole picture.
const leastBetweenSizes = 50 * time.Millisecond

// newSize takes over the size of the page, or that of no page.
func (s *Screen) newSize() tcell.Event {
	w, h := 1, 1
	if s.link != nil {
		w, h = s.link.w, s.link.h
	} else if len(s.inputs) > 0 {
		return nil
	}
	if w == s.cells.w && h == s.cells.h {
		return nil
	}
	if wait := leastBetweenSizes - time.Since(s.resized); wait > 0 && s.link != nil && s.cells.w > 1 {
		if !s.deferred {
			s.deferred = true
			time.AfterFunc(wait, func() {
				s.mu.Lock()
				defer s.mu.Unlock()
				s.deferred = false
				s.event.Broadcast()
			})
		}
		return nil
	}
	s.resized = time.Now()
	s.cells.resize(w, h)
	s.whole, s.drawing = true, true
	s.sizeFirst = s.number + 1
	return tcell.NewEventResize(w, h)
}

// waitForPage ends the screen when no page comes for long.
func (s *Screen) waitForPage() {
	if s.idle != nil {
		s.idle.Stop()
	}
	s.idle = time.AfterFunc(s.options.Keep, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.link == nil {
			s.ended = true
			s.event.Broadcast()
		}
	})
}

// Watched reports whether a page shows the screen.
func (s *Screen) Watched() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.link != nil
}

// Ended reports whether the screen is over: the trainer has left it, or no page came
// for long.
func (s *Screen) Ended() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.ended
}

// Shown is what the last page said of its display; ok is false before it has.
func (s *Screen) Shown() (shown Shown, ok bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.shown == nil {
		return Shown{}, false
	}
	return *s.shown, true
}

// Stats are the counts so far.
func (s *Screen) Stats() Stats {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.stats
}
