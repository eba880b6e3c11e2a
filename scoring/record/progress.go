package record

import (
	"context"
	"slices"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Progress is how far one person has come with a set.
type Progress struct {
	// Ref names the set, and of one that can be taken again the take that is theirs now.
	Ref   scoring.SetRef
	Parts []Part // one for each of the set
	// Left counts the sittings that were ended early and do not count.
	Left int
	// Others were answered under the set's name and asked something else.
	Others []exercises.Setup
}

// Part is how far one person has come with a part of a set.
type Part struct {
	// Sitting is the one that counts; its ID is empty while there is none.
	Sitting scoring.Sitting
	Given   int // answers in it
}

// begun reports that there is a sitting that counts, Over that nothing more is to
// be answered in it.
func (p Part) begun() bool { return p.Sitting.ID != "" }
func (p Part) Over() bool  { return p.begun() && !p.Sitting.Ended.IsZero() }

// Begun reports whether any part was begun, Over whether all are through with.
func (p Progress) Begun() bool { return p.find(Part.begun) >= 0 }
func (p Progress) Over() bool {
	return len(p.Parts) > 0 && p.find(func(part Part) bool { return !part.Over() }) < 0
}

// Given is how many answers count.
func (p Progress) Given() (n int) {
	for _, part := range p.Parts {
		n += part.Given
	}
	return n
}

// Next is the part to be taken now: one that was begun, else the first that was
// not; −1 when all are over.
func (p Progress) Next() int {
	if i := p.find(func(part Part) bool { return part.begun() && !part.Over() }); i >= 0 {
		return i
	}
	return p.find(func(part Part) bool { return !part.begun() })
}

func (p Progress) find(is func(Part) bool) int {
	for i, part := range p.Parts {
		if is(part) {
			return i
		}
	}
	return -1
}

// NewProgress is that of somebody who has not begun; the sittings then come with
// Take.
func NewProgress(set scoring.Set) Progress {
	return Progress{Ref: set.Ref, Parts: make([]Part, len(set.Parts))}
}

// Take counts a further sitting, the next one begun, with its number of answers.
// What was left at once, before the first answer, is as if it had not been begun.
// Of sittings of one part the first with an answer counts: a later one would be of
// questions whose answers are known. Where a part is over only at its end, the
// first that came to its end counts, and before that the latest.
func (p *Progress) Take(set scoring.Set, s scoring.Sitting, given int) {
	if s.Within != p.Ref.String() {
		return
	}
	i, asked := set.Part(s.Setup)
	if !asked {
		if given > 0 {
			p.Others = append(p.Others, s.Setup)
		}
		return
	}
	part, now := &p.Parts[i], Part{Sitting: s, Given: given}
	switch {
	case set.Over == scoring.AtItsEnd && s.Left:
		p.Left++
	case set.Over == scoring.AtItsEnd:
		if !part.Over() {
			*part = now
		}
	case given > 0 && part.Given == 0, s.Ended.IsZero() && !part.begun():
		*part = now
	}
}

// ProgressOf finds how far a person has come; of a set that can be taken again,
// with the take that is not over.
func ProgressOf(ctx context.Context, book Chained, set scoring.Set, who scoring.LearnerID) (Progress, error) {
	for take := 1; ; take++ {
		p := NewProgress(set)
		p.Ref = set.Take(take)
		f := Filter{Learner: who, Within: p.Ref.String()}
		sittings, err := book.Sittings(ctx, f)
		if err != nil || len(sittings) == 0 {
			return p, err
		}
		given := map[scoring.SittingID]int{}
		answers := f
		answers.Light, answers.Silent = true, true
		for a, err := range book.Attempts(ctx, answers) {
			if err != nil {
				return p, err
			}
			given[a.Sitting]++
		}
		for _, s := range sittings {
			p.Take(set, s, given[s.ID])
		}
		if !set.Again || !p.Over() || len(p.Others) > 0 {
			return p, nil
		}
	}
}

// Taken lists the sets of a kind that a person has sittings of, oldest first.
func Taken(ctx context.Context, book Chained, who scoring.LearnerID, kind scoring.SetKind) (list []scoring.SetRef, err error) {
	sittings, err := book.Sittings(ctx, Filter{Learner: who})
	for _, s := range sittings {
		if ref := s.Set(); ref.Kind == kind && !slices.Contains(list, ref) {
			list = append(list, ref)
		}
	}
	return list, err
}
