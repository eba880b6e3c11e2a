package trainer_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/trainertest"
)

// Whoever presses whatever, however fast and in whatever window: nothing breaks or hangs,
// no line is cut off at the edge of the screen, every answer that the book took is in it
// at the end, and every chain holds. A run that fails prints its seed and the last keys.
func TestAMonkeyBreaksNothing(t *testing.T) {
	seeds, keys := 1, 300
	if os.Getenv("SHADEDRILL_HEAVY") == "1" {
		seeds, keys = 12, 2000
	}
	for seed := range uint64(seeds) {
		for _, name := range monkeyBooks {
			t.Run(fmt.Sprintf("%s/%d", name, seed), func(t *testing.T) { letLoose(t, name, seed, keys) })
		}
	}
}

// monkeyBooks are those that a monkey is let loose on.
var monkeyBooks = []string{"nobody", "one person", "a few answers", "an instructor", "a disk that fills"}

// letLoose presses so many keys on one book.
func letLoose(t *testing.T, name string, seed uint64, keys int) {
	m := &monkey{t: t, rng: rand.New(rand.NewPCG(seed, uint64(len(name)))), name: name, seed: seed}
	m.book = &taking{Book: record.NewMemory(), rng: rand.New(rand.NewPCG(seed, 18))}
	cfg := m.config(seed)
	for keys > 0 {
		m.open(cfg)
		for ; keys > 0 && !m.over(); keys-- {
			m.step()
		}
		if !m.over() {
			m.tt.Stop(errors.New("the window was closed"))
		}
	}
	m.book.moody = 0
	m.verify()
}

type monkey struct {
	t    *testing.T
	rng  *rand.Rand
	name string
	seed uint64
	book *taking
	tt   *trainertest.Trainer
	done []string // what was pressed
}

// config is a book with little in it, and who sits before it.
func (m *monkey) config(seed uint64) trainer.Config {
	t := m.t
	cfg := trainer.Config{Libraries: []*tabs.Library{library(t)}, Seed: &seed, Learner: "Ada Invented", Chance: chance{m.rng}}
	switch m.name {
	case "nobody":
		cfg.Learner = ""
	case "a few answers", "a disk that fills":
		m.blind()
	case "an instructor":
		taught := teaching(t, scoring.RoleInstructor)
		_, as := homework(t)
		m.book.Book = taught.Book
		m.sets(as)
	}
	if m.name == "a disk that fills" {
		m.book.moody = 0.1
	}
	cfg.Book = m.book
	return cfg
}

// blind answers a few trials of every exercise.
func (m *monkey) blind() {
	ctx := context.Background()
	ada, err := m.book.AddLearner(ctx, scoring.Learner{Name: "Ada Invented", At: trainertest.Start})
	if err != nil {
		m.t.Fatal(err)
	}
	now := trainertest.Start.Add(-72 * time.Hour)
	clock := func() time.Time { now = now.Add(5 * time.Second); return now }
	for _, kind := range exercises.Kinds() {
		setup := exercises.Setup{Kind: kind.ID(), Seed: m.rng.Uint64(), Count: 9, Sheet: sheet(m.t)}.AtLevel(1 + m.rng.IntN(6))
		if kind.ID() == exercises.Threshold {
			setup.Task = exercises.TaskWhich
		}
		drill, err := record.Begin(ctx, m.book, scoring.Sitting{Learner: ada.ID, Setup: setup}, clock)
		if err != nil {
			m.t.Fatal(err)
		}
		for range m.rng.IntN(10) {
			if trial, ok := drill.Trial(); ok {
				if _, _, err := drill.Answer(ctx, kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 6}, m.rng)); err != nil {
					m.t.Fatal(err)
				}
			}
		}
		if m.rng.IntN(3) > 0 {
			if err := drill.End(ctx, true); err != nil {
				m.t.Fatal(err)
			}
		}
	}
}

