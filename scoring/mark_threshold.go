package scoring

import (
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// A threshold's pairs were drawn for their level, and the level is what counts: the
// light reading has it, and a sitting is read once and not twice.
func init() { register(exercises.Threshold, Rules{Mark: markThreshold, LightIsEnough: true}) }

// markThreshold has a right answer in the forced choice only. In the yes/no tasks
// the answers together make a threshold; a single one is neither right nor wrong,
// but for an identical pair called different.
func markThreshold(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	switch {
	case t.Key != "":
		return Mark{Checks: []Check{{Name: "pair", Right: a.Choice == t.Key, Why: "the " + t.Key + " pair differed"}}}
	case t.Level == 0:
		return Mark{Checks: []Check{{Name: "identical pair", Right: !exercises.Passed(t, a), Why: "the two were identical"}}}
	}
	return Mark{}
}
