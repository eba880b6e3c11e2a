package trainer_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

var update = flag.Bool("update", false, "write the golden screens anew")

// golden compares the screen with the stored one, text and every ground colour.
func golden(t *testing.T, tt *trainertest.Trainer, name string, names map[colour.SRGB]string) {
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

var seed = uint64(7)

// practising is a configuration that goes straight into a drill.
func practising(t *testing.T, kind exercises.KindID, count int) trainer.Config {
	return trainer.Config{Libraries: []*tabs.Library{library(t)}, Book: record.NewMemory(), Seed: &seed, Learner: "Ada Invented", SkipWelcome: true, SkipDisplay: true,
		Count: count, Start: &exercises.Setup{Kind: kind, Targets: exercises.NaturalTargets}}
}

// looking starts a value-first drill and goes to the first look.
func looking(t *testing.T, cfg trainer.Config, o trainertest.Options) *trainertest.Trainer {
	t.Helper()
	tt := trainertest.Run(t, cfg, o)
	return tt.Press("enter").Advance(time.Second)
}

// attempts lists what the book holds.
func attempts(t *testing.T, b record.Book) []scoring.Attempt {
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

// library is one of the tests' own: what the built-in ones hold may change.
func library(t *testing.T) *tabs.Library {
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

func sheet(t *testing.T) *tabs.Sheet { return tabs.NewSheet(library(t), nil) }

// namesOf names the colours of a trial and of the sheet, for golden files.
func namesOf(s *tabs.Sheet, trial exercises.Trial) map[colour.SRGB]string {
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

// firstTrial asks exercises itself what the drill of practising asks first.
func firstTrial(t *testing.T, cfg trainer.Config) exercises.Trial {
	t.Helper()
	s := *cfg.Start
	s.Seed, s.Count, s.Viewing, s.Sheet = *cfg.Seed, cfg.Count, exercises.DefaultViewing(), sheet(t)
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