// sets gives the instructor something to take: an assignment of a class of their own, a
// session and a form of the test.
func (m *monkey) sets(as scoring.Assignment) {
	ctx := context.Background()
	ada, err := m.book.LearnerByName(ctx, "Ada Invented")
	if err != nil {
		m.t.Fatal(err)
	}
	class, err := m.book.AddClass(ctx, scoring.Class{Name: "Evening group", At: trainertest.Start})
	if err == nil {
		err = m.book.Enrol(ctx, class.ID, ada.ID, trainertest.Start)
	}
	if err == nil {
		as.Setup.Sheet = sheet(m.t)
		err = m.book.PutSheet(ctx, as.Setup.Sheet)
	}
	if err == nil {
		as.ID, as.Number, as.Class = "", 0, class.ID
		as, err = m.book.AddAssignment(ctx, as)
	}
	if err == nil {
		_, err = m.book.AddPanel(ctx, record.Panel{Name: "Spring team", At: trainertest.Start, By: ada.ID,
			Setup: exercises.Setup{Kind: exercises.ValueFirst, Version: as.Setup.Version, Seed: 3, Count: 2, Repeats: 2, Targets: exercises.NaturalTargets, Silent: true, Sheet: as.Setup.Sheet}})
	}
	if err != nil {
		m.t.Fatal(err)
	}
}

// open starts the trainer somewhere.
func (m *monkey) open(cfg trainer.Config) {
	cfg.SkipWelcome, cfg.SkipDisplay = m.rng.IntN(3) > 0, m.rng.IntN(4) > 0
	if cfg.Learner != "" {
		switch kinds := exercises.Kinds(); m.rng.IntN(8) {
		case 0:
			cfg.Today, cfg.Minutes = true, exercises.PlanMinutes[m.rng.IntN(len(exercises.PlanMinutes))]
		case 1:
			cfg.Again = true
		case 2, 3, 4:
			kind := kinds[m.rng.IntN(len(kinds))].ID()
			start := exercises.Setup{Kind: kind, Count: 1 + m.rng.IntN(6)}
			if list := ask.ScreenOf(kind).Variants; len(list) > 0 {
				start = list[m.rng.IntN(len(list))].Setup
				start.Kind = kind
			}
			if n := len(exercises.Levels(kind)); n > 0 && m.rng.IntN(2) == 0 {
				start = start.AtLevel(1 + m.rng.IntN(n))
			}
			cfg.Start = &start
		case 5:
			cfg.Viewing = &exercises.Viewing{Limit: 3 * time.Second, Gap: 12, Surround: exercises.DefaultViewing().Surround}
		}
	}
	m.note(fmt.Sprintf("open %+v today %v again %v", cfg.Start, cfg.Today, cfg.Again))
	w, h := m.size()
	m.watch(func() { m.tt = trainertest.Run(m.t, cfg, trainertest.Options{Width: w, Height: h}) })
	m.look()
}

func (m *monkey) size() (w, h int) {
	switch m.rng.IntN(6) {
	case 0:
		return 20 + m.rng.IntN(181), 8 + m.rng.IntN(53)
	case 1:
		return 200, 60
	}
	return 80, 24
}

func (m *monkey) note(what string) { m.done = append(m.done, what) }

// named are keys without a letter, the frequent ones several times.
var named = []string{"enter", "enter", "enter", "enter", "enter", "space", "left", "right", "left", "right", "up", "down", "up", "down", "home", "end", "page up", "page down",
	"backspace", "delete", "tab", "escape", "f5"}

