package transfer

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// gone stands for somebody who was erased; no identifier is like it.
const gone scoring.LearnerID = "\x00"

// resolve finds who has an identifier of the file in this book: the person it names,
// whoever they were joined with here, and gone where they were erased.
func (m *merging) resolve(ctx context.Context, id scoring.LearnerID) (scoring.LearnerID, error) {
	if here, known := m.who[id]; known {
		return here, nil
	}
	here := id
	l, err := m.into.Learner(ctx, id)
	switch {
	case err == nil:
		here = l.ID
	case errors.Is(err, record.ErrErased):
		here = gone
		m.done.Erased++
	case !errors.Is(err, record.ErrNotFound):
		return "", broken(err)
	}
	m.who[id] = here
	return here, nil
}

// strange prepares somebody who is new to the book: a role that may do more than a
// learner is taken only where that was asked for, and a number only when it is nobody
// else's. Whose name only looks like another one's is told.
func (m *merging) strange(ctx context.Context, l *scoring.Learner) error {
	if m.people == nil {
		list, err := m.into.Learners(ctx)
		if err != nil {
			return broken(err)
		}
		m.people = append(make([]scoring.Learner, 0, len(list)+1), list...)
	}
	if l.Role.Above(scoring.RoleLearner) && !m.rules.Roles {
		m.done.RolesNot = append(m.done.RolesNot, fmt.Sprintf("%s, %s", l.Name, l.Role))
		l.Role = scoring.RoleLearner
	}
	number, err := record.CheckNumber(l.Number)
	if err != nil {
		return err
	}
	for _, p := range m.people {
		if number != "" && strings.EqualFold(p.Number, number) {
			m.done.NumbersNot = append(m.done.NumbersNot, fmt.Sprintf("%s (%s is %s)", l.Name, number, p.Name))
			l.Number = ""
		}
	}
	if p, alike := record.LooksLike(l.Name, m.people); alike {
		m.done.Alike = append(m.done.Alike, Named{Here: p.Name, There: l.Name})
	}
	return nil
}

// ahead is how far the clocks of two machines may differ; house choice. A time that
// lies further ahead would win over every later correction.
const ahead = 24 * time.Hour

func (m *merging) notFuture(what string, t time.Time) error {
	if t.After(m.rules.At.Add(ahead)) {
		return fmt.Errorf("%s is %s, more than a day after the clock of this machine", what, t.UTC().Format(clock))
	}
	return nil
}
