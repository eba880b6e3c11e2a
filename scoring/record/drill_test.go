package record_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// stubborn is a book that refuses an answer as often as told before it takes it.
type stubborn struct {
	record.Book
	refuse int
	seen   func() // called as the answer comes in
}

var errStubborn = errors.New("no room on the disk")

func (s *stubborn) Append(ctx context.Context, a scoring.Attempt) error {
	if s.seen != nil {
		s.seen()
	}
	if s.refuse > 0 {
		s.refuse--
		return errStubborn
	}
	return s.Book.Append(ctx, a)
}

func (s *stubborn) EndSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error {
	if s.refuse > 0 {
		s.refuse--
		return errStubborn
	}
	return s.Book.EndSitting(ctx, id, at, left)
}

// An end that the book refuses is not taken for written: tried again it is in the book,
// and once more it changes nothing.
func TestAnEndThatWasRefusedIsTriedAgain(t *testing.T) {
	ctx := context.Background()
	book := &stubborn{Book: record.NewMemory(), refuse: 2}
	who := recordtest.Person(t, book, "Ada Finch")
	now := recordtest.Noon
	drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: exercises.Setup{Kind: exercises.TryIn, Count: 1, Seed: 1, Viewing: exercises.DefaultViewing()}},
		func() time.Time { now = now.Add(time.Second); return now })
	if err != nil {
		t.Fatal(err)
	}
	for try := 1; book.refuse > 0; try++ {
		if err := drill.End(ctx, true); !errors.Is(err, errStubborn) {
			t.Fatalf("try %d: the book took no end, and the drill says %v", try, err)
		}
	}
	var first time.Time
	for try := range 2 {
		if err := drill.End(ctx, try == 0); err != nil {
			t.Fatal(err)
		}
		s, err := book.Sitting(ctx, drill.Sitting().ID)
		if err != nil || s.Ended.IsZero() || !s.Left {
			t.Fatalf("ended %v, left %v, %v", s.Ended, s.Left, err)
		}
		if first.IsZero() {
			first = s.Ended
		}
		if !s.Ended.Equal(first) {
			t.Errorf("the end moved from %v to %v", first, s.Ended)
		}
	}
}

// drillOf is a short drill of any kind.
func drillOf(kind exercises.Kind, sheet *tabs.Sheet) exercises.Setup {
	s := exercises.Setup{Kind: kind.ID(), Count: 7, Seed: 11, Sheet: sheet, Viewing: exercises.DefaultViewing()}
	if s.Kind == exercises.Threshold {
		s.Task = exercises.TaskWhich
	}
	return s
}

// played is a drill of one kind, each answer of which is refused so many times
// before it is taken; the marks come back.
func played(t *testing.T, kind exercises.Kind, sheet *tabs.Sheet, refusals int) []scoring.Mark {
	t.Helper()
	ctx := context.Background()
	book := &stubborn{Book: record.NewMemory()}
	who := recordtest.Person(t, book, "Ada Finch")
	now := recordtest.Noon
	setup := drillOf(kind, sheet)
	drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup}, func() time.Time { now = now.Add(time.Second); return now })
	if err != nil {
		t.Fatalf("%s: %v", kind.ID(), err)
	}
	rng := rand.New(rand.NewPCG(3, 9))
	var marks []scoring.Mark
	for trial, ok := drill.Trial(); ok && len(marks) < 12; trial, ok = drill.Trial() {
		answer := kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 2, SeenAt: 1, Steepness: 3}, rng)
		n := len(marks)
		book.seen = func() {
			if still, _ := drill.Trial(); !reflect.DeepEqual(still, trial) || drill.Given() != n {
				t.Errorf("%s, answer %d: the drill went on before the answer was in the book", kind.ID(), n)
			}
		}
		book.refuse = refusals
		for range refusals {
			a, mark, err := drill.Answer(ctx, answer)
			if !errors.Is(err, errStubborn) {
				t.Fatalf("%s, answer %d was refused and the drill says %v", kind.ID(), n, err)
			}
			if !reflect.DeepEqual(a, scoring.Attempt{}) || !reflect.DeepEqual(mark, scoring.Mark{}) {
				t.Errorf("%s, answer %d was refused and yet marked: %+v", kind.ID(), n, mark)
			}
			if still, ok := drill.Trial(); !ok || !reflect.DeepEqual(still, trial) || drill.Given() != n {
				t.Fatalf("%s, answer %d was refused, and its trial is no longer the current one", kind.ID(), n)
			}
			if have := len(recordtest.All(t, book, record.Filter{})); have != n {
				t.Fatalf("%s: %d answers in the book after %d", kind.ID(), have, n)
			}
		}
		a, mark, err := drill.Answer(ctx, answer)
		if err != nil {
			t.Fatal(err)
		}
		have := recordtest.All(t, book, record.Filter{})
		if len(have) != n+1 || !record.SameAttempt(have[n], a) {
			t.Fatalf("%s, answer %d was marked and is not in the book", kind.ID(), n)
		}
		marks = append(marks, mark)
	}
	return marks
}

