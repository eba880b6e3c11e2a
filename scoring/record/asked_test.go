package record_test

import (
	"context"
	"math/rand/v2"
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

// An answer to a question that a session never asked is found though its chain holds, as
// it does for whoever writes a book with a program of their own.
func TestAnAnswerToAnotherQuestionIsFound(t *testing.T) {
	ctx := context.Background()
	for _, forged := range []bool{false, true} {
		book := record.NewMemory()
		who := recordtest.Person(t, book, "Ada Finch")
		panel, err := book.AddPanel(ctx, record.Panel{Name: "weekly", At: recordtest.Noon,
			Setup: exercises.Setup{Kind: exercises.TryIn, Version: version(t, exercises.TryIn), Count: 3, Repeats: 1, Seed: 5, Silent: true, Viewing: exercises.DefaultViewing()}})
		if err != nil {
			t.Fatal(err)
		}
		now := recordtest.Noon
		drill, err := record.Take(ctx, book, panel.Set(), who, scoring.DisplayCheck{}, func() time.Time { now = now.Add(time.Second); return now })
		if err != nil {
			t.Fatal(err)
		}
		s := drill.Sitting()
		at := -1
		if forged {
			at = 1
		}
		answerAll(t, book, drill, nil, at)
		found, err := record.Verify(ctx, book, nil)
		if err != nil {
			t.Fatal(err)
		}
		broken, err := record.VerifyChains(ctx, book, record.Filter{Within: panel.Set().Ref.String()})
		if err != nil {
			t.Fatal(err)
		}
		const says = "1 answer is to a question that the set does not ask (the first is number 2)"
		if got := strings.Join(found.Findings, "; "); found.Sound() == forged || forged && !strings.Contains(got, says) {
			t.Errorf("forged %v: the check of the book says %q", forged, got)
		}
		if got := strings.Join(broken[s.ID], "; "); forged != (got == says) || !forged && got != "" {
			t.Errorf("forged %v: a report is told %q", forged, got)
		}
	}
}

// A verifier that remembers what a set asks finds the second person's forged answer as well
// as the first's, and knows a form that was laid down after it had asked for forms.
func TestAVerifierThatRemembersForgetsNothing(t *testing.T) {
	ctx := context.Background()
	book := record.NewMemory()
	sheet := recordtest.Sheet(t)
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	verifier := record.NewVerifier(book)
	now := recordtest.Noon
	take := func(form record.Form, name string, forged bool) scoring.Sitting {
		t.Helper()
		who := recordtest.Person(t, book, name)
		drill, err := record.Take(ctx, book, form.Set(), who, scoring.DisplayCheck{}, func() time.Time { now = now.Add(time.Second); return now })
		if err != nil {
			t.Fatal(err)
		}
		at := -1
		if forged {
			at = 2
		}
		answerAll(t, book, drill, sheet, at)
		return drill.Sitting()
	}
	for _, name := range []string{"spring", "autumn"} {
		form, err := book.AddForm(ctx, recordtest.Form(t, name, name[0], 4, sheet, exercises.ValueFirst))
		if err != nil {
			t.Fatal(err)
		}
		var forgeries []scoring.SittingID
		for i, forged := range []bool{false, true, false, true} {
			s := take(form, name+" "+string(rune('a'+i)), forged)
			if forged {
				forgeries = append(forgeries, s.ID)
			}
			if why, err := verifier.Uncompared(ctx, s); why != "" || err != nil {
				t.Errorf("%s: said not to be comparable: %q, %v", name, why, err)
			}
		}
		broken, err := verifier.Chains(ctx, record.Filter{Within: form.Set().Ref.String()})
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range forgeries {
			if got := strings.Join(broken[id], "; "); !strings.Contains(got, "1 answer is to a question that the set does not ask (the first is number 3)") {
				t.Errorf("%s: of a forged sitting it is said %q", name, got)
			}
		}
		if len(broken) != len(forgeries) {
			t.Errorf("%s: %d sittings are broken, want %d: %v", name, len(broken), len(forgeries), broken)
		}
	}
}

// answerAll gives every answer of a drill; with a place from 0 it is broken off there, by an
// answer to another question that is written past the drill.
func answerAll(t *testing.T, book record.Book, drill *record.Drill, sheet *tabs.Sheet, forgedAt int) {
	t.Helper()
	ctx, s := context.Background(), drill.Sitting()
	kind, err := exercises.ByID(s.Setup.Kind)
	if err != nil {
		t.Fatal(err)
	}
	setup := s.Setup
	setup.Sheet = sheet
	rng := rand.New(rand.NewPCG(1, 2))
	for trial, more := drill.Trial(); more; trial, more = drill.Trial() {
		answer := kind.Simulate(trial, setup, observer.Observer{Noise: 1}, rng)
		if trial.Ordinal == forgedAt {
			trial.Target = colour.Grey(trial.Target.R)
			if err := book.Append(ctx, scoring.Attempt{Sitting: s.ID, Learner: s.Learner, At: s.Started.Add(time.Minute), Trial: trial, Answer: answer}); err != nil {
				t.Fatal(err)
			}
			return
		}
		if _, _, err := drill.Answer(ctx, answer); err != nil {
			t.Fatal(err)
		}
	}
}

func version(t *testing.T, id exercises.KindID) int {
	t.Helper()
	kind, err := exercises.ByID(id)
	if err != nil {
		t.Fatal(err)
	}
	return kind.Version()
}

// Of a form whose second part is to come nothing is told; of what has ended and only bears
// its name, asking something else, everything.
func TestWhatOnlyBearsTheNameOfAFormIsTold(t *testing.T) {
	form := recordtest.Form(t, "spring", 1, 4, recordtest.Sheet(t), exercises.ValueFirst, exercises.LineUp)
	set := form.Set()
	heard := func(id scoring.SittingID, setup exercises.Setup, minutes int) record.Heard {
		s := scoring.Sitting{ID: id, Learner: "ada", Within: set.Ref.String(), Setup: setup, Started: recordtest.Noon.Add(time.Duration(minutes) * time.Minute)}
		s.Ended = s.Started.Add(time.Minute)
		return record.Heard{Sitting: s, Answered: true}
	}
	other := form.Parts[0]
	other.Count++
	first, second, foreign := heard("first", form.Parts[0], 0), heard("second", form.Parts[1], 2), heard("foreign", other, 4)
	forms := []record.Form{form}
	if got := record.Silenced([]record.Heard{first, foreign}, forms); !got["first"] || got["foreign"] {
		t.Errorf("before the second part: %v", got)
	}
	if got := record.Silenced([]record.Heard{first, foreign, second}, forms); len(got) != 0 {
		t.Errorf("after both parts: %v", got)
	}
	if got := record.Silenced([]record.Heard{first, foreign}, nil); !got["first"] || !got["foreign"] {
		t.Errorf("of a form that is not in the book: %v", got)
	}
}
