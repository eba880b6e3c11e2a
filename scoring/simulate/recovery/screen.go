package recovery

import (
	"shadedrill/exercises"
	"shadedrill/exercises/adaptive"
)

// Screen is what the threshold exercise can show on an 8-bit screen along value,
// chroma and hue: true levels in ΔE00, one list for each direction.
func Screen() []adaptive.Levels {
	var lists []adaptive.Levels
	for _, direction := range []string{"value", "chroma", "hue"} {
		lists = append(lists, exercises.ThresholdLevels(direction))
	}
	return lists
}
