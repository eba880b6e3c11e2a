package exam

import (
	"context"
	"fmt"
	"iter"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Standard is the usual form: a part with targets that are exactly tabs of a coarse
// library, for the share right; and one with any tooth colour and a finer library,
// for the median ΔE00 and the leans, which coarse tabs cannot show.
func Standard(name string, items int, coarse, fine *tabs.Sheet) (Form, error) {
	f, err := NewForm(name, []exercises.KindID{exercises.ValueFirst}, items)
	if err != nil {
		return f, err
	}
	f.Parts[0].Sheet = coarse
	f.Parts = append(f.Parts, Part{Kind: exercises.ValueFirst, Items: items, Free: true, Sheet: fine})
	return f, nil
}

// OptionPart says which part of a form of several a sitting is: "1 of 2".
const OptionPart = "part"

// PartOf reads which part a setup is and how many there are; 1 of 1 where it does
// not say.
func PartOf(s exercises.Setup) (part, of int) {
	if _, err := fmt.Sscanf(s.Options[OptionPart], "%d of %d", &part, &of); err != nil {
		return 1, 1
	}
	return part, of
}

// OptionExercises names all exercises of a form that was made of named ones, in
// their order and with commas between: "value-first,try-in". Whoever finds one part
// broken off then knows which others follow.
const OptionExercises = "exercises"

// kinds is what OptionExercises says of a form; empty where the exercises alone do
// not make it, as in the usual form.
func (f Form) kinds() string {
	var list []string
	for _, p := range f.Parts {
		if p.Free || p.Sheet != nil || p.Task != "" {
			return ""
		}
		list = append(list, string(p.Kind))
	}
	return strings.Join(list, ",")
}

// FormOf makes the form again of which a setup is a part, where it was made of
// several named exercises; false for any other.
func FormOf(name string, s exercises.Setup) (Form, bool) {
	text, ok := s.Options[OptionExercises]
	if !ok {
		return Form{}, false
	}
	var kinds []exercises.KindID
	for _, id := range strings.Split(text, ",") {
		kinds = append(kinds, exercises.KindID(id))
	}
	f, err := NewForm(name, kinds, s.Items())
	return f, err == nil
}

// Free reports whether a sitting is a free part of a test: it has targets that need
// not be tabs, so that nothing in it is right or wrong.
func Free(s scoring.Sitting) bool {
	_, _, ok := ParseWithin(s.Within)
	return ok && s.Setup.Targets == exercises.NaturalTargets
}

// Sittings is what is read of the book to know how far a form was taken.
type Sittings interface {
	Sittings(context.Context, record.Filter) ([]scoring.Sitting, error)
	Attempts(context.Context, record.Filter) iter.Seq2[scoring.Attempt, error]
}

// Taking is what is still to be done of a form by one person.
type Taking struct {
	Within string
	Take   int                 // the how-many-eth time
	Begun  []scoring.SittingID // parts that were broken off and go on
	Open   []exercises.Setup   // parts that were not begun
}

// Differs is the refusal of a form that was taken with other items before: one name
// must ask everybody the same.
type Differs struct{ error }

// Unwrap returns the refusal with its hint.
func (d *Differs) Unwrap() error { return d.error }

// Next finds which take of the form is a person's next, and which of its parts are
// not done. Sittings without an answer count as not begun.
func Next(ctx context.Context, book Sittings, who scoring.LearnerID, form Form, parts []exercises.Setup) (Taking, error) {
	for take := 1; ; take++ {
		next := Taking{Within: form.Within(take), Take: take}
		filter := record.Filter{Learner: who, Within: next.Within}
		all, err := book.Sittings(ctx, filter)
		if err != nil {
			return next, err
		}
		answered := map[scoring.SittingID]bool{}
		for a, err := range book.Attempts(ctx, filter) {
			if err != nil {
				return next, err
			}
			answered[a.Sitting] = true
		}
		found := map[int]bool{} // parts
		done := 0
		for _, s := range all {
			if !answered[s.ID] {
				continue
			}
			i := partLike(parts, s.Setup)
			if i < 0 {
				return next, &Differs{fault.New(fmt.Sprintf("form %s was taken before with %s", form.Name, other(s.Setup)),
					"take it with the same library, exercises and items, or under another name")}
			}
			found[i] = true
			if s.Ended.IsZero() {
				next.Begun = append(next.Begun, s.ID)
			} else {
				done++
			}
		}
		for i, p := range parts {
			if !found[i] {
				next.Open = append(next.Open, p)
			}
		}
		if len(next.Open)+len(next.Begun) > 0 || done == 0 {
			return next, nil
		}
	}
}

// partLike finds the part that a sitting took.
func partLike(parts []exercises.Setup, s exercises.Setup) int {
	for i, p := range parts {
		if p.Kind == s.Kind && p.Task == s.Task && p.Seed == s.Seed && p.Count == s.Count && p.SheetID == s.SheetID && p.Targets == s.Targets {
			return i
		}
	}
	return -1
}

func other(s exercises.Setup) string {
	kind, err := exercises.ByID(s.Kind)
	if err != nil {
		return "another exercise"
	}
	return fmt.Sprintf("%d items of %s from library fingerprint %s", s.Count, strings.ToLower(kind.Title()), s.SheetID)
}
