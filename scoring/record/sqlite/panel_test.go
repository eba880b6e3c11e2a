package sqlite_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
)

const childPanel = "SHADEDRILL_TEST_PANEL"

// take takes a calibration session from beginning to end, in two goes, and prints
// each attempt that the book has taken.
func take(path, session, name string) error {
	ctx := context.Background()
	for _, broken := range []bool{true, false} {
		book, err := sqlite.Open(ctx, path)
		if err != nil {
			return err
		}
		if err := takePart(ctx, book, session, name, broken); err != nil {
			return err
		}
		if err := book.Close(); err != nil {
			return err
		}
	}
	return nil
}

func takePart(ctx context.Context, book record.Book, session, name string, broken bool) error {
	who, err := book.LearnerByName(ctx, name)
	if err != nil {
		if who, err = book.AddLearner(ctx, scoring.Learner{Name: name, At: time.Now()}); err != nil {
			return err
		}
	}
	p, err := book.PanelByName(ctx, session)
	if err != nil {
		return err
	}
	d, err := record.Take(ctx, book, p.Set(), who, scoring.DisplayCheck{}, time.Now)
	if err != nil {
		return err
	}
	kind, err := exercises.ByID(p.Setup.Kind)
	if err != nil {
		return err
	}
	rng := rand.New(rand.NewPCG(uint64(len(name)), p.Setup.Seed))
	for {
		trial, more := d.Trial()
		if !more {
			return d.End(ctx, false)
		}
		if broken && d.Given() == d.Planned()/2 {
			return nil
		}
		a, _, err := d.Answer(ctx, kind.Simulate(trial, d.Sitting().Setup, observer.Observer{Noise: 1}, rng))
		if err != nil {
			return err
		}
		fmt.Println(a.ID())
	}
}

// Eight programs take one session in one book, break it off and go on, while its
// lead lays down others and closes them: no answer is lost, nobody is told that
// the book is locked, and everybody has met every item as often as laid down.
func TestEightProgramsTakeOneSession(t *testing.T) {
	const programs, items, repeats = 8, 10, 2
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "book.db")
	book := open(t, path)
	defer book.Close()
	library, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(library, nil)
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	setup := exercises.Setup{Kind: exercises.ValueFirst, Version: 2, Seed: 5, Count: items, Repeats: repeats, Silent: true, Sheet: sheet}
	kind, err := exercises.ByID(setup.Kind)
	if err != nil {
		t.Fatal(err)
	}
	setup.Version = kind.Version()
	session, err := book.AddPanel(ctx, record.Panel{Name: "Team", At: time.Now(), Setup: setup})
	if err != nil {
		t.Fatal(err)
	}
	acknowledged := make([]string, programs)
	var all sync.WaitGroup
	for p := range programs {
		all.Go(func() {
			c := child(t, path, fmt.Sprintf("Person %d", p), "")
			c.Env = append(c.Env, childPanel+"="+session.Name)
			out, err := c.CombinedOutput()
			acknowledged[p] = string(out)
			if err != nil || strings.Contains(string(out), "locked") {
				t.Errorf("program %d: %v\n%s", p, err, out[max(0, len(out)-300):])
			}
		})
	}
	for i := range 20 {
		other := fmt.Sprintf("Other %d", i)
		if _, err := book.AddPanel(ctx, record.Panel{Name: other, At: time.Now(), Setup: setup}); err != nil {
			t.Error(err)
		}
		if err := book.ClosePanel(ctx, other, time.Now()); err != nil {
			t.Error(err)
		}
	}
	all.Wait()
	have, met := map[string]bool{}, map[string]int{}
	for a, err := range book.Attempts(ctx, record.Filter{Within: session.Set().Ref.String()}) {
		if err != nil {
			t.Fatal(err)
		}
		have[a.ID()] = true
		met[string(a.Learner)+" "+a.Trial.Item]++
	}
	for p := range programs {
		lines := strings.Fields(acknowledged[p])
		if len(lines) != items*repeats {
			t.Errorf("program %d had %d answers taken, gave %d", p, len(lines), items*repeats)
		}
		for _, id := range lines {
			if !have[id] {
				t.Errorf("answer %s was acknowledged and is lost", id)
			}
		}
		who, err := book.LearnerByName(ctx, fmt.Sprintf("Person %d", p))
		if err != nil {
			t.Fatal(err)
		}
		part, err := record.ProgressOf(ctx, book, session.Set(), who.ID)
		if err != nil || !part.Over() || part.Given() != items*repeats {
			t.Errorf("%s: %+v, %v", who.Name, part, err)
		}
	}
	for who, n := range met {
		if n != repeats {
			t.Errorf("%s was met %d times", who, n)
		}
	}
	if len(met) != programs*items {
		t.Errorf("%d people and items, want %d", len(met), programs*items)
	}
	panels, err := book.Panels(ctx)
	if err != nil || len(panels) != 21 {
		t.Errorf("%d sessions in the book, %v", len(panels), err)
	}
}