// An answer is in the book before its mark comes back. One that the book refuses is
// neither marked nor counted, its trial stays, and given again it gets the mark it
// would have got at once, in every exercise.
func TestAnAnswerIsKeptBeforeItIsMarked(t *testing.T) {
	library, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(library, nil)
	for _, kind := range exercises.Kinds() {
		at := played(t, kind, sheet, 0)
		if len(at) == 0 {
			t.Fatalf("%s: nothing was asked", kind.ID())
		}
		if late := played(t, kind, sheet, 2); !reflect.DeepEqual(late, at) {
			t.Errorf("%s: answers that were refused twice are marked otherwise:\n%+v\n%+v", kind.ID(), late, at)
		}
	}
}

// changing is a book that changes the answered colour once it has it, to bear
// witness of what was done after that and what before.
type changing struct {
	record.Book
	to colour.SRGB
}

func (c *changing) Append(ctx context.Context, a scoring.Attempt) error {
	err := c.Book.Append(ctx, a)
	*a.Answer.Colour = c.to
	return err
}

// No mark is made before the book has the answer: whatever goes wrong in marking, the
// answer is kept.
func TestNothingIsMarkedBeforeTheBookHasIt(t *testing.T) {
	ctx := context.Background()
	book := &changing{record.NewMemory(), colour.SRGB{R: 9, G: 9, B: 9}}
	who := recordtest.Person(t, book, "Ada Finch")
	drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: exercises.Setup{Kind: exercises.ValueFirst, Count: 3, Seed: 1, Sheet: recordtest.Sheet(t), Viewing: exercises.DefaultViewing()}},
		func() time.Time { return recordtest.Noon })
	if err != nil {
		t.Fatal(err)
	}
	trial, _ := drill.Trial()
	given := trial.Target
	_, mark, err := drill.Answer(ctx, exercises.Answer{Colour: &given})
	if err != nil {
		t.Fatal(err)
	}
	if want := colour.DeltaE00(trial.Target.Lab(), book.to.Lab()); mark.Difference.E != want {
		t.Errorf("the mark tells ΔE00 %.2f, made after the append it would tell %.2f", mark.Difference.E, want)
	}
	if kept := recordtest.All(t, book, record.Filter{}); len(kept) != 1 || *kept[0].Answer.Colour != trial.Target {
		t.Errorf("the book keeps %+v", kept)
	}
}

