package transfer

import (
	"context"
	"encoding/json"
	"flag"
	"math"
	"os"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"

	"math/rand/v2"
)

var update = flag.Bool("update", false, "write the golden files anew")

// fixed is a book in which nothing is left to chance: a try-in, tabs that were
// matched, the same in a free part of a test, and pairs of which one differs.
func fixed(t *testing.T) *record.Memory {
	t.Helper()
	ctx := context.Background()
	book := record.NewMemory()
	library, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(library, nil)
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	ada, err := book.AddLearner(ctx, scoring.Learner{ID: "ada", Name: "Ada", At: start, Simulated: true})
	if err != nil {
		t.Fatal(err)
	}
	at := start
	for i, s := range []scoring.Sitting{
		{ID: "tryin", Setup: exercises.Setup{Kind: exercises.TryIn, Targets: exercises.NaturalTargets}},
		{ID: "tabs", Setup: exercises.Setup{Kind: exercises.ValueFirst, Targets: exercises.NaturalTargets, Sheet: sheet}},
		{ID: "free", Within: "exam:A:1", Setup: exercises.Setup{Kind: exercises.ValueFirst, Targets: exercises.NaturalTargets, Sheet: sheet}},
		{ID: "pairs", Setup: exercises.Setup{Kind: exercises.Threshold, Task: exercises.TaskWhich}},
	} {
		kind, err := exercises.ByID(s.Setup.Kind)
		if err != nil {
			t.Fatal(err)
		}
		s.Learner, s.Started = ada.ID, at
		s.Setup.Version, s.Setup.Seed, s.Setup.Count, s.Setup.Viewing = kind.Version(), 3, 4, exercises.DefaultViewing()
		if err := book.StartSitting(ctx, s); err != nil {
			t.Fatal(err)
		}
		run, err := exercises.NewRun(s.Setup)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(6, uint64(i)))
		for range s.Setup.Count {
			trial, ok := run.Next()
			if !ok {
				break
			}
			answer := kind.Simulate(trial, s.Setup, observer.Observer{Noise: 1.2, SeenAt: 1}, rng)
			answer.First, answer.Total, answer.Looks = time.Second, 2*time.Second, 1
			at = at.Add(5 * time.Second)
			if err := book.Append(ctx, scoring.Attempt{Sitting: s.ID, Learner: ada.ID, At: at, Trial: trial, Answer: answer}); err != nil {
				t.Fatal(err)
			}
			run.Take(trial, answer)
		}
	}
	return book
}

// Statements as they were when they were last read with care.
func TestLearningRecordsGolden(t *testing.T) {
	const path = "testdata/statements.golden.json"
	got := export(t, fixed(t), XAPI)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Errorf("the statements are\n%s\nnot\n%s", got, want)
	}
}

// A statement says of an answer what the grades of a class say: the share of right
// judgements over all statements is that of all marks, counted one by one.
func TestLearningRecordsGoByTheMarksOfGrades(t *testing.T) {
	book := fixed(t)
	var all, statements []struct {
		Verb   struct{ ID string }
		Object struct{ ID string }
		Result struct {
			Score   *struct{ Scaled, Raw, Min, Max float64 }
			Success *bool
		}
		Timestamp time.Time
	}
	if err := json.Unmarshal(export(t, book, XAPI), &all); err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		if s.Verb.ID == verbs+"answered" {
			statements = append(statements, s)
		}
	}
	i, partly := 0, 0
	for a, err := range book.Attempts(context.Background(), record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		s := statements[i]
		i++
		if !s.Timestamp.Equal(a.At) {
			t.Fatalf("statement %d is of %v, the answer of %v", i, s.Timestamp, a.At)
		}
		sitting, err := book.Sitting(context.Background(), a.Sitting)
		if err != nil {
			t.Fatal(err)
		}
		sheet, _ := book.Sheet(context.Background(), sitting.Setup.SheetID)
		mark := scoring.MarkOf(a, sheet)
		right, known := mark.Right()
		switch {
		case a.Sitting == "tryin":
			n := 0.0
			for _, c := range mark.Checks {
				if c.Right {
					n++
				}
			}
			if n > 0 && n < 4 {
				partly++
			}
			if x := s.Result.Score; s.Result.Success != nil || x == nil || x.Max != 4 || x.Raw != n || math.Abs(x.Scaled-n/4) > 1e-12 {
				t.Errorf("answer %s has %v of 4 judgements right, the statement says %+v, success %v", a.ID(), n, x, s.Result.Success)
			}
		case scoring.Free(sitting):
			if s.Result.Success != nil || s.Result.Score == nil {
				t.Errorf("answer %s, of a free part, is said to be right or wrong: %+v", a.ID(), s.Result)
			}
		default:
			if s.Result.Success == nil || !known || *s.Result.Success != right || (s.Result.Score == nil) != (sheet == nil) {
				t.Errorf("answer %s is right: %v, the statement says %+v", a.ID(), right, s.Result)
			}
		}
	}
	if i != len(statements) || i != 16 || partly == 0 {
		t.Errorf("%d answers, %d statements, %d of them partly right", i, len(statements), partly)
	}
	// Nothing asked, nothing said.
	if x, ok := worth(whole{attempt: scoring.Attempt{Trial: exercises.Trial{Kind: exercises.TryIn, Target: colour.Grey(100)}}}); x != nil || ok != nil {
		t.Errorf("an answer without judgements is worth %v, %v", x, ok)
	}
}
