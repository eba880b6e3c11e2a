package record

import "shadedrill/scoring"

// Heard is a silent sitting, and whether anything was answered in it.
type Heard struct {
	scoring.Sitting
	Answered bool
}

// Silenced tells of which silent sittings nothing may appear yet: those that have not
// ended, and those of a form whose other parts the same person has yet to end, so that
// nobody meets the second part knowing how the first went. The list holds all silent
// sittings of whoever has one in it under the name of the set; a form that the book does
// not have is known by what its parts say of themselves.
func Silenced(list []Heard, forms []Form) map[scoring.SittingID]bool {
	type taking struct {
		who scoring.LearnerID
		ref scoring.SetRef
	}
	sets := map[scoring.SetRef]scoring.Set{}
	for _, f := range forms {
		set := f.Set()
		sets[set.Ref] = set
	}
	silenced := map[scoring.SittingID]bool{}
	takings := map[taking][]Heard{}
	for _, s := range list {
		if s.Ended.IsZero() {
			silenced[s.ID] = true
		}
		if ref := s.Set(); ref.Kind == scoring.TestSet && ref.Print != "" {
			at := taking{s.Learner, ref}
			takings[at] = append(takings[at], s)
		}
	}
	for at, of := range takings {
		set, known := sets[at.ref]
		if known && overBy(set, of) || !known && overByThemselves(of) {
			continue
		}
		for _, s := range of {
			// What has ended and asked something else gives nothing of the form away.
			if _, asked := set.Part(s.Setup); asked || !known {
				silenced[s.ID] = true
			}
		}
	}
	return silenced
}

func overBy(set scoring.Set, of []Heard) bool {
	p := NewProgress(set)
	for _, s := range of {
		given := 0
		if s.Answered {
			given = 1
		}
		p.Take(set, s.Sitting, given)
	}
	return p.Over()
}

func overByThemselves(of []Heard) bool {
	parts, ended := 1, map[int]bool{}
	for _, s := range of {
		part, n := scoring.PartOf(s.Setup)
		if parts = max(parts, n); s.Answered && !s.Ended.IsZero() {
			ended[part] = true
		}
	}
	return len(ended) >= parts
}
