package exercises

import (
	"time"

	"shadedrill/colour"
)

// Trial is one question, complete: it can be drawn and marked again from itself
// and the sheet of its drill. One answer is one trial; a question with several
// answers, such as the thirds of a tooth, is several trials with one Scene.
type Trial struct {
	Kind    KindID `json:"kind"`
	Version int    `json:"version"`
	Ordinal int    `json:"ordinal"`         // from 0, its place in the drill
	Scene   int    `json:"scene,omitempty"` // trials with the same scene share one picture
	Part    string `json:"part,omitempty"`  // which part of the scene, which attribute, which lamp
	// Target is the colour that is to be matched, or the first of a pair.
	Target colour.SRGB `json:"target"`
	// Patches are the other colours drawn, each with its role.
	Patches []Patch `json:"patches,omitempty"`
	// Item names the question across people: two learners with the same item
	// of one panel, exam form or assignment saw the same bytes.
	Item string `json:"item,omitempty"`
	// Level is the true ΔE00 shown, for methods that choose levels.
	Level float64 `json:"level,omitempty"`
	// Chance is how many times as likely the target was as in an even sample, when
	// practice that adapts drew it: an answer weighed by 1/Chance counts as in an even
	// one. 0 says that nothing is known of it: an even drill needs none, and older
	// programs kept none.
	Chance float64 `json:"chance,omitempty"`
	// Key is the right answer where it is a word or place rather than a colour.
	Key string `json:"key,omitempty"`
}

// Patch is a colour that a trial draws.
type Patch struct {
	Role   string      `json:"role"`
	Colour colour.SRGB `json:"colour"`
}

// Patch finds the first patch with the role.
func (t Trial) Patch(role string) (colour.SRGB, bool) {
	for _, p := range t.Patches {
		if p.Role == role {
			return p.Colour, true
		}
	}
	return colour.SRGB{}, false
}

// PatchesOf lists the colours with the role, in the order drawn.
func (t Trial) PatchesOf(role string) []colour.SRGB {
	var list []colour.SRGB
	for _, p := range t.Patches {
		if p.Role == role {
			list = append(list, p.Colour)
		}
	}
	return list
}

// Answer is what a person said. Fields that an exercise does not ask for stay
// empty.
type Answer struct {
	// Colour is the colour that the answer stands for; nil where none is asked.
	Colour *colour.SRGB `json:"colour,omitempty"`
	// Tab and Neighbour name tabs of the sheet; Neighbour only for "between these two".
	Tab       string `json:"tab,omitempty"`
	Neighbour string `json:"neighbour,omitempty"`
	// Group names the value group taken in the first step.
	Group string `json:"group,omitempty"`
	// Choice is a word: a verdict, a side, yes or no.
	Choice string `json:"choice,omitempty"`
	// Number is a fraction, a count of steps.
	Number *float64 `json:"number,omitempty"`
	// Directions are −1, 0, +1 along value, chroma, hue.
	Directions *Directions `json:"directions,omitempty"`
	// Order is a permutation: the patches as placed.
	Order []int `json:"order,omitempty"`
	// First is the time to the first decision, Total to the answer.
	First time.Duration `json:"first_ns,omitempty"`
	Total time.Duration `json:"total_ns,omitempty"`
	// Looks is how often the patches were uncovered, 1 where the first look sufficed.
	Looks int `json:"looks,omitempty"`
	// TimedOut says that the look ended before the answer was given (the patches were covered by then).
	TimedOut bool `json:"timed_out,omitempty"`
}

// Directions are signs along the three attributes: value +1 is lighter, chroma
// +1 more chromatic, hue +1 yellower (larger hue angle).
type Directions struct {
	Value  int `json:"value"`
	Chroma int `json:"chroma"`
	Hue    int `json:"hue"`
}