// step is one thing that somebody does.
func (m *monkey) step() {
	tt, r := m.tt, m.rng
	w, h := tt.Size()
	m.watch(func() {
		switch n := r.IntN(100); {
		case n < 2, w < 80, h < 24:
			w, h := m.size()
			m.note(fmt.Sprintf("resize %d %d", w, h))
			tt.Resize(w, h)
		case n < 12:
			d := time.Duration(r.IntN(9000)) * time.Millisecond
			m.note("wait " + d.String())
			tt.Advance(d)
		case n < 17:
			x, y := r.IntN(w), r.IntN(h)
			m.note(fmt.Sprintf("click %d %d", x, y))
			tt.Click(x, y)
		case n < 19:
			m.note("wheel")
			tt.Wheel(2*r.IntN(2) - 1)
		case n < 24:
			key := m.key()
			m.note("hammer " + key)
			for range 2 + r.IntN(4) {
				if !m.over() {
					tt.Hurry(time.Duration(r.IntN(250))*time.Millisecond, key)
				}
			}
		case n < 26:
			text := []string{"17", "99999999999999999999", "-1", "Zoë Ⅷ", "２", "🦷", "e\u0301", "Monday group", "0,5"}[r.IntN(9)]
			m.note("type " + text)
			for _, c := range text {
				if !m.over() {
					tt.Type(string(c))
				}
			}
		default:
			key := m.key()
			if strings.Contains("q?g escape", key) && r.IntN(4) > 0 { // where it looks at less
				key = "enter"
			}
			if m.aside() && r.IntN(3) > 0 {
				key = "backspace"
			}
			m.note(key)
			tt.Advance(time.Duration(300+r.IntN(1500)) * time.Millisecond)
			tt.Press(key)
		}
	})
	m.look()
}

// key is one of those that the screen shows, or any.
func (m *monkey) key() string {
	r := m.rng
	switch n := r.IntN(100); {
	case n < 45:
		return named[r.IntN(len(named))]
	case n < 70:
		list := m.tt.Keys()
		if n := r.IntN(len(list) + 1); n < len(list) && list[n].Press != "" {
			return list[n].Press
		}
		return "enter"
	case n < 85:
		return string(rune('0' + r.IntN(10)))
	case n < 86 && r.IntN(4) == 0:
		return "ctrl-c"
	case n < 97:
		return string(rune('a' + r.IntN(26)))
	}
	return string(rune(' ' + 1 + r.IntN(94)))
}

// aside reports whether a page lies over the one that matters.
func (m *monkey) aside() bool {
	return strings.HasPrefix(strings.TrimSpace(m.tt.Text()), "Help") || strings.HasPrefix(strings.TrimSpace(m.tt.Text()), "Glossary")
}

// over reports whether the trainer was left; one that broke fails the test.
func (m *monkey) over() bool {
	ended, err := m.tt.Ended()
	var broken *trainer.Broken
	switch {
	case errors.As(err, &broken):
		m.fail("%v\n%s", err, broken.Stack)
	case ended && err != nil && err.Error() != "the window was closed" && !errors.Is(err, errFull):
		m.fail("it ended with %v", err)
	}
	return ended
}

// cutOff is a text that had no room: it ends in the middle of a word, not before "…" as
// what opens a list does, nor between two keys.
var cutOff = regexp.MustCompile(`\S*[^\s0-9]…(\s|$)`)

// look holds the picture against what must hold of any.
func (m *monkey) look() {
	if m.over() {
		return
	}
	w, h := m.tt.Size()
	text := m.tt.Text()
	words := strings.Join(strings.Fields(text), " ")
	lines := strings.Split(text, "\n")
	if w < 80 || h < 24 {
		if !strings.Contains(words, "Please make it 80") {
			m.fail("in %d x %d:\n%s", w, h, m.tt.Text())
		}
		return
	}
	for _, k := range m.tt.Keys() {
		if !strings.Contains(words, k.Does) {
			m.fail("the key %+v is not shown:\n%s", k, m.tt.Text())
		}
	}
	for _, l := range lines {
		if cut := cutOff.FindString(l); cut != "" {
			m.fail("%q is cut off:\n%s", cut, m.tt.Text())
		}
		if cells := []rune(l); len(cells) >= w && (unicode.IsLetter(cells[w-1]) || unicode.IsDigit(cells[w-1])) {
			m.fail("a line runs into the edge:\n%s", m.tt.Text())
		}
	}
	for _, odd := range []string{"NaN", "+Inf", "-Inf", "%!", "<nil>", "1 trials", "1 answers", "1 days", "1 seconds", "1 minutes"} {
		if i := strings.Index(words, odd); i >= 0 && (i == 0 || !unicode.IsDigit(rune(words[i-1])) && words[i-1] != '.') {
			m.fail("it shows %q:\n%s", odd, m.tt.Text())
		}
	}
}

