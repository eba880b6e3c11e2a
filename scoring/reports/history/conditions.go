package history

import (
	"fmt"
	"time"

	"shadedrill/colour"
	"shadedrill/scoring"
)

// LampOf names the lamp of a sitting; none is daylight.
func LampOf(s scoring.Sitting) string {
	if s.Setup.Viewing.Light == "" {
		return colour.D65().ID
	}
	return s.Setup.Viewing.Light
}

// LampName is what a lamp is called; one that this program does not know keeps
// its identifier.
func LampName(id string) string {
	light, err := colour.LightByID(id)
	if err != nil {
		return id
	}
	return light.Name
}

// ViewingWords says how long and beside what the pairs of a drill were seen.
func ViewingWords(limit, rest time.Duration, gap int, surround colour.SRGB) string {
	look := "no limit to a look"
	if limit > 0 {
		look = fmt.Sprintf("looks of at most %v", limit)
	}
	between := "edge to edge"
	if gap > 0 {
		between = fmt.Sprintf("a gap of %d %s", gap, scoring.Plural(gap, "cell", "cells"))
	}
	return fmt.Sprintf("%s, %v of rest, %s, surround %s", look, rest, between, surround.Hex())
}
