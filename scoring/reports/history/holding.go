package history

import (
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Holding is the history without the sittings named.
func (h *History) Holding(broken record.Broken) *History {
	if len(broken) == 0 {
		return h
	}
	rest := *h
	rest.Attempts, rest.Sittings, rest.Kinds = 0, 0, nil
	for _, k := range h.Kinds {
		only := *k
		only.Attempts, only.Sittings = 0, nil
		for _, s := range k.Sittings {
			if _, bad := broken[s.ID]; !bad {
				only.Sittings = append(only.Sittings, s)
				only.Attempts += s.Count()
			}
		}
		if len(only.Sittings) > 0 {
			rest.Kinds = append(rest.Kinds, &only)
			rest.Attempts += only.Attempts
			rest.Sittings += len(only.Sittings)
		}
	}
	return &rest
}

// UnheldWords say that answers are not counted since they are not as they were
// given, a line a sitting; who says whose they are where that is not plain.
func UnheldWords(broken record.Broken, who string) []string {
	var ids []scoring.SittingID
	for id := range broken {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	if who != "" {
		who = " (" + who + ")"
	}
	var lines []string
	for _, id := range ids {
		lines = append(lines, "Not counted, since it is not as it was taken: "+broken.Words(id)+who+".")
	}
	return lines
}