// watch does something and gives up when it hangs.
func (m *monkey) watch(f func()) {
	dog := time.AfterFunc(2*time.Minute, func() { panic(fmt.Sprintf("the trainer hangs, %s", m.where())) })
	defer dog.Stop()
	f()
}

func (m *monkey) where() string {
	return fmt.Sprintf("%s, seed %d, after\n%s", m.name, m.seed, strings.Join(m.done[max(0, len(m.done)-30):], "\n"))
}

func (m *monkey) fail(format string, args ...any) {
	m.t.Helper()
	m.t.Fatalf("%s\n%s", m.where(), fmt.Sprintf(format, args...))
}

// verify holds what is in the book against what it took.
func (m *monkey) verify() {
	ctx := context.Background()
	found := map[string]bool{}
	for a, err := range m.book.Attempts(ctx, record.Filter{Silent: true}) {
		if err != nil {
			m.fail("%v", err)
		}
		found[fmt.Sprint(a.Sitting, " ", a.Trial.Ordinal)] = true
	}
	for _, a := range m.book.took {
		if !found[a] {
			m.fail("answer %s is not in the book", a)
		}
	}
	if n := len(slices.Compact(slices.Sorted(slices.Values(m.book.took)))); n != len(m.book.took) && m.name != "a disk that fills" {
		m.fail("%d answers were written %d times", n, len(m.book.took))
	}
	seen, err := record.Verify(ctx, m.book, nil)
	if err != nil || !seen.Sound() {
		m.fail("the book is not sound: %v, %v", seen.Findings, err)
	}
	broken, err := record.VerifyChains(ctx, m.book, record.Filter{})
	if err != nil || broken.Err() != nil {
		m.fail("chains: %v, %v", broken.Err(), err)
	}
	m.t.Logf("%d answers in %d sittings", seen.Answers, seen.Sittings)
}

// taking remembers which answers the book took, and now and then cannot be written to.
type taking struct {
	record.Book
	rng   *rand.Rand
	moody float64
	took  []string
}

var errFull = errors.New("no space left on device")

func (b *taking) full() error {
	if b.rng.Float64() < b.moody {
		return errFull
	}
	return nil
}

func (b *taking) Append(ctx context.Context, a scoring.Attempt) error {
	err := b.full()
	if err == nil {
		err = b.Book.Append(ctx, a)
	}
	if err == nil {
		b.took = append(b.took, fmt.Sprint(a.Sitting, " ", a.Trial.Ordinal))
	}
	return err
}

func (b *taking) StartSitting(ctx context.Context, s scoring.Sitting) error {
	if err := b.full(); err != nil {
		return err
	}
	return b.Book.StartSitting(ctx, s)
}

func (b *taking) EndSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error {
	if err := b.full(); err != nil {
		return err
	}
	return b.Book.EndSitting(ctx, id, at, left)
}

func (b *taking) Sittings(ctx context.Context, f record.Filter) ([]scoring.Sitting, error) {
	if err := b.full(); err != nil {
		return nil, err
	}
	return b.Book.Sittings(ctx, f)
}

func (b *taking) Learners(ctx context.Context) ([]scoring.Learner, error) {
	if err := b.full(); err != nil {
		return nil, err
	}
	return b.Book.Learners(ctx)
}

// chance is what forms are drawn by.
type chance struct{ rng *rand.Rand }

func (c chance) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(c.rng.Uint32())
	}
	return len(p), nil
}
