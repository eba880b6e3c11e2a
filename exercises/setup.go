package exercises

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
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
	// Level is the level that the drill was set to, from 1, and Spread how many times as
	// large as usual it makes the differences; see [Level]. 0 is an exercise without.
	Level  int     `json:"level,omitempty"`
	Spread float64 `json:"spread,omitempty"`
	// Groups and Tabs are what its level thins the library out to; 0 is all of it.
	Groups int `json:"groups,omitempty"`
	Tabs   int `json:"tabs,omitempty"`
	// Again are trials of earlier drills, to be asked once more in this order instead of
	// new ones; see [AgainSetup].
	Again []Trial `json:"again,omitempty"`
	// Planned says that the drill is one of a day's plan, which decided what it asks.
	Planned bool `json:"planned,omitempty"`
	// Minutes is how long a day's plan the learner has set.
	Minutes int `json:"minutes,omitempty"`
	// Silent keeps the feedback back until the drill is over, as in an examination.
	Silent bool `json:"silent,omitempty"`
	// Once says that how this drill was looked at and what it drew from was asked for
	// this once: it is not what its learner has set.
	Once bool `json:"once,omitempty"`
	// Repeats > 0 makes this a set of shared items: the scenes that Seed gives,
	// each shown Repeats times in the order that OrderSeed gives; see [NewRun].
	Repeats   int    `json:"repeats,omitempty"`
	OrderSeed uint64 `json:"order_seed,omitempty"`
	// Stream is where the trials take their chance from.
	Stream Stream `json:"stream,omitempty"`
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

// Stream is a source of chance: two streams have no items in common, whatever the
// seeds. The zero value is that of practice.
type Stream string

// TestStream is that of forms of the proficiency test. No drill but a form's part
// has it, so that no seed of practice asks a form's items.
const TestStream Stream = "test"

// errNoSeed is returned for the part of a form whose seed is not at hand: sittings do
// not keep it, the form does.
var errNoSeed = errors.New("the form that decides its items is not in this book")

func (s Setup) checkStream() error {
	switch {
	case s.Stream != "" && s.Stream != TestStream:
		return fmt.Errorf("its items come from a stream %q that this program does not know", string(s.Stream))
	case s.Stream == TestStream && s.Seed == 0:
		return errNoSeed
	}
	return nil
}

// trialRand is the source of chance of one trial. It depends on the drill's
// seed and the trial's place only, so that an interrupted drill goes on as it
// would have gone.
func (s Setup) trialRand(ordinal int) *rand.Rand { return s.chance(uint64(ordinal) + 1) }

// chance is a source of the drill's own; n tells several apart. That of a test is
// another generator, begun with a hash, so that its numbers are not those of practice
// under another seed.
func (s Setup) chance(n uint64) *rand.Rand {
	if s.Stream == "" {
		return rand.New(rand.NewPCG(s.Seed, n))
	}
	text := append([]byte("shadedrill stream\x00"), s.Stream...)
	text = binary.BigEndian.AppendUint64(append(text, 0), s.Seed)
	return rand.New(rand.NewChaCha8(sha256.Sum256(binary.BigEndian.AppendUint64(text, n))))
}
