// Package trainer is the terminal program: the screens on which a person
// practises. It draws, times and asks; what to ask next comes from exercises,
// how well it went from scoring, and every answer goes into the book before its
// feedback is drawn.
package trainer

import (
	"cmp"
	"context"
	crypto "crypto/rand"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"runtime"
	"runtime/debug"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/display"
)

// Config is what the trainer needs from outside.
type Config struct {
	Book record.Book
	// RescueInto are folders for a new book where a book that was taken away while it
	// was open can be written to no place beside its old one.
	RescueInto []string
	// Clock tells the time; nil is time.Now.
	Clock func() time.Time
	// After calls f once after d and returns what cancels it; nil is
	// time.AfterFunc. f may be called from any goroutine.
	After func(d time.Duration, f func()) (cancel func())
	// System is what the person's screen belongs to: a GOOS, or display.Browser;
	// empty is the one that the program runs on.
	System string
	// Getenv looks up the environment of the person's terminal; nil is os.Getenv.
	Getenv func(string) string
	// Seed fixes the trials of the first drill, the next has Seed+1 and so on;
	// nil takes a new one each time.
	Seed *uint64
	// Chance is what forms of the test are drawn by; nil is the system's.
	Chance io.Reader
	// Learner names who practises; empty asks. A name that the book does not
	// know is entered.
	Learner string
	// Person, when not empty, is who practises and nobody else: they have signed in.
	// It takes the place of Learner.
	Person scoring.LearnerID
	// Display names the screen that the person looks at: a display check holds as long
	// as the name is the same. nil asks the environment.
	Display func() string
	// Check is a display check from before that no sitting holds; Checked, when not nil,
	// is told of each new one.
	Check   scoring.DisplayCheck
	Checked func(scoring.DisplayCheck)
	// Libraries are the tab libraries to choose from, the first is the usual one;
	// nil is the built-in ones.
	Libraries []*tabs.Library
	// LibraryChosen keeps to the first library, whatever the learner last had.
	LibraryChosen bool
	// Viewing overrides how a drill is looked at; nil keeps what the learner
	// last had, or the default.
	Viewing *exercises.Viewing
	// Count is the number of trials of a drill; 0 keeps what the learner last had.
	Count int
	// Minutes is how long today's plan is; 0 keeps what the learner has set.
	Minutes int
	// Again begins a drill of the learner's own mistakes instead of the menu.
	Again bool
	// Start, when not nil, begins this drill without the menu. Where its Seed,
	// Count, Viewing or Sheet are zero the trainer fills them in.
	Start *exercises.Setup
	// Set, when not nil, begins this assignment, calibration session or test without
	// the menu, or goes on with it. It takes the place of Start.
	Set *scoring.Set
	// Today opens the day's plan instead of the menu.
	Today bool
	// DisplayOnly shows the display check and nothing else.
	DisplayOnly bool
	// SkipWelcome leaves out the welcome, SkipDisplay the display check.
	SkipWelcome, SkipDisplay bool

	// setAside stops the process until it is called back; nil where there is no
	// shell that could do so.
	setAside func()
}

// Run shows the trainer on a screen that has not been initialised yet, until
// the person leaves or ctx ends; in both cases the terminal is as it was
// before. Answers given are in the book at any moment; a drill that was under
// way stays unfinished there and is offered again next time. Run returns nil
// when the person left, context.Cause when ctx ended, a [fault.Error] when
// the terminal cannot show the colours, ErrGone when it was closed, and an error
// for anything that broke.
func Run(ctx context.Context, screen tcell.Screen, cfg Config) (err error) {
	cfg = cfg.filled()
	// What the environment alone rules out is said before the screen is touched.
	if err := display.Refuse(cfg.System, cfg.Getenv, display.Depth); err != nil {
		return err
	}
	if err := screen.Init(); err != nil {
		return fault.Wrap(fmt.Errorf("the terminal cannot be opened: %w", err), "start shadedrill in a terminal window; reports, such as shadedrill progress, need none")
	}
	defer screen.Fini()
	if err := display.Refuse(cfg.System, cfg.Getenv, screen.Colors()); err != nil {
		return err
	}
	registerFallbacks(screen)
	screen.EnableMouse(tcell.MouseButtonEvents)
	screen.HideCursor()
	var a *app
	err = unbroken(func() (err error) {
		if a, err = newApp(ctx, screen, cfg); err != nil {
			return err
		}
		stop := context.AfterFunc(ctx, a.guarded(func() { post(screen, &wake{left: true}) }))
		defer stop()
		return a.loop()
	})
	if a != nil {
		if lost := unbroken(a.sendUnsent); lost != nil && err == nil {
			err = lost
		}
	}
	return err
}

// ErrGone is what Run returns when the terminal can no longer be read, mostly
// since its window was closed. There may be nobody left to be told.
var ErrGone = errors.New("the terminal was closed")

// Broken is a panic turned into an error.
type Broken struct {
	What  any
	Stack []byte
}

func (b *Broken) Error() string {
	return fmt.Sprintf("the trainer broke: %v (answers already given are in the book)", b.What)
}

// unbroken runs f and turns a panic into an error: it must leave neither a terminal
// without echo behind nor an answer that waits to be written.
func unbroken(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &Broken{What: p, Stack: debug.Stack()}
		}
	}()
	return f()
}

// guarded is f for another goroutine than the loop's: a panic in it ends the trainer
// as one in the loop does, and not the process.
func (a *app) guarded(f func()) func() {
	return func() {
		if err := unbroken(func() error { f(); return nil }); err != nil {
			post(a.screen, &wake{broken: err})
		}
	}
}

func (c Config) filled() Config {
	if c.Clock == nil {
		c.Clock = time.Now
	}
	if c.After == nil {
		c.After = func(d time.Duration, f func()) func() {
			t := time.AfterFunc(d, f)
			return func() { t.Stop() }
		}
	}
	if c.Chance == nil {
		c.Chance = crypto.Reader
	}
	c.System = cmp.Or(c.System, runtime.GOOS)
	if c.Getenv == nil {
		c.Getenv = os.Getenv
	}
	return c
}

// seed returns the seed of the n-th drill of this run.
func (c Config) seed(n int) uint64 {
	if c.Seed != nil {
		return *c.Seed + uint64(n)
	}
	return rand.Uint64()
}

// wake is an event of our own: time has passed, ctx has ended, or something broke
// beside the loop.
type wake struct {
	tcell.EventTime
	left   bool
	broken error
}

// post hands an event to the loop from another goroutine. The queue of a screen
// has an end; when it is full the loop is busy and the event is tried again.
func post(screen tcell.Screen, ev tcell.Event) {
	for range 1000 {
		if err := screen.PostEvent(ev); !errors.Is(err, tcell.ErrEventQFull) {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// registerFallbacks gives terminals without Unicode something readable.
func registerFallbacks(screen tcell.Screen) {
	for r, s := range map[rune]string{'Δ': "d", '·': "-", '↵': "Enter", '…': "...", '°': "deg", '“': "\"", '”': "\"",
		'–': "-", '−': "-", '≤': "<=", '━': "-", '╺': "-", '╸': "-", '▌': "|", '┃': "|", '×': "x", '’': "'", '─': "-", '▸': ">", '⌫': "Backspace"} {
		screen.RegisterRuneFallback(r, s)
	}
}
