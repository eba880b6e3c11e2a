package classes

import (
	"context"
	"errors"
	"iter"
	"testing"

	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
)

// faulty is a book over one of whose learners the program fails.
type faulty struct {
	record.Book
	over scoring.LearnerID
}

func (b faulty) Attempts(ctx context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	if f.Learner == b.over {
		panic("an answer that nobody thought of")
	}
	return b.Book.Attempts(ctx, f)
}

func TestAFaultOverOneLearnerIsAnError(t *testing.T) {
	book, class := classOf(t, 5, pupil{name: "A", observer: observer.Observer{Noise: 1}, sittings: 2}, pupil{name: "B", observer: observer.Observer{Noise: 1}, sittings: 2})
	_, err := Read(context.Background(), faulty{book, class.People[1].ID}, class, record.Filter{})
	var p *history.Panic
	if !errors.As(err, &p) {
		t.Errorf("%v", err)
	}
}
