package classes

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
)

// RulingWords says what was decided about an assignment; name finds a person.
func RulingWords(a scoring.Assignment, r scoring.Ruling, name func(scoring.LearnerID) string) string {
	who := ""
	if r.Learner != "" {
		who = name(r.Learner)
	}
	switch {
	case r.What == scoring.DueMoved && r.Back:
		return "the due date is again the one given, " + scoring.Moment(a.Due)
	case r.What == scoring.DueMoved:
		return "the due date was moved to " + scoring.Moment(r.Until)
	case r.What == scoring.Extended && r.Back:
		return who + " has no longer than the class"
	case r.What == scoring.Extended:
		return who + " has until " + scoring.Moment(r.Until)
	case r.What == scoring.Excused && r.Back:
		return who + " is not excused any more"
	case r.What == scoring.Excused:
		return who + " is excused"
	case r.What == scoring.Dropped && r.Back:
		return fmt.Sprintf("item %d counts again", r.Item)
	case r.What == scoring.Dropped:
		return fmt.Sprintf("item %d is left out of the grade", r.Item)
	case r.What == scoring.Removed && r.Back:
		return "it was given again"
	}
	return "it was taken back; its answers stay in the book"
}

// rulingNotes are what stands about an assignment now, the last of each, with who
// decided it, when and why.
func rulingNotes(ctx context.Context, book Book, a scoring.Assignment) (notes []string) {
	names := namesOf(ctx, book, a.Class)
	for i, r := range a.Rulings {
		if slices.ContainsFunc(a.Rulings[i+1:], r.Same) {
			continue
		}
		by := "somebody who gave no name"
		if r.By != "" {
			by = names(r.By)
		}
		words := fmt.Sprintf("Decided %s by %s: %s", scoring.Moment(r.At), by, RulingWords(a, r, names))
		if r.Why != "" {
			words += " (" + r.Why + ")"
		}
		notes = append(notes, words+".")
	}
	return notes
}

// goneNotes are those of assignments that were taken back.
func goneNotes(ctx context.Context, book Book, gone []scoring.Assignment) (notes []string) {
	for _, a := range gone {
		for _, words := range rulingNotes(ctx, book, a) {
			notes = append(notes, fmt.Sprintf("Assignment %d (%s, %s): %s", a.Number, a.Code(), strings.ToLower(history.KindTitle(a.Setup.Kind)), words))
		}
	}
	return notes
}

// namesOf finds people of a class, also those who went, and of the book where it tells.
func namesOf(ctx context.Context, book Book, class scoring.ClassID) func(scoring.LearnerID) string {
	known := map[scoring.LearnerID]string{}
	list, _ := book.Roster(ctx, class)
	for _, l := range list {
		known[l.ID] = l.Name
	}
	return func(id scoring.LearnerID) string {
		if name, ok := known[id]; ok {
			return name
		}
		if all, ok := book.(record.People); ok {
			if l, err := all.Learner(ctx, id); err == nil {
				return l.Name
			}
		}
		return "somebody who is not in the class"
	}
}
