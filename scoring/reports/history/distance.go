package history

import (
	"slices"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// How near somebody takes a shade depends on what there is to take: from six tabs that lie
// far apart every answer is far off or exact. So that drills of different levels and
// libraries can stand beside each other, the seeing behind the answers is estimated (see
// [trend.BiasOfChoices]), and from its bias and scatter the distance that half of the
// answers would keep if every shade were there to take.

const (
	// FewestShades is how many answers a distance needs, mostShades how many of the newest
	// make one: house rules.
	FewestShades, mostShades = 12, 80
)

// Distance is the ΔE00 within which half of somebody's shades would lie, from the newest
// answers given from one moment up to another that chose a tab.
func Distance(kinds []*Kind, from, to time.Time) scoring.Estimate {
	var list []Judged
	for _, k := range kinds {
		for _, s := range k.Sittings {
			if s.Tested() || s.Started.Before(from) || !s.Started.Before(to) {
				continue
			}
			for _, j := range s.Judged {
				if j.sheet != nil {
					list = append(list, j)
				}
			}
		}
	}
	list = list[max(0, len(list)-mostShades):]
	n := len(list)
	if n < FewestShades {
		return scoring.Undefined(n, "needs at least 12 shades taken")
	}
	return trend.DistanceOfChoices(takenOf(list), Level)
}

// takenOf says of each answer what it takes to give it.
func takenOf(list []Judged) (taken []scoring.Taken) {
	between := slices.ContainsFunc(list, func(j Judged) bool { return j.at.J >= 0 })
	for _, j := range list {
		if t, ok := scoring.TakenAt(j.sheet, j.Target.Lab(), j.at, between); ok {
			taken = append(taken, t)
		}
	}
	return taken
}
