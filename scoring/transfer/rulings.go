package transfer

import (
	"context"
	"errors"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Ruled is a ruling and the assignment that it is about, as both are in this book.
type Ruled struct {
	Assignment scoring.Assignment
	Ruling     scoring.Ruling
}

// rulings enters what was decided about an assignment. Of somebody whom this book does
// not have nothing is entered, and who decided is left out where the book does not
// know them.
func (m *merging) rulings(ctx context.Context, c *classMerging, here scoring.Assignment, lines []rulingLine) error {
	var told []scoring.Ruling
	for _, l := range lines {
		if err := m.notFuture("at", l.At); err != nil {
			return err
		}
		r := scoring.Ruling{What: l.What, Learner: l.LearnerID, Item: l.Item, Until: l.Until, Back: l.Back, Why: l.Why, By: l.By, At: l.At}
		r, err := record.CheckRuling(r)
		if err != nil {
			return err
		}
		known, err := m.mine(ctx, &r.Learner)
		if err != nil {
			return err
		}
		if !known {
			continue
		}
		if known, err = m.mine(ctx, &r.By); err != nil {
			return err
		} else if !known {
			r.By = ""
		}
		if err := m.into.PutRuling(ctx, here.ID, r); err != nil {
			return err
		}
		told = append(told, r)
	}
	now, err := m.into.Assignment(ctx, here.Number)
	if err != nil {
		return broken(err)
	}
	m.given[here.ID] = now
	stood := func(a scoring.Assignment, of scoring.Ruling) (last scoring.Ruling) {
		for _, r := range a.Rulings {
			if r.Same(of) {
				last = r
			}
		}
		return last
	}
	for i, r := range told {
		if slices.ContainsFunc(told[i+1:], r.Same) {
			continue // a later one of the file is about the same
		}
		switch before, after := stood(here, r), stood(now, r); {
		case alike(after, r) && !alike(before, r):
			c.done.Ruled = append(c.done.Ruled, Ruled{now, r})
		case !alike(after, r):
			c.done.RuledNot = append(c.done.RuledNot, Ruled{now, after})
		}
	}
	return nil
}

// alike reports whether two rulings about one thing come to the same.
func alike(a, b scoring.Ruling) bool {
	return a.What == b.What && a.Back == b.Back && a.Until.Equal(b.Until)
}

// mine brings an identifier into the one that this book has for the person; false
// where it has nobody. None is known.
func (m *merging) mine(ctx context.Context, id *scoring.LearnerID) (bool, error) {
	if *id == "" {
		return true, nil
	}
	here, err := m.resolve(ctx, *id)
	if err != nil || here == gone {
		return false, err
	}
	switch _, err := m.into.Learner(ctx, here); {
	case errors.Is(err, record.ErrNotFound):
		return false, nil
	case err != nil:
		return false, broken(err)
	}
	*id = here
	return true, nil
}
