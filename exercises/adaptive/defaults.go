package adaptive

import (
	"errors"
	"fmt"

	"shadedrill/exercises/psychometric"
)

// Task is what the observer is asked to do.
type Task uint8

const (
	// YesNo asks "is there a difference?" or "would you change it?"; identical pairs
	// are mixed in and the guess rate is unknown.
	YesNo Task = iota + 1
	// ForcedChoice asks which of two pairs differs; the guess rate is ½.
	ForcedChoice
)

// String is the task's name in a report.
func (t Task) String() string {
	switch t {
	case YesNo:
		return "yes/no"
	case ForcedChoice:
		return "two-alternative forced choice"
	}
	return fmt.Sprintf("unknown task %d", uint8(t))
}

// Curve is the curve that the task is measured with: a Weibull, since a difference
// of 0 then gives exactly the guess rate. Its threshold is where half of the
// answers are "different", or where 75 % are right.
func (t Task) Curve() psychometric.Sigmoid {
	s := psychometric.Sigmoid{Family: psychometric.Weibull, Target: psychometric.Proportion(0.5)}
	if t == ForcedChoice {
		s.Target = psychometric.Proportion(0.75)
	}
	return s
}

// defaultGrid is the parameters that the default method holds possible. Its
// thresholds run in equal ratios from below the lowest level to above the highest,
// so that an observer outside the range is recognised as one. Slopes are Weibull
// exponents from 1 (shallow) to 8; in the forced choice from 0.7, and shallow ones are
// held likelier: a d′ in proportion to the difference gives about 1.3, and with equal
// weights the levels huddled so closely that simulated observers with shallow curves
// came out too high. A yes/no observer may say "different" to as many
// as 45 % of identical pairs: about a quarter is usual on a screen (Lindsey & Wee
// 2007, J Dent 35:593–599: 4–55 %). Lapses of 0 to 5 %.
//
// The grid only places the trials; the result is fitted afterwards, without it.
// Number and ends of the values are a house rule, chosen by simulated observers.
func defaultGrid(task Task, levels Levels) (grid, error) {
	if len(levels) == 0 {
		return grid{}, errors.New("there is no level that can be shown")
	}
	positive := levels.Highest()
	for _, x := range levels {
		if x > 0 {
			positive = x
			break
		}
	}
	if positive <= 0 {
		return grid{}, errors.New("a threshold needs a level above 0")
	}
	g := grid{
		Thresholds: geometric(positive*0.6, levels.Highest()*1.6, 48),
		Slopes:     geometric(1, 8, 6),
		Guesses:    values(0.5),
		Lapses:     values(0, 0.02, 0.05),
	}
	switch task {
	case YesNo:
		g.Guesses = values(0.01, 0.06, 0.14, 0.24, 0.34, 0.45)
	case ForcedChoice:
		g.Slopes = geometric(0.7, 8, 7).logNormal(1.5, 0.7)
	default:
		return grid{}, fmt.Errorf("no default grid for an %v", task)
	}
	return g, nil
}

// DefaultTable is the table of the task's curve on [defaultGrid].
func DefaultTable(task Task, levels Levels) (*Table, error) {
	grid, err := defaultGrid(task, levels)
	if err != nil {
		return nil, err
	}
	return newTable(task.Curve(), levels, grid)
}

// DefaultAim is the aim of the default method: simulated observers' thresholds come
// out more precise with it than with Everything at the same number of trials.
const DefaultAim = ThresholdAlone
