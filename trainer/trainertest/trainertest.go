package trainertest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
)

// Start is when every test begins.
var Start = time.Date(2030, 1, 7, 20, 0, 0, 0, time.UTC)

// Trainer is a running trainer and the person before it.
type Trainer struct {
	t      testing.TB
	screen *screen
	clock  *clock
	stop   context.CancelCauseFunc
	result chan error
	err    error
	ended  bool
	key    time.Time // of the key pressed last
	way    time.Duration
}

// Options are what a test chooses apart from the trainer's configuration.
type Options struct {
	Width, Height int       // 100 × 30 when zero
	Colours       int       // 24 bits when zero
	At            time.Time // when it begins; [Start] when zero
}

// Run starts the trainer. Where the configuration has no book it gets an empty
// one in memory; clock and alarms are the test's, the environment a terminal
// with 24 bits.
func Run(t testing.TB, cfg trainer.Config, o Options) *Trainer {
	t.Helper()
	if o.Width == 0 {
		o.Width, o.Height = 100, 30
	}
	if o.Colours == 0 {
		o.Colours = 1 << 24
	}
	if o.At.IsZero() {
		o.At = Start
	}
	tt := &Trainer{t: t, screen: newScreen(o.Width, o.Height, o.Colours), clock: &clock{now: o.At}, result: make(chan error, 1)}
	if cfg.Book == nil {
		cfg.Book = record.NewMemory()
	}
	cfg.Clock, cfg.After = tt.clock.Now, tt.clock.After
	if cfg.Getenv == nil {
		cfg.Getenv = Env("TERM", "xterm-256color", "COLORTERM", "truecolor")
	}
	ctx, stop := context.WithCancelCause(context.Background())
	tt.stop = stop
	go func() {
		err := trainer.Run(ctx, tt.screen, cfg)
		tt.screen.close() // a refused terminal was never opened, so never closed either
		tt.result <- err
	}()
	t.Cleanup(func() {
		stop(errors.New("the test is over"))
		tt.wait()
	})
	tt.settle()
	return tt
}

// Env is an environment of name and value pairs.
func Env(pairs ...string) func(string) string {
	return func(name string) string {
		for i := 0; i+1 < len(pairs); i += 2 {
			if pairs[i] == name {
				return pairs[i+1]
			}
		}
		return ""
	}
}

func (tt *Trainer) settle() {
	if !tt.ended && !tt.screen.settle() {
		tt.wait()
	}
}

func (tt *Trainer) wait() {
	if !tt.ended {
		tt.err = <-tt.result
		tt.ended = true
	}
}

// Ended reports whether the trainer has returned, and with which error.
func (tt *Trainer) Ended() (bool, error) { return tt.ended, tt.err }

// Stop ends the trainer's context, as a signal or a closed window does.
func (tt *Trainer) Stop(why error) {
	tt.t.Helper()
	tt.stop(why)
	tt.wait()
}

// StopSoon ends the trainer's context and waits for nothing: what a book calls in
// a test of a window that is closed while the book is written to.
func (tt *Trainer) StopSoon(why error) { tt.stop(why) }

// Gone lets the terminal end, so that nothing can be read from it any more.
func (tt *Trainer) Gone() {
	tt.t.Helper()
	tt.post(tcell.NewEventError(io.EOF))
}

var keys = map[string]tcell.Key{
	"enter": tcell.KeyEnter, "left": tcell.KeyLeft, "right": tcell.KeyRight, "up": tcell.KeyUp, "down": tcell.KeyDown,
	"home": tcell.KeyHome, "end": tcell.KeyEnd, "page up": tcell.KeyPgUp, "page down": tcell.KeyPgDn,
	"backspace": tcell.KeyBackspace2, "delete": tcell.KeyDelete, "escape": tcell.KeyEscape, "tab": tcell.KeyTab, "ctrl-c": tcell.KeyCtrlC,
	"f5": tcell.KeyF5,
}

// calm is how long a person of a test looks before a key is pressed. The clock of the
// drill does not move meanwhile.
const calm = time.Second

// Press presses keys one after the other, "enter", "left", "space", "a", each after a
// calm look at the picture.
func (tt *Trainer) Press(names ...string) *Trainer {
	tt.t.Helper()
	return tt.press(calm, names)
}

// Hurry presses keys so fast after the picture, and after one another; the clock
// moves on as well.
func (tt *Trainer) Hurry(after time.Duration, names ...string) *Trainer {
	tt.t.Helper()
	for _, name := range names {
		tt.Advance(after)
		tt.key = tt.clock.Now()
		tt.press(0, []string{name})
	}
	return tt
}

// stamp is when the next key or click comes.
func (tt *Trainer) stamp(after time.Duration) time.Time {
	if now := tt.clock.Now(); now.After(tt.key) {
		tt.key = now
	}
	tt.key = tt.key.Add(after)
	return tt.key
}

