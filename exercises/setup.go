package exercises

import (
	"math/rand/v2"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Targets says where the colours to be matched come from.
type Targets string

const (
	// NaturalTargets are drawn from the whole region of tooth colours.
	NaturalTargets Targets = "natural"
	// TabTargets are exactly colours of the library.
	TabTargets Targets = "tabs"
)

// Setup is everything that decides which trials a drill asks. It is stored with
// the sitting; together with the sheet it names, it gives the same trials again.
type Setup struct {
	Kind    KindID  `json:"kind"`
	Version int     `json:"version"`
	Seed    uint64  `json:"seed"`
	Count   int     `json:"count"`
	Targets Targets `json:"targets,omitempty"`
	// Attribute narrows a kind that can train one attribute at a time:
	// [AttributeValue], [AttributeChroma] or [AttributeHue]; empty leaves it to the kind.
	Attribute string `json:"attribute,omitempty"`
	// Task is a kind's own variant, such as "perceptibility".
	Task string `json:"task,omitempty"`
	// Options hold further settings of a kind by name.
	Options map[string]string `json:"options,omitempty"`
	// Adaptive lets earlier errors (Experience) decide which regions come more often.
	Adaptive   bool      `json:"adaptive,omitempty"`
	Experience []Outcome `json:"experience,omitempty"`
	Viewing    Viewing   `json:"viewing"`
	// Silent keeps the feedback back until the drill is over, as in an examination.
	Silent bool `json:"silent,omitempty"`
	// Once says that how this drill was looked at and what it drew from was asked for
	// this once: it is not what its learner has set.
	Once bool `json:"once,omitempty"`
	// Repeats > 0 makes this a set of shared items: the scenes that Seed gives,
	// each shown Repeats times in the order that OrderSeed gives; see [NewRun].
	Repeats   int    `json:"repeats,omitempty"`
	OrderSeed uint64 `json:"order_seed,omitempty"`
	// SheetID is the fingerprint of Sheet, which is stored once beside the sittings.
	SheetID string      `json:"sheet,omitempty"`
	Sheet   *tabs.Sheet `json:"-"`
}

// Viewing is how a drill is looked at. It belongs to the result: a threshold
// across a gap is another number than one edge to edge.
type Viewing struct {
	Limit    time.Duration `json:"limit_ns,omitempty"` // longest look at a trial; 0 for no limit
	Rest     time.Duration `json:"rest_ns,omitempty"`  // neutral field between trials
	Gap      int           `json:"gap"`                // cells between the two patches; 0 is edge to edge
	Surround colour.SRGB   `json:"surround"`
	// Light is the lamp under which colours are shown; empty is daylight (D65).
	Light string `json:"light,omitempty"`
}

// DefaultViewing is 7 s a look and a second of rest (common practice, no
// source), edge to edge on a dark neutral grey.
func DefaultViewing() Viewing {
	return Viewing{Limit: 7 * time.Second, Rest: time.Second, Surround: colour.Grey(64)}
}

// Outcome is one earlier answer as adaptive practice needs it: where the target
// lay, and how the answer differed from it.
type Outcome struct {
	Target     colour.SRGB       `json:"target"`
	Difference colour.Difference `json:"difference"`
}

// trialRand is the source of chance of one trial. It depends on the drill's
// seed and the trial's place only, so that an interrupted drill goes on as it
// would have gone.
func (s Setup) trialRand(ordinal int) *rand.Rand {
	return rand.New(rand.NewPCG(s.Seed, uint64(ordinal)+1))
}
