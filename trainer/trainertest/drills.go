package trainertest

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
)

var update = flag.Bool("update", false, "write the golden screens anew")

// Golden compares the screen with the stored one, text and every ground colour.
func Golden(t testing.TB, tt *Trainer, name string, names map[colour.SRGB]string) {
	t.Helper()
	path := filepath.Join("testdata", name+".golden")
	got := tt.Picture(names)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-stored +now):\n%s", path, d)
	}
}

// Seed is that of the drills.
var Seed = uint64(7)

// Practising is a configuration that goes straight into a drill.
func Practising(t testing.TB, kind exercises.KindID, count int) trainer.Config {
	return trainer.Config{Libraries: []*tabs.Library{Library(t)}, Book: record.NewMemory(), Seed: &Seed, Learner: "Ada Invented", SkipWelcome: true, SkipDisplay: true,
		Count: count, Start: &exercises.Setup{Kind: kind, Targets: exercises.NaturalTargets}}
}

// Looking starts a drill and goes to the first look.
func Looking(t testing.TB, cfg trainer.Config, o Options) *Trainer {
	t.Helper()
	tt := Run(t, cfg, o)
	return tt.Press("enter").Advance(time.Second)
}

// Attempts lists what the book holds.
func Attempts(t testing.TB, b record.Book) []scoring.Attempt {
	t.Helper()
	var all []scoring.Attempt
	for a, err := range b.Attempts(context.Background(), record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, a)
	}
	return all
}

// Library is one of the tests' own: what the built-in ones hold may change.
func Library(t testing.TB) *tabs.Library {
	t.Helper()
	var groups []tabs.Group
	for _, l := range []float64{88, 82, 76, 70, 64} {
		g := tabs.Group{Name: fmt.Sprintf("L%.0f", l)}
		for i, hues := range [][]float64{{86}, {82, 92}, {80, 87, 94}} {
			c := 8 + 7*float64(i)
			for _, h := range hues {
				g.Tabs = append(g.Tabs, tabs.Tab{Name: fmt.Sprintf("L%.0f C%.0f h%.0f", l, c, h), Lab: colour.LCh{L: l, C: c, H: h}.Lab()})
			}
		}
		groups = append(groups, g)
	}
	l, err := tabs.New("invented", "for tests", groups)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Sheet is the library as the screen shows it by daylight.
func Sheet(t testing.TB) *tabs.Sheet { return tabs.NewSheet(Library(t), nil) }

// NamesOf names the colours of a trial and of the sheet, for golden files.
func NamesOf(s *tabs.Sheet, trial exercises.Trial) map[colour.SRGB]string {
	names := map[colour.SRGB]string{}
	for i := range s.Len() {
		names[s.Shown(i)] = s.Name(i)
		for _, j := range s.Neighbours(i) {
			names[s.Between(i, j)] = "between " + s.Name(min(i, j)) + " and " + s.Name(max(i, j))
		}
	}
	for _, p := range trial.Patches {
		names[p.Colour] = p.Role
	}
	names[trial.Target] = "target"
	return names
}

// FirstTrial asks exercises itself what the drill of Practising asks first.
func FirstTrial(t testing.TB, cfg trainer.Config) exercises.Trial {
	t.Helper()
	s := *cfg.Start
	s.Seed, s.Count, s.Viewing, s.Sheet = *cfg.Seed, cfg.Count, exercises.DefaultViewing(), Sheet(t)
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	trial, ok := run.Next()
	if !ok {
		t.Fatal("the drill has no trial")
	}
	return trial
}

// Choose takes the line of a list that begins with a text; "A: b" is line b of what
// line A opens.
func Choose(tt *Trainer, text string) {
	if kind, rest, ok := strings.Cut(text, ": "); ok {
		Choose(tt, kind)
		text = strings.ToUpper(rest[:1]) + rest[1:]
	}
	selected := func() bool {
		_, line, _ := strings.Cut(LineOf(tt, "▸"), "▸")
		words := strings.Fields(line)
		return len(words) > 1 && strings.HasPrefix(strings.Join(words[1:], " "), text)
	}
	tt.Press("home")
	for n := 0; n < 40 && !selected(); n++ {
		tt.Press("down")
	}
	tt.Expect(text).Press("enter")
}

// LineOf is the line of the screen that holds a text.
func LineOf(tt *Trainer, text string) string {
	for _, l := range strings.Split(tt.Text(), "\n") {
		if strings.Contains(l, text) {
			return l
		}
	}
	return ""
}