func (tt *Trainer) press(after time.Duration, names []string) *Trainer {
	tt.t.Helper()
	for _, name := range names {
		var ev *tcell.EventKey
		switch k, ok := keys[name]; {
		case ok:
			ev = tcell.NewEventKey(k, 0, tcell.ModNone)
		case name == "space":
			ev = tcell.NewEventKey(tcell.KeyRune, ' ', tcell.ModNone)
		case len([]rune(name)) == 1:
			ev = tcell.NewEventKey(tcell.KeyRune, []rune(name)[0], tcell.ModNone)
		default:
			tt.t.Fatalf("trainertest knows no key %q", name)
		}
		tt.post(&trainer.Struck{Event: ev, At: tt.stamp(after), Way: tt.way})
	}
	return tt
}

// Far puts a way between the trainer and the person: so much of the time from picture
// to key is not theirs.
func (tt *Trainer) Far(way time.Duration) { tt.way = way }

// Type types a text.
func (tt *Trainer) Type(text string) *Trainer {
	tt.t.Helper()
	for _, r := range text {
		ev := tcell.NewEventKey(tcell.KeyRune, r, tcell.ModNone)
		tt.post(&trainer.Struck{Event: ev, At: tt.stamp(calm)})
	}
	return tt
}

// Click presses and releases the first mouse button over a cell.
func (tt *Trainer) Click(x, y int) *Trainer {
	tt.t.Helper()
	tt.post(&trainer.Struck{Event: tcell.NewEventMouse(x, y, tcell.Button1, tcell.ModNone), At: tt.stamp(calm)})
	if !tt.ended { // it was a line of a menu that leaves
		tt.post(tcell.NewEventMouse(x, y, tcell.ButtonNone, tcell.ModNone))
	}
	return tt
}

// Wheel turns the wheel up (-1) or down (+1).
func (tt *Trainer) Wheel(by int) *Trainer {
	tt.t.Helper()
	b := tcell.WheelDown
	if by < 0 {
		b = tcell.WheelUp
	}
	tt.post(tcell.NewEventMouse(0, 0, b, tcell.ModNone))
	return tt
}

// Resize gives the window another size.
func (tt *Trainer) Resize(w, h int) *Trainer {
	tt.t.Helper()
	tt.post(&setSize{w: w, h: h})
	return tt
}

// Advance lets time pass; alarms ring at their times on the way.
func (tt *Trainer) Advance(d time.Duration) *Trainer {
	tt.t.Helper()
	until := tt.clock.Now().Add(d)
	for {
		ring := tt.clock.toNext(until)
		if ring == nil {
			break
		}
		ring()
		tt.settle()
	}
	return tt
}

// Now is the time on the test's clock.
func (tt *Trainer) Now() time.Time { return tt.clock.Now() }

func (tt *Trainer) post(ev tcell.Event) {
	tt.t.Helper()
	if tt.ended {
		tt.t.Fatalf("the trainer has ended (%v)", tt.err)
	}
	tt.screen.PostEvent(ev)
	tt.settle()
}

// Size is the size of the window.
func (tt *Trainer) Size() (w, h int) {
	tt.screen.mu.Lock()
	defer tt.screen.mu.Unlock()
	return tt.screen.w, tt.screen.h
}

// Keys are those that do something now, as a page in a browser is told them.
func (tt *Trainer) Keys() []trainer.Key {
	tt.screen.mu.Lock()
	defer tt.screen.mu.Unlock()
	return tt.screen.told.Keys
}

// Text is everything on the screen as text, one line a row, spaces at the ends
// of rows cut off.
func (tt *Trainer) Text() string {
	tt.screen.mu.Lock()
	defer tt.screen.mu.Unlock()
	var b strings.Builder
	for y := range tt.screen.h {
		b.WriteString(strings.TrimRight(tt.row(y), " "))
		b.WriteByte('\n')
	}
	return b.String()
}

func (tt *Trainer) row(y int) string {
	var b strings.Builder
	for x := range tt.screen.w {
		if i := y*tt.screen.w + x; i < len(tt.screen.cells) && tt.screen.cells[i].sign != "" {
			b.WriteString(tt.screen.cells[i].sign)
		} else {
			b.WriteByte(' ')
		}
	}
	return b.String()
}

// Shows reports whether a text stands on the screen, line breaks counting as
// spaces.
func (tt *Trainer) Shows(text string) bool {
	flat := strings.Join(strings.Fields(tt.Text()), " ")
	return strings.Contains(flat, strings.Join(strings.Fields(text), " "))
}

// Expect fails the test unless every text stands on the screen.
func (tt *Trainer) Expect(texts ...string) *Trainer {
	tt.t.Helper()
	for _, text := range texts {
		if !tt.Shows(text) {
			tt.t.Fatalf("the screen does not show %q:\n%s", text, tt.Text())
		}
	}
	return tt
}

// ExpectNot fails the test when one of the texts stands on the screen.
func (tt *Trainer) ExpectNot(texts ...string) *Trainer {
	tt.t.Helper()
	for _, text := range texts {
		if tt.Shows(text) {
			tt.t.Fatalf("the screen shows %q:\n%s", text, tt.Text())
		}
	}
	return tt
}

