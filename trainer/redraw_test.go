package trainer

import (
	"io"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// sink is a terminal that swallows everything at once.
type sink struct {
	stop chan struct{}
	once sync.Once
}

func (s *sink) Start() error        { return nil }
func (s *sink) Stop() error         { return nil }
func (s *sink) Drain() error        { s.once.Do(func() { close(s.stop) }); return nil }
func (s *sink) NotifyResize(func()) {}
func (s *sink) WindowSize() (tcell.WindowSize, error) {
	return tcell.WindowSize{Width: 200, Height: 60}, nil
}
func (s *sink) Read([]byte) (int, error)    { <-s.stop; return 0, io.EOF }
func (s *sink) Write(b []byte) (int, error) { return len(b), nil }
func (s *sink) Close() error                { return nil }

// open returns tcell's own terminal screen with 24 bits before a sink.
func open(tb testing.TB) tcell.Screen {
	tb.Setenv("COLORTERM", "truecolor")
	tb.Setenv("LC_ALL", "C.UTF-8")
	ti, err := tcell.LookupTerminfo("xterm-256color")
	if err != nil {
		tb.Fatal(err)
	}
	own := *ti
	s, err := tcell.NewTerminfoScreenFromTtyTerminfo(&sink{stop: make(chan struct{})}, &own)
	if err != nil {
		tb.Fatal(err)
	}
	if err := s.Init(); err != nil {
		tb.Fatal(err)
	}
	if s.Colors() != 1<<24 {
		tb.Fatalf("%d colours", s.Colors())
	}
	tb.Cleanup(s.Fini)
	return s
}

// noting is a screen that only keeps what it was told to set.
type noting struct {
	tcell.Screen
	cells []cell
}

type cell struct {
	x, y  int
	text  string
	style tcell.Style
}

func (n *noting) Put(x, y int, text string, style tcell.Style) (string, int) {
	n.cells = append(n.cells, cell{x, y, text, style})
	return "", 1
}

func (n *noting) Show() {}

// oneTrial is a drill page without a book, which shows a look at value first.
type oneTrial struct{ *drillPage }

func (p *oneTrial) title() (string, string) { return "Value first", "trial 4 of 20" }
func (p *oneTrial) keys() []draw.KeyHelp    { return p.asker.Keys() }

func newOneTrial(screen tcell.Screen, sheet *tabs.Sheet) *oneTrial {
	a := &app{screen: screen, canvas: draw.NewCanvas(screen), cfg: Config{}.filled()}
	p := &oneTrial{&drillPage{app: a, drill: new(record.Drill), phase: looking, setup: exercises.Setup{Viewing: exercises.DefaultViewing(), Sheet: sheet}}}
	p.setup.Viewing.Limit = 0
	a.pages = []page{p}
	return p
}

// ask begins the i-th trial: another target and another value group.
func (p *oneTrial) ask(tb testing.TB, i int) {
	p.trial = exercises.Trial{Target: colour.SRGB{R: uint8(150 + i%90), G: 180, B: 150}}
	asker, err := ask.ScreenOf(exercises.ValueFirst).Ask(ask.Question{Trial: p.trial, Setup: p.setup})
	if err != nil {
		tb.Fatal(err)
	}
	p.asker = asker
	asker.Key(string(rune('1' + i%min(9, len(p.setup.Sheet.Groups())))))
}

// redraws returns how long each of some redraws of a trial takes at 200 × 60, and
// how long tcell itself takes to set the same cells and show them: the cells that
// changed, with their styles ready made.
func redraws(tb testing.TB, rounds int) (ours, theirs []time.Duration) {
	l, err := tabs.Load("natural")
	if err != nil {
		tb.Fatal(err)
	}
	sheet := tabs.NewSheet(l, nil)
	notes := &noting{Screen: open(tb)}
	timed, noted, peer := newOneTrial(open(tb), sheet), newOneTrial(notes, sheet), open(tb)
	for i := range rounds {
		timed.ask(tb, i)
		noted.ask(tb, i)
		start := time.Now()
		timed.draw()
		took := time.Since(start)
		notes.cells = notes.cells[:0]
		noted.draw()
		start = time.Now()
		for _, c := range notes.cells {
			peer.Put(c.x, c.y, c.text, c.style)
		}
		peer.Show()
		if i > 0 { // the first draws everything
			ours, theirs = append(ours, took), append(theirs, time.Since(start))
		}
	}
	return ours, theirs
}

func middleOf(v []time.Duration) time.Duration {
	slices.Sort(v)
	return v[len(v)/2]
}

// BenchmarkRedraw reports the ratio of the two medians: ours over tcell's own.
func BenchmarkRedraw(b *testing.B) {
	var ours, theirs []time.Duration
	for b.Loop() {
		o, t := redraws(b, 100)
		ours, theirs = append(ours, o...), append(theirs, t...)
	}
	b.ReportMetric(float64(middleOf(ours))/float64(middleOf(theirs)), "ratio")
	b.ReportMetric(float64(middleOf(ours).Microseconds()), "µs/redraw")
}
