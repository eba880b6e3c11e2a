package main

import (
	"context"
	"errors"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
)

// takeSet shows the trainer with an assignment, a calibration session or a test.
// Who is named is told before the screen is touched what stands in the way.
func (a *app) takeSet(ctx context.Context, book record.Book, set scoring.Set) error {
	if name := a.learnerName(); name != "" {
		who, err := book.LearnerByName(ctx, name)
		switch {
		case errors.Is(err, record.ErrNotFound) && set.Class != "":
			_, err = a.person(ctx, book) // who is not in the book is in no class
			return err
		case errors.Is(err, record.ErrNotFound): // entered by the trainer
		case err != nil:
			return err
		default:
			if _, err := record.MayTake(ctx, book, set, who); err != nil {
				return err
			}
		}
	}
	return a.train(ctx, trainer.Config{Book: book, Set: &set})
}
