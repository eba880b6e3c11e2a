package sqlite

import (
	"context"
	"fmt"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
)

// Whole says whether the file is sound, every row that carries a seal is as it was
// sealed, and the chains of the sittings that the filter takes hold.
func (b *Book) Whole(ctx context.Context, f record.Filter) error {
	var found record.Inventory
	if err := checkFile(ctx, b.path, &found); err != nil {
		return err
	}
	for _, check := range []func(context.Context, *record.Inventory) error{b.checkLayout, b.CheckSeals} {
		if found.Sound() {
			if err := check(ctx, &found); err != nil {
				return err
			}
		}
	}
	if !found.Sound() {
		return fault.New(fmt.Sprintf("the book %s is damaged: %s", b.path, found.Findings[0]), damaged)
	}
	broken, err := record.VerifyChains(ctx, b, f)
	if err != nil {
		return err
	}
	return broken.Err()
}

const damaged = `see "shadedrill book check"; "shadedrill book salvage" saves into a new book what can still be read`
