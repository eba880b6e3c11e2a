// Package trainertest is a small language for testing screens: press keys, click,
// let time pass, and read what a person would see, text and exact colours.
//
// The trainer runs as it does for a person, in its own loop, against a screen in
// memory and a clock that stands still until it is told to move. Every call
// returns when the trainer has drawn and waits for the next event, so a test
// never sleeps and never sees half a picture.
package trainertest

import (
	"sync"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/trainer"
)

// screen is tcell's simulation with an event queue that tells when the trainer
// has nothing left to do, with cells of its own, and with a copy of each picture
// shown. The simulation encodes every cell for a terminal that nobody reads.
type screen struct {
	tcell.SimulationScreen
	colours int

	// Of the trainer's goroutine: what it has put, and how wide a sign is.
	next    []cell
	nw, nh  int
	scratch tcell.CellBuffer

	mu      sync.Mutex
	change  *sync.Cond
	queue   []tcell.Event
	waiting bool // the trainer waits for an event
	gone    bool // the screen was closed
	cells   []cell
	w, h    int
	shows   int
	told    trainer.Telling
}

// cell holds a sign, or nothing where none was put or where that to the left of it is
// two columns wide.
type cell struct {
	sign  string
	style tcell.Style
}

// Told takes what stands beside the next picture.
func (s *screen) Told(t trainer.Telling) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.told = t
}

// setSize is an event that the trainer's own goroutine carries out, so that
// nobody draws meanwhile.
type setSize struct {
	tcell.EventTime
	w, h int
}

func newScreen(w, h, colours int) *screen {
	s := &screen{SimulationScreen: tcell.NewSimulationScreen("UTF-8"), colours: colours, w: w, h: h}
	s.change = sync.NewCond(&s.mu)
	s.scratch.Resize(2, 1)
	return s
}

func (s *screen) Init() error {
	if err := s.SimulationScreen.Init(); err != nil {
		return err
	}
	s.resize(s.w, s.h)
	return nil
}

func (s *screen) resize(w, h int) { s.next, s.nw, s.nh = make([]cell, w*h), w, h }

func (s *screen) Size() (w, h int) { return s.nw, s.nh }

// Put writes one sign.
func (s *screen) Put(x, y int, text string, style tcell.Style) (rest string, width int) {
	if len(text) == 1 {
		width = 1
	} else {
		rest, width = s.scratch.Put(0, 0, text, style)
	}
	if x >= 0 && x < s.nw && y >= 0 && y < s.nh {
		s.next[y*s.nw+x] = cell{text[:len(text)-len(rest)], style}
		if width == 2 && x+1 < s.nw {
			s.next[y*s.nw+x+1] = cell{"", style}
		}
	}
	return rest, width
}

// Sync has nothing to repair.
func (s *screen) Sync() {}

func (s *screen) Colors() int { return s.colours }

func (s *screen) Fini() {
	s.SimulationScreen.Fini()
	s.close()
}

func (s *screen) close() {
	s.mu.Lock()
	s.gone = true
	s.change.Broadcast()
	s.mu.Unlock()
}

func (s *screen) PollEvent() tcell.Event {
	s.mu.Lock()
	for len(s.queue) == 0 && !s.gone {
		s.waiting = true
		s.change.Broadcast()
		s.change.Wait()
	}
	s.waiting = false
	if s.gone {
		s.mu.Unlock()
		return nil
	}
	ev := s.queue[0]
	s.queue = s.queue[1:]
	s.mu.Unlock()
	if size, ok := ev.(*setSize); ok {
		s.resize(size.w, size.h)
		return tcell.NewEventResize(size.w, size.h)
	}
	return ev
}

func (s *screen) HasPendingEvent() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.queue) > 0
}

func (s *screen) PostEvent(ev tcell.Event) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.queue = append(s.queue, ev)
	s.change.Broadcast()
	return nil
}

// Show keeps a copy of what is shown: the other cells belong to the trainer's
// goroutine.
func (s *screen) Show() {
	s.mu.Lock()
	s.cells, s.w, s.h = append(s.cells[:0], s.next...), s.nw, s.nh
	s.shows++
	s.mu.Unlock()
}

// settle waits until the trainer has handled everything, and reports false when
// it has closed the screen. A trainer that hangs is the test binary's time-out.
func (s *screen) settle() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	for !s.gone && !(s.waiting && len(s.queue) == 0) {
		s.change.Wait()
	}
	return !s.gone
}

// clock stands still until it is moved, and rings alarms on the way.
type clock struct {
	mu     sync.Mutex
	now    time.Time
	alarms map[int]alarm
	next   int
}

type alarm struct {
	at   time.Time
	ring func()
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// After sets an alarm, as Config.After wants it.
func (c *clock) After(d time.Duration, ring func()) func() {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := c.next
	c.next++
	if c.alarms == nil {
		c.alarms = map[int]alarm{}
	}
	c.alarms[n] = alarm{c.now.Add(d), ring}
	return func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		delete(c.alarms, n)
	}
}

// toNext moves to the next alarm up to a time and returns it; without one it
// moves to the time and returns nil.
func (c *clock) toNext(until time.Time) func() {
	c.mu.Lock()
	defer c.mu.Unlock()
	first := -1
	for n, a := range c.alarms {
		if !a.at.After(until) && (first < 0 || a.at.Before(c.alarms[first].at)) {
			first = n
		}
	}
	if first < 0 {
		c.now = until
		return nil
	}
	a := c.alarms[first]
	delete(c.alarms, first)
	if a.at.After(c.now) {
		c.now = a.at
	}
	return a.ring
}
