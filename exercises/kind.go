// Package exercises says what to ask next: the kinds of exercise, the trials a
// drill is made of, and the answers they take. Nothing here draws, times or
// saves; chance comes in as a seed, and the same seed gives the same trials.
//
// The path of the data:
//
//	Setup ──> Kind.NewRun ──> Run ──Next──> Trial ──(a person, or Kind.Simulate)──> Answer
//	                           ^                                                      │
//	                           └───────────────────────Take───────────────────────────┘
//
// A Trial holds the bytes that are drawn, so that it can be drawn and marked
// again from the record alone.
package exercises

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sort"

	"shadedrill/exercises/observer"
)

// KindID names a kind of exercise in the record and on the command line.
type KindID string

// Kind is one exercise. A kind is a value without state; what changes during a
// drill lives in the Run.
type Kind interface {
	ID() KindID
	// Version grows when the rules of the exercise change in a way that makes
	// old and new attempts different questions.
	Version() int
	// Title names the exercise on screens, with a capital: "Value first".
	Title() string
	// Trains says in one line which judgement is trained.
	Trains() string
	// Traits say what else the rest of the program must know of it.
	Traits() Traits
	// NewRun begins a drill. An unusable setup is an error fit to show.
	NewRun(Setup) (Run, error)
	// Simulate answers a trial as the given observer would.
	Simulate(Trial, Setup, observer.Observer, *rand.Rand) Answer
}

// Run is one drill in progress. It is rebuilt after an interruption by a new
// run that takes the trials and answers already given, in their order.
type Run interface {
	// Next returns the trial to ask now; ok is false when the drill is over.
	// Without a Take in between it returns the same trial again.
	Next() (t Trial, ok bool)
	// Take tells the run that a trial was answered.
	Take(Trial, Answer)
	// Planned is how many trials the drill will have at most.
	Planned() int
}

var kinds = map[KindID]Kind{}

// register adds a kind; each exercise's file calls it once from init.
func register(k Kind) {
	if _, twice := kinds[k.ID()]; twice {
		panic("exercises: kind registered twice: " + string(k.ID()))
	}
	kinds[k.ID()] = k
}

// errUnknownKind is returned for a name that no exercise bears.
var errUnknownKind = errors.New("unknown exercise")

// ByID finds a kind by its name.
func ByID(id KindID) (Kind, error) {
	k, ok := kinds[id]
	if !ok {
		return nil, fmt.Errorf("%w %q", errUnknownKind, id)
	}
	return k, nil
}

// Kinds lists every kind in the order in which they are best learned.
func Kinds() []Kind {
	list := make([]Kind, 0, len(kinds))
	for _, k := range kinds {
		list = append(list, k)
	}
	sort.Slice(list, func(i, j int) bool {
		a, b := place(list[i].ID()), place(list[j].ID())
		if a != b {
			return a < b
		}
		return list[i].ID() < list[j].ID()
	})
	return list
}

// The kinds, in the order in which they are best learned; each is named in its file.
var order = []KindID{ValueFirst, Halfway, LineUp, Thirds, TryIn, Whitening, Combination, Lighting, Bench, Threshold}

func place(id KindID) int {
	for i, o := range order {
		if o == id {
			return i
		}
	}
	return len(order)
}
