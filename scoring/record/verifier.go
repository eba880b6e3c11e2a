package record

import (
	"context"
	"sync"
	"time"

	"shadedrill/scoring"
)

// Verifier verifies the sittings of many people, who take the same sets. It remembers the
// forms that it has found, which never change, and the trials that sets ask.
type Verifier struct {
	book Chained

	mu     sync.Mutex
	forms  map[scoring.SetRef]found
	trials map[string][][]byte // by setup, see asked
}

type found struct {
	form Form
	set  scoring.Set
}

// mostRemembered is of how many setups trials are remembered.
const mostRemembered = 1000

// NewVerifier verifies what lies in a book.
func NewVerifier(book Chained) *Verifier {
	return &Verifier{book: book, forms: map[scoring.SetRef]found{}, trials: map[string][][]byte{}}
}

// VerifyChains verifies as [Verifier.Chains] does.
func VerifyChains(ctx context.Context, book Chained, f Filter) (Broken, error) {
	return NewVerifier(book).Chains(ctx, f)
}

// remembering is the book of a verifier, with the forms that it remembers.
type remembering struct {
	Asked
	by *Verifier
}

func (v *Verifier) remembering() remembering { return remembering{v.book, v} }

func (r remembering) find(ctx context.Context, ref scoring.SetRef) (Form, scoring.Set, bool, error) {
	r.by.mu.Lock()
	known, ok := r.by.forms[ref]
	r.by.mu.Unlock()
	if ok {
		return known.form, known.set, true, nil
	}
	form, set, ok, err := findForm(ctx, r.Asked, ref)
	if ok && err == nil {
		r.by.mu.Lock()
		defer r.by.mu.Unlock()
		r.by.forms[ref] = found{form, set}
	}
	return form, set, ok, err
}

// Uncompared says of a set's sitting why its trials cannot be asked again and held
// against its answers; empty where they can.
func (v *Verifier) Uncompared(ctx context.Context, s scoring.Sitting) (why string, err error) {
	return uncompared(ctx, v.remembering(), s)
}

// Chains verifies the chains of all sittings that the filter takes by
// learner, sitting and what they are within, and holds the trials of sets against what
// they ask. For a report that decides something: a sitting that is in the result is
// named and not counted.
func (v *Verifier) Chains(ctx context.Context, f Filter) (Broken, error) {
	book := v.book
	f.Kind, f.From, f.To, f.Silent = "", time.Time{}, time.Time{}, true // a chain is verified whole
	list, err := book.Sittings(ctx, f)
	if err != nil {
		return nil, err
	}
	chains := map[scoring.SittingID]Chain{}
	for c, err := range book.Chains(ctx, f) {
		if err != nil {
			return nil, err
		}
		chains[c.Sitting] = c
	}
	broken := Broken{}
	verify := func(id scoring.SittingID, answers []scoring.Attempt) error {
		s, err := book.Sitting(ctx, id)
		if err != nil {
			return err
		}
		if len(VerifyChain(s, answers, chains[id])) == 0 {
			if what, err := v.verifyTrials(ctx, v.remembering(), s, answers); err != nil || len(what) == 0 {
				return err
			}
		}
		// Somebody may have answered meanwhile.
		what, err := verifySitting(ctx, book, id)
		if len(what) > 0 {
			broken[id] = what
		}
		return err
	}
	var answers []scoring.Attempt
	done := map[scoring.SittingID]bool{}
	flush := func() error {
		if len(answers) == 0 {
			return nil
		}
		id := answers[0].Sitting
		err := verify(id, answers)
		answers, done[id] = answers[:0], true
		return err
	}
	for a, err := range book.Attempts(ctx, f) {
		if err != nil {
			return nil, err
		}
		if len(answers) > 0 && answers[0].Sitting != a.Sitting {
			if err := flush(); err != nil {
				return nil, err
			}
		}
		answers = append(answers, a)
	}
	if err := flush(); err != nil {
		return nil, err
	}
	for _, s := range list {
		if !done[s.ID] { // without an answer
			if err := verify(s.ID, nil); err != nil {
				return nil, err
			}
		}
	}
	return broken, nil
}

// verifySitting verifies the chain of one sitting, which may be in use, and of a set's
// sitting that its trials are those of the set.
func verifySitting(ctx context.Context, book Chained, id scoring.SittingID) (broken []string, err error) {
	f := Filter{Sitting: id, Silent: true}
	for range 5 {
		var before, after Chain
		if before, err = oneChain(ctx, book, f); err != nil {
			return nil, err
		}
		s, err := book.Sitting(ctx, id)
		if err != nil {
			return nil, err
		}
		var answers []scoring.Attempt
		for a, err := range book.Attempts(ctx, f) {
			if err != nil {
				return nil, err
			}
			answers = append(answers, a)
		}
		if broken = VerifyChain(s, answers, before); len(broken) == 0 {
			return NewVerifier(book).verifyTrials(ctx, book, s, answers)
		}
		if after, err = oneChain(ctx, book, f); err != nil {
			return nil, err
		}
		if after.Head == before.Head && after.End == before.End {
			break // nobody has answered meanwhile
		}
	}
	return broken, nil
}

func oneChain(ctx context.Context, book Chained, f Filter) (Chain, error) {
	for c, err := range book.Chains(ctx, f) {
		return c, err
	}
	return Chain{}, nil
}
