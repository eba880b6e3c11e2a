package history

import (
	"context"
	"fmt"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Displays counts the sittings of a person by what is known of their display.
type Displays struct{ All, Failed, None int }

// Add counts a sitting.
func (d *Displays) Add(s scoring.Sitting) {
	switch d.All++; s.DisplayState() {
	case scoring.DisplayFailed:
		d.Failed++
	case scoring.DisplayNone:
		d.None++
	}
}

// Displays are those of the sittings with an answer.
func (h *History) Displays() (d Displays) {
	seen := map[scoring.SittingID]bool{}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			if !seen[s.ID] {
				seen[s.ID] = true
				d.Add(s.Sitting)
			}
		}
	}
	return d
}

// DisplaysIn are those of all sittings with answers that a filter lets through.
func DisplaysIn(ctx context.Context, book Book, f record.Filter) (d Displays, err error) {
	list, err := record.Answered(ctx, book, f)
	for _, s := range list {
		d.Add(s)
	}
	return d, err
}

// Words say of one person what stands against their displays; "" for nothing.
func (d Displays) Words() string {
	var words []string
	if d.Failed > 0 {
		words = append(words, fmt.Sprintf("failed its check in %d of %s", d.Failed, scoring.Count(d.All, "sitting", "sittings")))
	}
	if d.None > 0 {
		words = append(words, fmt.Sprintf("was not checked in %d of %s", d.None, scoring.Count(d.All, "sitting", "sittings")))
	}
	return strings.Join(words, " and ")
}

// LeaveOut is the command line's way to a report without doubtful displays.
const LeaveOut = "Only what was done on displays that passed their check: --display checked."

// AllChecked is said where a report without doubtful displays was asked for and there are
// none.
const AllChecked = "Only sittings on checked displays were asked for: all are."

// DisplayLine says of several people whose displays failed their check or have none, in
// how many sittings where not in all, and whether these are left out; "" where there are
// none.
func DisplayLine(names []string, of []Displays, leftOut bool) string {
	var failed, none []string
	for i, d := range of {
		say := func(n int) string {
			if n == d.All {
				return names[i]
			}
			return fmt.Sprintf("%s (%d of %d sittings)", names[i], n, d.All)
		}
		if d.Failed > 0 {
			failed = append(failed, say(d.Failed))
		}
		if d.None > 0 {
			none = append(none, say(d.None))
		}
	}
	var parts []string
	if len(failed) > 0 {
		parts = append(parts, "display check failed: "+few(failed))
	}
	if len(none) > 0 {
		parts = append(parts, "no display check: "+few(none))
	}
	switch {
	case len(parts) == 0 && leftOut:
		return AllChecked
	case len(parts) == 0:
		return ""
	case leftOut:
		return "Left out: " + strings.Join(parts, "; ") + "."
	}
	words := strings.Join(parts, "; ")
	return strings.ToUpper(words[:1]) + words[1:] + ". They may have seen other colours than were meant."
}

func few(names []string) string {
	const most = 8
	if n := len(names); n > most {
		return strings.Join(names[:most], ", ") + fmt.Sprintf(" and %d more", n-most)
	}
	return strings.Join(names, ", ")
}

// OnCheckedDisplays is a book to [Read] from, without the sittings whose display failed its
// check or has none.
func OnCheckedDisplays(book Book) Book { return onChecked{book} }

type onChecked struct{ Book }

func (b onChecked) Sittings(ctx context.Context, f record.Filter) (kept []scoring.Sitting, err error) {
	list, err := b.Book.Sittings(ctx, f)
	for _, s := range list {
		if s.DisplayState().Trusted() {
			kept = append(kept, s)
		}
	}
	return kept, err
}
