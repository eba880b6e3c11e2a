package postgres

import (
	"context"
	"fmt"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
)

// Check verifies what is in the book and changes nothing. What holds the tables together
// (pages, indexes, references) is the database's own affair. form is the book's.
func (b *Book) Check(ctx context.Context, progress func(answers int)) (found record.Inventory, form int, err error) {
	found, err = record.Verify(ctx, b, progress)
	for _, check := range []func(context.Context, *record.Inventory) error{b.CheckTwice, b.CheckForms, b.CheckSeals} {
		if err == nil {
			err = check(ctx, &found)
		}
	}
	return found, newest(), explain(b.name, err)
}

// Whole says whether every row that carries a seal is as it was sealed, and the chains of
// the sittings that the filter takes hold.
func (b *Book) Whole(ctx context.Context, f record.Filter) error {
	var found record.Inventory
	if err := b.CheckSeals(ctx, &found); err != nil {
		return err
	}
	if !found.Sound() {
		return fault.New(fmt.Sprintf("the book %s is damaged: %s", b.name, found.Findings[0]), `see "shadedrill book check"`)
	}
	broken, err := record.VerifyChains(ctx, b, f)
	if err != nil {
		return err
	}
	return broken.Err()
}
