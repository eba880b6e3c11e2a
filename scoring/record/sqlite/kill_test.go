package sqlite_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlite"
)

// The tests of this file run themselves again as other processes, which these
// name the book and the person to.
const (
	childBook   = "SHADEDRILL_TEST_BOOK"
	childPerson = "SHADEDRILL_TEST_PERSON"
	childCount  = "SHADEDRILL_TEST_COUNT"
	childCopy   = "SHADEDRILL_TEST_COPY"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childBook); path != "" && os.Getenv(childCopy) != "" {
		fmt.Println("error:", copyFor(path, os.Getenv(childCopy)))
		os.Exit(1)
	} else if path != "" && os.Getenv(childPanel) != "" {
		if err := take(path, os.Getenv(childPanel), os.Getenv(childPerson)); err != nil {
			fmt.Println("error:", err)
			os.Exit(1)
		}
		os.Exit(0)
	} else if path != "" {
		if err := practise(path, os.Getenv(childPerson), os.Getenv(childCount)); err != nil {
			fmt.Println("error:", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// practise answers a drill and prints each attempt that the book has taken. An
// empty count goes on until somebody kills it.
func practise(path, name, count string) error {
	ctx := context.Background()
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		return err
	}
	defer book.Close()
	who, err := book.LearnerByName(ctx, name)
	if errors.Is(err, record.ErrNotFound) {
		who, err = book.AddLearner(ctx, scoring.Learner{Name: name, At: time.Now()})
	}
	if err != nil {
		return err
	}
	s := scoring.Sitting{ID: record.NewSittingID(time.Now()), Learner: who.ID, Started: time.Now(),
		Setup: exercises.Setup{Kind: exercises.ValueFirst, Count: 1000}}
	if err := book.StartSitting(ctx, s); err != nil {
		return err
	}
	most := 1_000_000
	if count != "" {
		if _, err := fmt.Sscan(count, &most); err != nil {
			return err
		}
	}
	for i := range most {
		answered := colour.SRGB{R: uint8(i), G: uint8(i >> 8), B: 9}
		a := scoring.Attempt{Sitting: s.ID, Learner: who.ID, At: time.Now(),
			Trial:  exercises.Trial{Kind: exercises.ValueFirst, Version: 1, Ordinal: i, Target: colour.Grey(uint8(i))},
			Answer: exercises.Answer{Colour: &answered, Tab: "L78 C16 h86"}}
		if err := book.Append(ctx, a); err != nil {
			return err
		}
		fmt.Println(a.ID())
	}
	return nil
}

// copyFor is the other process: it makes copies until somebody kills it.
func copyFor(path, to string) error {
	for {
		fmt.Println("begun")
		if err := sqlite.Backup(ctx, path, to, true); err != nil {
			return err
		}
	}
}

func child(t *testing.T, path, person, count string) *exec.Cmd {
	t.Helper()
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childBook+"="+path, childPerson+"="+person, childCount+"="+count)
	return c
}

func kept(t *testing.T, path string) map[string]bool {
	t.Helper()
	ctx := context.Background()
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		t.Fatalf("the book does not open: %v", err)
	}
	defer book.Close()
	have := map[string]bool{}
	for a, err := range book.Attempts(ctx, record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		if a.Answer.Colour == nil || a.Answer.Colour.R != uint8(a.Trial.Ordinal) {
			t.Fatalf("attempt %s came back as another", a.ID())
		}
		have[a.ID()] = true
	}
	return have
}

// Whatever moment the program is killed at, every answer that was acknowledged
// is in the book, the book opens, and the drill is there to be resumed.
//
// A run is killed when so many answers as the seed says were acknowledged, and a
// moment later, so that the kill lands anywhere in the writing of the next one. A
// slow machine makes the test slower and proves as much.
func TestKilledProgramsLoseNoAnswer(t *testing.T) {
	const seed, most = 6, 12
	kills := 50
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		kills = 1000
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	path := filepath.Join(t.TempDir(), "book.db")
	acknowledged := map[string]bool{}
	sittings := map[string]bool{}
	least, early := 0, 0
	for range kills {
		c := child(t, path, "Ada", "")
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		after, moment := rng.IntN(most+1), time.Duration(rng.IntN(4000))*time.Microsecond
		if after == 0 { // while the book is made or opened
			moment *= 10
		}
		least += after
		lines := bufio.NewScanner(out)
		given := 0
		for given < after && lines.Scan() {
			given++
			note(t, lines.Text(), acknowledged, sittings)
		}
		if given < after {
			t.Fatalf("seed %d: a program stopped by itself after %d answers", seed, given)
		}
		time.Sleep(moment)
		c.Process.Kill()
		for lines.Scan() { // what it said before it died
			given++
			note(t, lines.Text(), acknowledged, sittings)
		}
		if given == 0 {
			early++
		}
		c.Wait()
	}
	have := kept(t, path)
	t.Logf("seed %d: %d kills, %d of them before an answer, %d answers acknowledged, %d in the book", seed, kills, early, len(acknowledged), len(have))
	if len(acknowledged) < least || least < kills {
		t.Fatalf("%d answers were acknowledged, and the kills waited for %d", len(acknowledged), least)
	}
	lost := 0
	for id := range acknowledged {
		if !have[id] {
			lost++
			t.Errorf("answer %s was acknowledged and is lost", id)
		}
	}
	if lost > 0 {
		t.Errorf("%d answers lost", lost)
	}
	book, err := sqlite.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	unfinished, err := book.Sittings(context.Background(), record.Filter{Unfinished: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(unfinished) < len(sittings) {
		t.Errorf("%d drills can be resumed, %d were broken off", len(unfinished), len(sittings))
	}
}

// note takes down a line of a program that answers.
func note(t *testing.T, line string, acknowledged, sittings map[string]bool) {
	t.Helper()
	if strings.HasPrefix(line, "error:") {
		t.Fatal(line)
	}
	acknowledged[line] = true
	sitting, _, _ := strings.Cut(line, "-")
	sittings[sitting] = true
}

// Eight programs write one book, which none of them found there: no answer is
// lost, and nobody is told that it is locked.
func TestEightProgramsWriteOneBook(t *testing.T) {
	const programs, each = 8, 60
	path := filepath.Join(t.TempDir(), "book.db")
	var all sync.WaitGroup
	for p := range programs {
		all.Go(func() {
			out, err := child(t, path, fmt.Sprintf("Person %d", p), fmt.Sprint(each)).CombinedOutput()
			if err != nil {
				t.Errorf("program %d: %v\n%s", p, err, out[max(0, len(out)-300):])
			}
		})
	}
	all.Wait()
	if have := kept(t, path); len(have) != programs*each {
		t.Errorf("%d answers in the book, %d were given", len(have), programs*each)
	}
}
