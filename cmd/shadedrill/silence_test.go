package main

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Two books are alike but for what was answered in a test of two parts, of which the
// first has ended, and in a calibration session under way. Whatever a command prints of
// them is the same to the byte, so that nobody can learn from it how the first part
// went or what was asked in it. Once both have ended it differs.
func TestNothingOfASilentSetAppearsBeforeItsEnd(t *testing.T) {
	w := newWorld(t)
	w.chance = rand.NewChaCha8([32]byte{12})
	ok := func(args ...string) string {
		t.Helper()
		if code := w.run(args...); code != 0 {
			t.Fatalf("%q: exit code %d, %s", args, code, w.err.String())
		}
		return w.out.String()
	}
	ok("class", "new", "Monday group", "Ada Finch", "Bo Reed")
	ok("class", "assign", "Monday group", "--count", "4", "--pass", "2.0", "--due", "2025-06-01")
	ok("exam", "new", "spring", "--items", "4", "--class", "Monday group")
	ok("panel", "new", "weekly", "--items", "3", "--repeats", "2", "--seed", "5")
	from := w.vars["SHADEDRILL_BOOK"]
	books := []string{filepath.Join(t.TempDir(), "exact.db"), filepath.Join(t.TempDir(), "poor.db")}
	eyes := []observer.Observer{{}, {BiasL: 9, BiasC: 5, Noise: 4}}
	for _, to := range books {
		text, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	commands := [][]string{
		{"progress", "--learner", "Ada Finch"}, {"progress", "--learner", "Ada Finch", "--format", "json"}, {"progress", "--learner", "Ada Finch", "--format", "html"},
		{"threshold", "--format", "text", "--learner", "Ada Finch"},
		{"export"}, {"export", "--format", "jsonl"}, {"export", "--format", "xapi"}, {"export", "--pseudonyms"},
		{"class", "review", "Monday group"}, {"class", "review", "Monday group", "--format", "json"}, {"class", "grades", "Monday group"}, {"class", "grades", "Monday group", "--wide"},
		{"class", "effect", "Monday group"}, {"class", "list", "Monday group"}, {"class", "export", "Monday group"}, {"class", "export", "Monday group", "--answers"},
		{"exam", "list"}, {"exam", "list", "--format", "json"}, {"exam", "report", "--form", "spring", "--learner", "Ada Finch"}, {"exam", "report", "--form", "spring", "--learner", "Ada Finch", "--format", "html"},
		{"panel", "report", "weekly"}, {"panel", "report", "weekly", "--format", "json"}, {"panel", "list"},
		{"people", "list"}, {"book", "check"},
	}
	printed := func() (all [2][]string) {
		for i, path := range books {
			for _, args := range commands {
				out := ok(append(slices.Clone(args), "--book", path)...) + w.err.String()
				all[i] = append(all[i], strings.ReplaceAll(out, path, "BOOK"))
			}
		}
		return all
	}
	// answer gives so many answers of what is next for Ada.
	answer := func(i, most int, set func(record.Store) scoring.Set) {
		t.Helper()
		ctx := context.Background()
		book, err := openBook(ctx, books[i])
		if err != nil {
			t.Fatal(err)
		}
		defer book.Close()
		ada, err := book.LearnerByName(ctx, "Ada Finch")
		if err != nil {
			t.Fatal(err)
		}
		now := w.now()
		drill, err := record.Take(ctx, book, set(book), ada, scoring.DisplayCheck{}, func() time.Time { now = now.Add(time.Second); return now })
		if err != nil {
			t.Fatal(err)
		}
		setup, rng := drill.Sitting().Setup, rand.New(rand.NewPCG(1, 1))
		trial, more := drill.Trial()
		for ; more && most > 0; trial, more = drill.Trial() {
			kind, err := exercises.ByID(trial.Kind)
			if err != nil {
				t.Fatal(err)
			}
			if _, _, err := drill.Answer(ctx, kind.Simulate(trial, setup, eyes[i], rng)); err != nil {
				t.Fatal(err)
			}
			most--
		}
		if !more {
			if err := drill.End(ctx, false); err != nil {
				t.Fatal(err)
			}
		}
	}
	test := func(book record.Store) scoring.Set {
		forms, err := book.Forms(context.Background())
		if err != nil || len(forms) != 1 {
			t.Fatal(forms, err)
		}
		return forms[0].Set()
	}
	panel := func(book record.Store) scoring.Set {
		p, err := book.PanelByName(context.Background(), "weekly")
		if err != nil {
			t.Fatal(err)
		}
		return p.Set()
	}
	const all = 1000
	for i := range books {
		answer(i, all, test)
		answer(i, 2, test)
		answer(i, 4, panel)
	}
	got := printed()
	for n, args := range commands {
		if got[0][n] != got[1][n] {
			t.Errorf("shadedrill %s tells how it goes before the end:\n%s\n%s", strings.Join(args, " "), got[0][n], got[1][n])
		}
	}
	for i := range books {
		answer(i, all, test)
		answer(i, all, panel)
	}
	got = printed()
	for _, n := range []int{0, 4, 8, 16, 18, 20} {
		if got[0][n] == got[1][n] {
			t.Errorf("shadedrill %s tells nothing after the end:\n%s", strings.Join(commands[n], " "), got[0][n])
		}
	}
}