// After the last trial an answer is refused and nothing is written.
func TestNoAnswerAfterTheLastTrial(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	who := recordtest.Person(t, book, "Ada Finch")
	now := recordtest.Noon
	drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: exercises.Setup{Kind: exercises.TryIn, Count: 1, Seed: 1, Viewing: exercises.DefaultViewing()}},
		func() time.Time { now = now.Add(time.Second); return now })
	if err != nil {
		t.Fatal(err)
	}
	answer := exercises.Answer{Choice: exercises.Seat, Directions: &exercises.Directions{}}
	if _, _, err := drill.Answer(ctx, answer); err != nil {
		t.Fatal(err)
	}
	if _, _, err := drill.Answer(ctx, answer); !errors.Is(err, record.ErrOver) {
		t.Errorf("error %v, want %v", err, record.ErrOver)
	}
	if n := len(recordtest.All(t, book, record.Filter{})); n != 1 || drill.Given() != 1 {
		t.Errorf("%d answers in the book, %d counted", n, drill.Given())
	}
}

// A drill broken off after any of its answers and taken up again asks what it
// would have asked, and marks as it would have marked.
func TestResumedDrillGoesOnAsItWouldHave(t *testing.T) {
	ctx := context.Background()
	library, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(library, nil)
	for _, kind := range exercises.Kinds() {
		setup := drillOf(kind, sheet)
		play := func(breaks bool) (trials []exercises.Trial, marks []scoring.Mark) {
			book := record.NewMemory()
			who := recordtest.Person(t, book, "Ada Finch")
			now := recordtest.Noon
			clock := func() time.Time { now = now.Add(time.Second); return now }
			drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup}, clock)
			if err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(3, 9))
			for trial, ok := drill.Trial(); ok && len(trials) < 12; trial, ok = drill.Trial() {
				_, mark, err := drill.Answer(ctx, kind.Simulate(trial, drill.Sitting().Setup, observer.Observer{Noise: 2, SeenAt: 1, Steepness: 3}, rng))
				if err != nil {
					t.Fatal(err)
				}
				trials, marks = append(trials, trial), append(marks, mark)
				if breaks {
					if drill, err = record.Resume(ctx, book, drill.Sitting().ID, clock); err != nil {
						t.Fatal(err)
					}
					if drill.Given() != len(trials) {
						t.Fatalf("%s: %d answers given, %d remembered", kind.ID(), len(trials), drill.Given())
					}
				}
			}
			return trials, marks
		}
		trials, marks := play(false)
		againTrials, againMarks := play(true)
		if !reflect.DeepEqual(trials, againTrials) {
			t.Errorf("%s: a drill broken off after every answer asks something else", kind.ID())
		}
		if !reflect.DeepEqual(marks, againMarks) {
			t.Errorf("%s: a drill broken off after every answer marks otherwise", kind.ID())
		}
	}
}

// Under other rules a drill would ask something else under its old answers: it is
// kept, and not gone on with. Nor is one that has ended.
func TestOnlyWhatGoesOnTheSameIsResumed(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	who := recordtest.Person(t, book, "Ada Finch")
	kind, err := exercises.ByID(exercises.TryIn)
	if err != nil {
		t.Fatal(err)
	}
	s := scoring.Sitting{ID: "S1", Learner: who.ID, Started: recordtest.Noon, Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version() + 1, Count: 3, Seed: 1}}
	if err := book.StartSitting(ctx, s); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Resume(ctx, book, "S1", time.Now); err == nil || !strings.Contains(err.Error(), "rules") {
		t.Errorf("of other rules: error %v", err)
	}
	s.ID, s.Setup.Version = "S2", kind.Version()
	if err := book.StartSitting(ctx, s); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Resume(ctx, book, "S2", time.Now); err != nil {
		t.Errorf("of the rules of today: error %v", err)
	}
	if err := book.EndSitting(ctx, "S2", recordtest.Noon.Add(time.Hour), true); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Resume(ctx, book, "S2", time.Now); err == nil || !strings.Contains(err.Error(), "ended") {
		t.Errorf("ended: error %v", err)
	}
}

// sheetless is a book that has no room for a sheet.
type sheetless struct{ record.Book }

