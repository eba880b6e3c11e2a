// Package adaptive chooses the next level to show, from the answers so far: QUEST+ and
// the staircases, alone or interleaved, with catch trials among them.
//
// A method decides and nothing else: it never draws, times or saves. Given the answers
// of its history in order, a newly built one stands where the first did. The levels it is given are what can be shown, in
// whatever irregular spacing that is, and it proposes no other.
package adaptive

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Method proposes levels and takes answers.
//
// Next is the level to show now. It stays the same until an answer is taken, and
// still proposes a level when the method is Done, for whoever wants to go on.
//
// Take adds an answer: yes means "different" (or, in a forced choice, right). The
// level is the one that was shown; it need not be the one proposed. A level that
// is not a finite number is refused and changes nothing.
//
// Done is true at the latest after the number of trials that the method was built
// with: no method is endless.
type Method interface {
	Next() float64
	Take(level float64, yes bool) error
	Done() bool
	Trials() int
}

// catchTaker is a method that also learns from trials in which nothing differed:
// [Interleaved] tells it every answer to a catch trial, whichever track it fell on.
// Such an answer is no trial of the method's own.
type catchTaker interface {
	TakeCatch(yes bool)
}

// Levels is what can be shown: finite, in ascending order, each level once.
type Levels []float64

// Nearest is the level closest to x; of two equally close ones the lower.
func (l Levels) Nearest(x float64) float64 {
	i, found := slices.BinarySearch(l, x)
	switch {
	case found || i == 0:
		return l[i]
	case i == len(l):
		return l[i-1]
	case x-l[i-1] <= l[i]-x:
		return l[i-1]
	}
	return l[i]
}

// Lowest and Highest are the ends of what can be shown.
func (l Levels) Lowest() float64  { return l[0] }
func (l Levels) Highest() float64 { return l[len(l)-1] }

// finite refuses a level that is no number.
func finite(level float64) error {
	if math.IsNaN(level) || math.IsInf(level, 0) {
		return fmt.Errorf("level %v is not a finite number", level)
	}
	return nil
}

// Stop says when a method has asked enough.
type Stop struct {
	// Trials is the largest number of trials; it must be at least 1.
	Trials int
	// AtLeast keeps the other rules from stopping before so many trials.
	AtLeast int
	// Width stops a Bayesian method when the central 95 % of its posterior for the
	// threshold span less than this, in the unit of the levels. 0: not used.
	Width float64
	// RelativeWidth does the same for the span divided by the posterior median; it
	// suits levels with a true zero only. 0: not used.
	RelativeWidth float64
	// Reversals stops a staircase after so many reversals. 0: not used.
	Reversals int
}

// validate refuses a rule that never stops or cannot be meant.
func (s Stop) validate() error {
	switch {
	case s.Trials < 1:
		return fmt.Errorf("a method needs a largest number of trials of at least 1, got %d", s.Trials)
	case s.AtLeast < 0 || s.AtLeast > s.Trials:
		return fmt.Errorf("at least %d of at most %d trials cannot be", s.AtLeast, s.Trials)
	case !(s.Width >= 0) || !(s.RelativeWidth >= 0) || s.Reversals < 0:
		return errors.New("widths and reversals to stop at must not be negative")
	}
	return nil
}
