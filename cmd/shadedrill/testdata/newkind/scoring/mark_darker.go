package scoring

import (
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { register(exercises.Darker, Rules{Mark: markDarker}) }

func markDarker(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	return Mark{Checks: []Check{{Name: "darker patch", Right: a.Choice == t.Key, Why: "the " + t.Key + " one is darker"}}}
}