func (sheetless) PutSheet(context.Context, *tabs.Sheet) error { return errStubborn }

// No drill begins whose sheet the book could not keep.
func TestADrillBeginsWithItsSheet(t *testing.T) {
	ctx := context.Background()
	book := sheetless{record.NewMemory()}
	who := recordtest.Person(t, book, "Ada Finch")
	_, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: exercises.Setup{Kind: exercises.ValueFirst, Count: 3, Seed: 1, Sheet: recordtest.Sheet(t)}}, time.Now)
	if !errors.Is(err, errStubborn) {
		t.Errorf("error %v, want %v", err, errStubborn)
	}
	if list, _ := book.Sittings(ctx, record.Filter{}); len(list) > 0 {
		t.Errorf("and yet %d sittings began", len(list))
	}
}

// The first try that was done to its end counts, not the best of many; where leaving
// ends a part, the first try with an answer.
func TestTheFirstTryDoneCounts(t *testing.T) {
	setup := exercises.Setup{Kind: exercises.TryIn, Count: 3, Seed: 1}
	set := scoring.Set{Ref: scoring.SetRef{Kind: scoring.AssignmentSet, Name: "first"}, Parts: []exercises.Setup{setup}, Over: scoring.AtItsEnd}
	end := recordtest.Noon.Add(time.Hour)
	sitting := func(id scoring.SittingID, ended time.Time, left bool) scoring.Sitting {
		return scoring.Sitting{ID: id, Setup: setup, Within: set.Ref.String(), Ended: ended, Left: left}
	}
	other := sitting("other", end, false)
	other.Setup.Seed = 2
	tries := []scoring.Sitting{other, sitting("left", end, true), sitting("first", end, false), sitting("second", end, false), sitting("open", time.Time{}, false)}
	p := record.NewProgress(set)
	for _, s := range tries {
		p.Take(set, s, 3)
	}
	if p.Parts[0].Sitting.ID != "first" || !p.Over() || p.Left != 1 || len(p.Others) != 1 {
		t.Errorf("counts is %q, left %d times, %d others", p.Parts[0].Sitting.ID, p.Left, len(p.Others))
	}
	set.Over = scoring.OnLeaving
	p = record.NewProgress(set)
	for i, s := range tries {
		p.Take(set, s, i/2) // none in the first two
	}
	if p.Parts[0].Sitting.ID != "first" || !p.Over() {
		t.Errorf("where leaving ends it, %q counts", p.Parts[0].Sitting.ID)
	}
}

// Whatever number of tabs a bench may have, the round that took half an hour is kept.
func TestTheLargestBenchIsKept(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	who := recordtest.Person(t, book, "Ada Finch")
	kind, err := exercises.ByID(exercises.Bench)
	if err != nil {
		t.Fatal(err)
	}
	most := kind.Traits().Options[0].Most
	var many []tabs.Tab
	for i := range 12_000 { // so that their numbers are long
		many = append(many, tabs.Tab{Name: fmt.Sprintf("tab %05d", i), Lab: colour.Lab{L: 50 + float64(i)/400, A: 2, B: 20}})
	}
	own, err := tabs.New("own", "", tabs.GroupByValue(many))
	if err != nil {
		t.Fatal(err)
	}
	setup := exercises.Setup{Kind: kind.ID(), Seed: 1, Count: 1, Sheet: tabs.NewSheet(own, nil), Options: map[string]string{exercises.OptionPairs: strconv.Itoa(most)}}
	d, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup}, func() time.Time { return recordtest.Noon })
	if err != nil {
		t.Fatal(err)
	}
	trial, _ := d.Trial()
	_, mark, err := d.Answer(ctx, kind.Simulate(trial, setup, observer.Observer{}, rand.New(rand.NewPCG(1, 1))))
	if err != nil || len(mark.Checks) != most {
		t.Errorf("%d pairs are marked: %v", len(mark.Checks), err)
	}
}
