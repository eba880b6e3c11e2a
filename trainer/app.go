package trainer

import (
	"context"
	"fmt"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// page is one screen of the program. Pages lie on a stack; the top one is seen
// and gets the keys.
type page interface {
	// title is what stands at the upper left and right.
	title() (left, right string)
	// body paints the page between title and foot.
	body(c *draw.Canvas, in draw.Rect)
	// keys lists every key that does something now.
	keys() []draw.KeyHelp
	// key handles a key; false says that it has no use here.
	key(k string) bool
	// pick handles a click on item i.
	pick(i int)
}

// timed is a page on which something happens by itself.
type timed interface {
	// due is when the page next wants to be woken; ok is false for never.
	due(now time.Time) (at time.Time, ok bool)
	// tick is called when that time has come.
	tick(now time.Time)
}

// pausing is a page that is told when it is covered and uncovered, by another
// page or by a window that is too small.
type pausing interface {
	pause(now time.Time)
	resume(now time.Time)
}

// counting is a page on which, as long as counts says so, nothing but the seconds in the
// title changes by itself: a class that looks at something at once has hundreds of these
// pictures a second.
type counting interface{ counts() bool }

// typing is a page that takes text.
type typing interface{ typed(text string) }

// bare is a page that paints the whole screen itself.
type bare interface{ bare() bool }

// roomed is a page with a ground of its own.
type roomed interface{ room() colour.SRGB }

// usualRoom is the grey of all pages but the drill, whose surround can be set.
var usualRoom = exercises.DefaultViewing().Surround

// The least window in which everything can be shown.
const (
	leastWidth  = 80
	leastHeight = 24
)

// app is the running trainer. Only the loop's goroutine touches it.
type app struct {
	ctx    context.Context
	cfg    Config
	screen tcell.Screen
	canvas *draw.Canvas

	pages    []page
	message  string
	line     draw.Rect // where it stands in the picture that is shown; empty where there is none
	watch    *watch    // over the event that is handled
	cancel   func()    // of the pending alarm
	alarm    time.Time
	cramped  bool // the window is too small
	counted  bool // of what is shown only the seconds in the title have changed since
	stage    stage
	scene    uint64
	foot     []draw.KeyHelp // the keys told last
	footKeys []Key          // and what they are to a listener
	way      time.Duration  // of the event that is handled
	pace     pace
	held     tcell.ButtonMask
	done     bool
	err      error

	learner   scoring.Learner
	newcomer  bool // at the first drill ever
	cautioned bool // who is here has read the cautions
	check     scoring.DisplayCheck
	viewing   exercises.Viewing
	count     int
	targets   exercises.Targets
	shelf     *shelf
	library   int         // on the shelf
	drills    int         // begun in this run, for seeds
	minutes   int         // of a day's plan
	following bool        // the drill under way is one of today's plan
	planDay   time.Time   // on which that plan was begun
	set       scoring.Set // the one taken last, whose further parts follow
}

func newApp(ctx context.Context, screen tcell.Screen, cfg Config) (*app, error) {
	a := &app{ctx: ctx, cfg: cfg, screen: screen, canvas: draw.NewCanvas(screen),
		viewing: exercises.DefaultViewing(), count: usualCount, minutes: exercises.PlanMinutes[0], targets: exercises.NaturalTargets}
	var err error
	if a.shelf, err = newShelf(cfg.Libraries); err != nil {
		return nil, err
	}
	a.begin()
	return a, nil
}

func (a *app) now() time.Time { return a.cfg.Clock() }

// loop draws, waits, handles, until somebody leaves.
func (a *app) loop() error {
	defer a.disarm()
	for !a.done {
		if !a.counted || !a.drawTitle() {
			a.draw()
		}
		a.counted = true
		a.arm()
		// What came in meanwhile is handled before the next picture, but a flood
		// of events must not stop the picture altogether.
		for n := 0; n == 0 || n < 65 && !a.done && a.screen.HasPendingEvent(); n++ {
			ev := a.screen.PollEvent()
			if ev == nil {
				return ErrGone
			}
			a.patiently(ev)
		}
	}
	return a.err
}

// Struck is a key or a click of a screen that knows more of its time than tcell does.
type Struck struct {
	tcell.Event
	// At is when it came, by the trainer's clock.
	At time.Time
	// Way is what the picture and the key took between the trainer and the person. It is
	// taken off what an answer took. Whether a key comes too soon to be meant is not
	// judged by it: it may be told too long where the machine is busy, and nobody who has
	// looked is to be called hasty.
	Way time.Duration
}

func (s *Struck) When() time.Time { return s.At }

func (a *app) handle(ev tcell.Event) {
	at := ev.When()
	a.way = 0
	_, woken := ev.(*wake)
	before := a.top()
	counted := a.counted && woken && counts(before)
	defer func() { a.counted = counted && !a.done && a.top() == before && counts(before) }()
	if s, ok := ev.(*Struck); ok {
		a.way, ev = s.Way, s.Event
	}
	switch ev := ev.(type) {
	case *tcell.EventResize:
		a.canvas.Forget()
		a.screen.Sync()
	case *tcell.EventKey:
		a.keyPressed(ev, at)
		a.turned(a.pace.last)
	case *tcell.EventMouse:
		a.mouse(ev, at)
	case *wake:
		switch {
		case ev.broken != nil:
			a.quit(ev.broken)
		case ev.left:
			a.quit(context.Cause(a.ctx))
		}
	case *tcell.EventError: // nothing more can be read from the terminal
		a.quit(fmt.Errorf("%w (%w)", ErrGone, ev))
	}
	a.tick()
	a.turned("")
}

func counts(p page) bool {
	c, ok := p.(counting)
	return ok && c.counts()
}

// setAside gives the terminal back to the shell until that calls the program again.
// Clocks stand meanwhile.
func (a *app) setAside() {
	a.watch.end()
	a.pauseTop()
	if err := a.screen.Suspend(); err != nil {
		a.quit(fmt.Errorf("the terminal cannot be given back: %w", err))
		return
	}
	a.cfg.setAside()
	if err := a.screen.Resume(); err != nil {
		a.quit(fmt.Errorf("%w (%w)", ErrGone, err))
		return
	}
	a.canvas.Forget()
	a.resumeTop()
}

func (a *app) quit(err error) { a.done, a.err = true, err }

func (a *app) tick() {
	if a.done || a.cramped {
		return
	}
	if t, ok := a.top().(timed); ok {
		now := a.now()
		if at, ok := t.due(now); ok && !at.After(now) {
			t.tick(now)
		}
	}
}

// arm sets one alarm for the top page, and none when nothing is timed.
func (a *app) arm() {
	t, ok := a.top().(timed)
	var at time.Time
	if ok && !a.cramped {
		at, ok = t.due(a.now())
	}
	if !ok || a.cramped {
		a.disarm()
		return
	}
	if a.cancel != nil && a.alarm.Equal(at) && at.After(a.now()) {
		return
	}
	a.disarm()
	a.alarm = at
	a.cancel = a.cfg.After(max(0, at.Sub(a.now())), a.guarded(func() { post(a.screen, &wake{}) }))
}

func (a *app) disarm() {
	if a.cancel != nil {
		a.cancel()
		a.cancel = nil
	}
}

func (a *app) top() page { return a.pages[len(a.pages)-1] }

func (a *app) push(p page) {
	if len(a.pages) > 0 {
		a.pauseTop()
	}
	a.pages = append(a.pages, p)
	a.message = ""
}

func (a *app) pop() {
	a.pages = a.pages[:len(a.pages)-1]
	a.message = ""
	if len(a.pages) == 0 {
		a.quit(nil)
		return
	}
	a.resumeTop()
}

func (a *app) pauseTop() {
	if p, ok := a.top().(pausing); ok {
		p.pause(a.now())
	}
}

func (a *app) resumeTop() {
	if p, ok := a.top().(pausing); ok && !a.cramped {
		p.resume(a.now())
	}
}

// say shows one line until the next key.
func (a *app) say(text string) { a.message = text }

func (a *app) keyPressed(ev *tcell.EventKey, at time.Time) {
	name, text := draw.KeyName(ev)
	switch name {
	case "ctrl-c", "ctrl+c":
		a.quit(nil)
		return
	case "ctrl-z", "ctrl+z":
		if a.cfg.setAside != nil {
			a.setAside()
			return
		}
	}
	a.strike(name, at)
	if a.cramped {
		if name == "q" {
			a.quit(nil)
		}
		return
	}
	a.message = ""
	if a.tooSoon(name, at) {
		a.say(hasty)
		return
	}
	if t, ok := a.top().(typing); ok && text != "" {
		t.typed(text)
		return
	}
	a.press(name)
}

func (a *app) press(name string) {
	if a.top().key(name) || a.done {
		return
	}
	if name == "?" {
		a.push(&helpPage{app: a, under: a.top()})
		return
	}
	if name == "g" {
		a.push(&glossaryPage{app: a})
		return
	}
	if a.message == "" {
		a.say(nothing(name))
	}
}

// mouse acts when the button goes down; drags and releases say nothing more.
func (a *app) mouse(ev *tcell.EventMouse, at time.Time) {
	pressed := ev.Buttons() &^ a.held
	a.held = ev.Buttons() & (tcell.ButtonPrimary | tcell.ButtonSecondary | tcell.ButtonMiddle)
	if a.cramped {
		return
	}
	switch {
	case pressed&tcell.WheelUp != 0:
		a.wheel("up")
	case pressed&tcell.WheelDown != 0:
		a.wheel("down")
	case pressed&tcell.ButtonPrimary != 0:
		z, ok := a.canvas.At(ev.Position())
		if !ok {
			return
		}
		a.message = ""
		if a.tooSoon("", at) {
			a.say(hasty)
			return
		}
		a.pace.held = false
		if z.Key != "" {
			a.press(z.Key)
		} else {
			a.top().pick(z.Item)
		}
	}
}

// wheel turns like the arrows where a page uses them, and is quiet elsewhere.
func (a *app) wheel(key string) {
	a.message = ""
	a.top().key(key)
}

// nothing says that a key has no use here.
func nothing(key string) string {
	return fmt.Sprintf("The key %s does nothing here. The keys that do are shown below.", keyWords(key))
}

func keyWords(key string) string {
	if len([]rune(key)) == 1 {
		return "“" + key + "”"
	}
	if arrow, ok := map[string]string{"left": "←", "right": "→", "up": "↑", "down": "↓", "enter": "↵", "backspace": "⌫"}[key]; ok {
		return arrow
	}
	return draw.UpperFirst(key)
}