// Find returns the cell where a text begins.
func (tt *Trainer) Find(text string) (x, y int) {
	tt.t.Helper()
	tt.screen.mu.Lock()
	defer tt.screen.mu.Unlock()
	for y := range tt.screen.h {
		row := tt.row(y)
		if i := strings.Index(row, text); i >= 0 {
			return len([]rune(row[:i])), y
		}
	}
	tt.t.Fatalf("the screen does not show %q", text)
	return 0, 0
}

// ColourAt is the exact colour of a cell's ground. A cell whose colour is not
// given in bytes fails the test: it would follow the person's theme.
func (tt *Trainer) ColourAt(x, y int) colour.SRGB {
	tt.t.Helper()
	_, ground := tt.coloursAt(x, y)
	return ground
}

// InkAt is the exact colour of a cell's text.
func (tt *Trainer) InkAt(x, y int) colour.SRGB {
	tt.t.Helper()
	ink, _ := tt.coloursAt(x, y)
	return ink
}

func (tt *Trainer) coloursAt(x, y int) (ink, ground colour.SRGB) {
	tt.t.Helper()
	tt.screen.mu.Lock()
	defer tt.screen.mu.Unlock()
	i := y*tt.screen.w + x
	if x < 0 || y < 0 || x >= tt.screen.w || i >= len(tt.screen.cells) {
		tt.t.Fatalf("there is no cell %d,%d", x, y)
	}
	f, g, _ := tt.screen.cells[i].style.Decompose()
	return tt.exact(f), tt.exact(g)
}

func (tt *Trainer) exact(c tcell.Color) colour.SRGB {
	tt.t.Helper()
	if !c.IsRGB() {
		tt.t.Fatalf("a cell has colour %v, which is not given in bytes", c)
	}
	r, g, b := c.RGB()
	return colour.SRGB{R: uint8(r), G: uint8(g), B: uint8(b)}
}

// Swatches counts the cells of each colour that is not a neutral grey: what a
// person sees of colour at all.
func (tt *Trainer) Swatches() map[colour.SRGB]int {
	tt.t.Helper()
	found := map[colour.SRGB]int{}
	for _, c := range tt.grounds() {
		if c.R != c.G || c.G != c.B {
			found[c]++
		}
	}
	return found
}

// grounds are the exact colours of all cells' grounds, row by row.
func (tt *Trainer) grounds() []colour.SRGB {
	tt.t.Helper()
	tt.screen.mu.Lock()
	defer tt.screen.mu.Unlock()
	list := make([]colour.SRGB, len(tt.screen.cells))
	for i, c := range tt.screen.cells {
		_, g, _ := c.style.Decompose()
		if i > 0 && c.style == tt.screen.cells[i-1].style {
			list[i] = list[i-1]
			continue
		}
		list[i] = tt.exact(g)
	}
	return list
}

// Picture writes the screen for a golden file: the text, and below it the runs
// of ground colour of every row, so that a changed byte shows. Colours with a
// name are written by it, so that a golden file says which colour lies where
// and not which one chance has drawn.
func (tt *Trainer) Picture(names map[colour.SRGB]string) string {
	tt.t.Helper()
	w, h := tt.Size()
	var b strings.Builder
	fmt.Fprintf(&b, "%d x %d\n%s", w, h, tt.Text())
	grounds := tt.grounds()
	last := ""
	for y := range h {
		var runs []string
		from, row := 0, grounds[y*w:(y+1)*w]
		for x := 1; x <= w; x++ {
			if x == w || row[x] != row[from] {
				ground := row[from]
				name, ok := names[ground]
				if !ok {
					name = ground.Hex()
				}
				runs = append(runs, fmt.Sprintf("%d-%d %s", from, x-1, name))
				from = x
			}
		}
		if line := strings.Join(runs, ", "); line != last {
			fmt.Fprintf(&b, "row %d: %s\n", y, line)
			last = line
		}
	}
	return b.String()
}

// Foot lists the keys that the foot of the screen shows: what is written in bold
// below the last message line.
func (tt *Trainer) Foot() []string {
	tt.screen.mu.Lock()
	defer tt.screen.mu.Unlock()
	var keys []string
	// The foot is the last block of rows with text.
	last := tt.screen.h - 1
	for last >= 0 && strings.TrimSpace(tt.row(last)) == "" {
		last--
	}
	first := last
	for first > 0 && strings.TrimSpace(tt.row(first-1)) != "" {
		first--
	}
	for y := max(first, 0); y <= last; y++ {
		key := ""
		for x := range tt.screen.w {
			c := tt.screen.cells[y*tt.screen.w+x]
			_, _, attr := c.style.Decompose()
			r := c.sign
			switch {
			case attr&tcell.AttrBold != 0:
				key += r
			case r == " " && key != "" && x+1 < tt.screen.w && isBold(tt.screen.cells[y*tt.screen.w+x+1]):
				key += r
			case key != "":
				keys = append(keys, strings.TrimSpace(key))
				key = ""
			}
		}
	}
	return keys
}

func isBold(c cell) bool {
	_, _, attr := c.style.Decompose()
	return attr&tcell.AttrBold != 0
}
