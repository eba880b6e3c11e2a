package scoring

import (
	"fmt"
	"strings"
)

// Cuts are the shares of right answers, 0..1, from which a result is called
// superior and average.
type Cuts struct{ Superior, Average float64 }

// HouseCuts are 85 and 75 of 100. They are remembered, not read: no source for
// them was found, so they are a house rule and bear no standard's name.
var HouseCuts = Cuts{Superior: 0.85, Average: 0.75}

// CutsSource is printed beside every level.
const CutsSource = "House rule: the cut-offs can be set, and no standard stands behind them."

// Check says what is wrong with cut-offs.
func (c Cuts) Check() error {
	if !(c.Average > 0 && c.Average < c.Superior && c.Superior <= 1) {
		return fmt.Errorf("cut-offs must rise from above 0 to at most 100: average %g, superior %g", 100*c.Average, 100*c.Superior)
	}
	return nil
}

// Level is what a share of right answers is called.
type Level string

const (
	LevelSuperior Level = "superior"
	LevelAverage  Level = "average"
	LevelPoor     Level = "poor"
	LevelUnknown  Level = "unknown"
)

func (c Cuts) of(share float64) Level {
	switch {
	case share >= c.Superior:
		return LevelSuperior
	case share >= c.Average:
		return LevelAverage
	}
	return LevelPoor
}

// Classify names the level of a share and, where its interval reaches into
// other levels, says that the items could not separate them; doubt is empty
// when they could. What the share counts, "items" or "judgements", is named in it.
func (c Cuts) Classify(share Estimate, what string) (level Level, doubt string) {
	if !share.Defined() {
		return LevelUnknown, "there is no answer to judge"
	}
	level = c.of(share.Value)
	if !share.HasInterval() {
		return level, "without an interval nothing says how sure that is"
	}
	lowest, highest := c.of(share.Lo), c.of(share.Hi)
	if lowest == highest {
		return level, ""
	}
	var reached []string
	for _, k := range []Level{LevelSuperior, LevelAverage, LevelPoor} {
		if rank(k) <= rank(lowest) && rank(k) >= rank(highest) {
			reached = append(reached, string(k))
		}
	}
	return level, fmt.Sprintf("%d %s cannot separate %s", share.N, what, strings.Join(reached, " from "))
}

// LongRun says what the interval of a share means; empty when it has none.
func LongRun(share Estimate) string {
	if !share.HasInterval() {
		return ""
	}
	return fmt.Sprintf("with %.0f %% right, the share in the long run may lie anywhere from %.0f to %.0f %%", 100*share.Value, 100*share.Lo, 100*share.Hi)
}

func rank(l Level) int {
	switch l {
	case LevelSuperior:
		return 0
	case LevelAverage:
		return 1
	}
	return 2
}
