package adaptive

import (
	"errors"
	"fmt"
	"math"
)

// Step is how far a staircase moves: in the unit of the levels, or, on a
// logarithmic axis, as a factor above 1.
type Step struct{ Up, Down float64 }

// StaircaseConfig describes an up–down method.
//
// The level goes up (easier) after UpAfter negative answers and down (harder)
// after DownAfter positive ones. With equal steps this is the transformed up–down
// method (Levitt 1971, J Acoust Soc Am 49:467–477); with DownAfter 1 and unequal
// steps the weighted one (Kaernbach 1991, Percept Psychophys 49:227–229).
type StaircaseConfig struct {
	Levels    Levels  // what can be shown; nil: every level from Lowest to Highest
	Lowest    float64 // limits when Levels is nil; both 0: none
	Highest   float64
	Start     float64
	UpAfter   int    // negative answers in a row before going up, at least 1
	DownAfter int    // positive answers in a row before going down, at least 1
	Steps     []Step // the first until the first reversal, then the next at each; the last stays
	Ratio     bool   // steps are factors
	// Initial makes every answer move the level until the first reversal: a quick
	// descent from an easy start.
	Initial bool
	Stop    Stop
}

// Transformed is a 1-up/n-down staircase with equal steps in both directions.
func Transformed(levels Levels, start float64, nDown int, stop Stop, steps ...float64) StaircaseConfig {
	c := StaircaseConfig{Levels: levels, Start: start, UpAfter: 1, DownAfter: nDown, Stop: stop}
	for _, s := range steps {
		c.Steps = append(c.Steps, Step{Up: s, Down: s})
	}
	return c
}

// Weighted is a 1-up/1-down staircase that converges where the proportion of
// positive answers is p: S_up(1 − p) = S_down·p. The smaller of the two steps is
// step.
func Weighted(levels Levels, start, p, step float64, stop Stop) (StaircaseConfig, error) {
	if !(p > 0 && p < 1) {
		return StaircaseConfig{}, fmt.Errorf("a weighted staircase cannot converge at proportion %v", p)
	}
	s := Step{Up: step * p / (1 - p), Down: step}
	if p < 0.5 {
		s = Step{Up: step, Down: step * (1 - p) / p}
	}
	return StaircaseConfig{Levels: levels, Start: start, UpAfter: 1, DownAfter: 1, Steps: []Step{s}, Stop: stop}, nil
}

func (c StaircaseConfig) validate() error {
	if err := c.Stop.validate(); err != nil {
		return err
	}
	if c.UpAfter < 1 || c.DownAfter < 1 {
		return fmt.Errorf("a staircase cannot go up after %d and down after %d answers", c.UpAfter, c.DownAfter)
	}
	if err := finite(c.Start); err != nil {
		return fmt.Errorf("start: %w", err)
	}
	if c.Levels == nil && c.Highest < c.Lowest {
		return fmt.Errorf("limits %v to %v are the wrong way round", c.Lowest, c.Highest)
	}
	if len(c.Steps) == 0 {
		return errors.New("a staircase needs at least one step")
	}
	least := 0.0
	if c.Ratio {
		least = 1
		if lowest, _ := c.limits(); c.Start <= 0 || lowest <= 0 {
			return errors.New("steps by a factor need a start and a lowest level above 0")
		}
	}
	for _, s := range c.Steps {
		if !(s.Up > least && s.Down > least) || math.IsInf(s.Up, 0) || math.IsInf(s.Down, 0) {
			return fmt.Errorf("steps must be above %v, got %v up and %v down", least, s.Up, s.Down)
		}
	}
	return nil
}

// limits is the range in which the staircase moves.
func (c StaircaseConfig) limits() (lo, hi float64) {
	switch {
	case len(c.Levels) > 0:
		return c.Levels.Lowest(), c.Levels.Highest()
	case c.Lowest == 0 && c.Highest == 0:
		return math.Inf(-1), math.Inf(1)
	}
	return c.Lowest, c.Highest
}

