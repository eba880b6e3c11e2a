package history

import (
	"fmt"
	"slices"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// Missing counts items of sittings that were begun and not answered to the end.
func (h *History) Missing() int {
	n := 0
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			n += max(0, s.Setup.Items()-s.Answered())
		}
	}
	return n
}

// Answered counts what [exercises.Setup.Items] plans: answers, or the pairs of a round.
func (s *Sitting) Answered() int {
	if exercises.TraitsOf(s.Setup.Kind).ItemsPerTrial != "" {
		return s.whole.Answers()
	}
	return s.Count()
}

// Answered is that of all sittings.
func (h *History) Answered() int {
	n := 0
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			n += s.Answered()
		}
	}
	return n
}

// PartsMissing counts the parts of a form that have no answer.
func (h *History) PartsMissing() int {
	begun, all := 0, 0
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			_, of := scoring.PartOf(s.Setup)
			begun, all = begun+1, max(all, of)
		}
	}
	return max(0, all-begun)
}

// Right is the share of what was right in exercises pooled; judgements of one
// scene hang together.
func (h *History) Right(kinds []*Kind) scoring.Estimate {
	var sum Tally
	together := 1.0
	for _, k := range kinds {
		together = max(together, scoring.RulesOf(k.ID).Together)
		for _, s := range k.Sittings {
			if scoring.RulesOf(k.ID).Together > 1 {
				sum.Join(s.whole)
				continue
			}
			sum.Join(s.whole.apart())
		}
	}
	return trend.ShareClustered(sum.Right, sum.N, together, Level)
}

// RightWords says what a right answer is in these exercises.
func RightWords(kinds []*Kind) string {
	words := "Right is the nearest tab there was, or, where an exercise asks for a judgement, every part of it."
	acceptable := func(k *Kind) bool {
		return slices.ContainsFunc(k.Sittings, func(s *Sitting) bool { return s.Setup.Options[scoring.OptionRight] == scoring.RightAcceptable })
	}
	if slices.ContainsFunc(kinds, acceptable) {
		words = fmt.Sprintf("Right is an acceptable match: no more than %.1f ΔE00 from the target, which half of observers accept (published; ceramic specimens in a viewing booth).", scoring.Acceptability.Value)
		if slices.ContainsFunc(kinds, func(k *Kind) bool { return !acceptable(k) }) {
			words += " Where an exercise asks for a judgement, right is every part of it."
		}
	}
	for _, k := range kinds {
		if more := scoring.RulesOf(k.ID).SinglyWords; more != "" {
			words += " " + more
		}
	}
	return words
}

// Counted is what a share of right answers counts: items, or, where an item asks for
// several that count for themselves, judgements.
func Counted(kinds []*Kind) string {
	for _, k := range kinds {
		if scoring.RulesOf(k.ID).Singly && exercises.TraitsOf(k.ID).ItemsPerTrial == "" {
			return "judgements"
		}
	}
	return "items"
}

// Only is the part of a history that was answered in one sitting.
func (h *History) Only(id scoring.SittingID) *History {
	part := &History{}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			if s.ID == id {
				part.Kinds = append(part.Kinds, &Kind{ID: k.ID, Title: k.Title, Attempts: s.Count(), Sittings: []*Sitting{s}})
				part.Attempts += s.Count()
			}
		}
	}
	return part
}
