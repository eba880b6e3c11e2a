package trainer

import (
	"fmt"
	"io"
	"sort"
	"sync"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
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
	return s
}

// redraws returns how long each of some redraws of a trial takes at 200 × 60, and
// how long tcell itself takes to set the same cells and show them.
func redraws(tb testing.TB, rounds int) (ours, theirs []time.Duration) {
	l, err := tabs.Load("natural")
	if err != nil {
		tb.Fatal(err)
	}
	sheet := tabs.NewSheet(l, nil)
	first, second := open(tb), open(tb)
	defer first.Fini()
	defer second.Fini()
	a := &app{screen: first, canvas: newCanvas(first), cfg: Config{}.filled()}
	p := &drillPage{app: a, phase: looking, setup: exercises.Setup{Viewing: exercises.DefaultViewing(), Sheet: sheet}}
	p.setup.Viewing.Limit = 0
	a.pages = []page{&benchPage{p}}
	type cell struct {
		x, y  int
		text  string
		style tcell.Style
	}
	var cells []cell
	var before []glyph
	for i := range rounds {
		// The next trial: another target, another candidate.
		p.trial = exercises.Trial{Target: colour.SRGB{R: uint8(150 + i%90), G: 180, B: 150}}
		asker, err := newValueFirst(question{trial: p.trial, setup: p.setup, tone: func() tones { return a.tone }})
		if err != nil {
			tb.Fatal(err)
		}
		p.asker = asker
		asker.(*valueFirst).group = i % len(sheet.Groups())
		before = append(before[:0], a.canvas.shown...)
		start := time.Now()
		a.draw()
		took := time.Since(start)
		// The peer gets only the cells that changed, with their styles ready made:
		// all it does is set and show.
		cells = cells[:0]
		for n, g := range a.canvas.shown {
			if len(before) > 0 && before[n] == g || g.sign == rightHalf {
				continue
			}
			cells = append(cells, cell{n % 200, n / 200, a.canvas.text(g.sign),
				tcell.StyleDefault.Foreground(exact(g.ink)).Background(exact(g.ground)).Bold(g.bold)})
		}
		start = time.Now()
		for _, c := range cells {
			second.Put(c.x, c.y, c.text, c.style)
		}
		second.Show()
		if i > 0 { // the first draws everything
			ours, theirs = append(ours, took), append(theirs, time.Since(start))
		}
	}
	return ours, theirs
}

// benchPage is a drill page without a book.
type benchPage struct{ *drillPage }

func (p *benchPage) title() (string, string) { return "Value first", "trial 4 of 20" }
func (p *benchPage) keys() []keyHelp         { return p.asker.keys() }

func middleOf(v []time.Duration) time.Duration {
	sort.Slice(v, func(i, j int) bool { return v[i] < v[j] })
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

// TestRedrawSetsOnlyWhatChanged keeps the ratio by its cause, which no noisy
// machine can hide: a second picture of the same trial sends no cell at all, a
// changed candidate little more than its patch.
func TestRedrawSetsOnlyWhatChanged(t *testing.T) {
	s := &counting{Screen: tcell.NewSimulationScreen("UTF-8")}
	if err := s.Init(); err != nil {
		t.Fatal(err)
	}
	defer s.Fini()
	s.Screen.(tcell.SimulationScreen).SetSize(200, 60)
	c := newCanvas(s)
	draw := func(right colour.SRGB) int {
		s.puts = 0
		c.begin(colour.Grey(64))
		c.swatch(rect{20, 5, 60, 30}, colour.SRGB{R: 200, G: 180, B: 150})
		c.swatch(rect{80, 5, 60, 30}, right)
		c.write(2, 0, "value first", colour.Grey(200), true)
		c.end()
		return s.puts
	}
	if n := draw(colour.SRGB{R: 190, G: 180, B: 150}); n != 200*60 {
		t.Errorf("the first picture sets %d cells", n)
	}
	if n := draw(colour.SRGB{R: 190, G: 180, B: 150}); n != 0 {
		t.Errorf("the same picture again sets %d cells", n)
	}
	if n := draw(colour.SRGB{R: 191, G: 180, B: 150}); n != 60*30 {
		t.Errorf("another candidate sets %s cells", fmt.Sprint(n))
	}
}

type counting struct {
	tcell.Screen
	puts int
}

func (c *counting) Put(x, y int, s string, style tcell.Style) (string, int) {
	c.puts++
	return c.Screen.Put(x, y, s, style)
}