// Staircase is a running up–down method. It moves on an axis without gaps and
// shows the nearest level that can be shown: were it to step from the level shown,
// rounding could hold it in one place for ever.
type Staircase struct {
	config    StaircaseConfig
	at        float64 // where the staircase is, before snapping
	positive  int     // in a row since the last move
	negative  int
	direction int // −1 down, +1 up, 0 not yet moved
	trials    int
	reversals []reversal
	clamps    int
}

// reversal is a trial whose answer turned the staircase round, and the level that
// was shown in it.
type reversal struct {
	Trial int // from 0
	Level float64
}

// NewStaircase checks the configuration.
func NewStaircase(c StaircaseConfig) (*Staircase, error) {
	if err := c.validate(); err != nil {
		return nil, err
	}
	s := &Staircase{config: c}
	lo, hi := c.limits()
	s.at = min(max(c.Start, lo), hi)
	if s.at != c.Start {
		s.clamps++
	}
	return s, nil
}

// Next is the level that can be shown nearest to where the staircase stands.
func (s *Staircase) Next() float64 {
	if len(s.config.Levels) > 0 {
		return s.config.Levels.Nearest(s.at)
	}
	return s.at
}

// Take moves the staircase.
func (s *Staircase) Take(level float64, yes bool) error {
	if err := finite(level); err != nil {
		return err
	}
	upAfter, downAfter := s.config.UpAfter, s.config.DownAfter
	if s.config.Initial && len(s.reversals) == 0 {
		upAfter, downAfter = 1, 1
	}
	if yes {
		s.positive, s.negative = s.positive+1, 0
	} else {
		s.positive, s.negative = 0, s.negative+1
	}
	switch {
	case s.positive >= downAfter:
		s.move(-1, level)
	case s.negative >= upAfter:
		s.move(+1, level)
	}
	s.trials++
	return nil
}

func (s *Staircase) move(direction int, level float64) {
	if s.direction == -direction {
		s.reversals = append(s.reversals, reversal{Trial: s.trials, Level: level})
	}
	s.direction = direction
	s.positive, s.negative = 0, 0

	step := s.config.Steps[min(len(s.reversals), len(s.config.Steps)-1)]
	wanted := s.at
	switch {
	case s.config.Ratio && direction > 0:
		wanted *= step.Up
	case s.config.Ratio:
		wanted /= step.Down
	case direction > 0:
		wanted += step.Up
	default:
		wanted -= step.Down
	}
	lo, hi := s.config.limits()
	s.at = min(max(wanted, lo), hi)
	if s.at != wanted {
		s.clamps++
	}
}

// Trials is the number of answers taken.
func (s *Staircase) Trials() int { return s.trials }

// Done reports whether enough trials, or enough reversals, have been seen.
func (s *Staircase) Done() bool {
	if s.trials >= s.config.Stop.Trials {
		return true
	}
	return s.config.Stop.Reversals > 0 && s.trials >= s.config.Stop.AtLeast &&
		len(s.reversals) >= s.config.Stop.Reversals
}

// ReversalMean is the mean level of the reversals after the first discard ones,
// and their standard deviation; of the rest the earliest is left out when their
// number is odd, so that peaks and troughs weigh the same. ok is false when fewer
// than two remain.
func (s *Staircase) ReversalMean(discard int) (mean, sd float64, n int, ok bool) {
	rest := s.reversals[min(max(discard, 0), len(s.reversals)):]
	rest = rest[len(rest)%2:]
	n = len(rest)
	if n < 2 {
		return math.NaN(), math.NaN(), n, false
	}
	for _, r := range rest {
		mean += r.Level / float64(n)
	}
	var square float64
	for _, r := range rest {
		square += (r.Level - mean) * (r.Level - mean)
	}
	return mean, math.Sqrt(square / float64(n-1)), n, true
}
