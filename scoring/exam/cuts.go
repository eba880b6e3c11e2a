package exam

import (
	"fmt"
	"strings"

	"shadedrill/scoring"
)

// Cuts are the shares of right answers, 0..1, from which a result is called
// superior and average.
type Cuts struct{ Superior, Average float64 }

// HouseCuts are 85 and 75 of 100. They are remembered, not read: no source for
// them was found, so they are a house rule and bear no standard's name.
var HouseCuts = Cuts{Superior: 0.85, Average: 0.75}

// CutsSource is printed beside every class.
const CutsSource = "House rule: the cut-offs can be set, and no standard stands behind them."

// Check says what is wrong with cut-offs.
func (c Cuts) Check() error {
	if !(c.Average > 0 && c.Average < c.Superior && c.Superior <= 1) {
		return fmt.Errorf("cut-offs must rise from above 0 to at most 100: average %g, superior %g", 100*c.Average, 100*c.Superior)
	}
	return nil
}

// Class is what a share of right answers is called.
type Class string

const (
	Superior Class = "superior"
	Average  Class = "average"
	Poor     Class = "poor"
	Unknown  Class = "unknown"
)

func (c Cuts) of(share float64) Class {
	switch {
	case share >= c.Superior:
		return Superior
	case share >= c.Average:
		return Average
	}
	return Poor
}

// Classify names the class of a share and, where its interval reaches into
// other classes, says that the items could not separate them; doubt is empty
// when they could. What the share counts, "items" or "judgements", is named in it.
func (c Cuts) Classify(share scoring.Estimate, what string) (class Class, doubt string) {
	if !share.Defined() {
		return Unknown, "there is no answer to judge"
	}
	class = c.of(share.Value)
	if !share.HasInterval() {
		return class, "without an interval nothing says how sure that is"
	}
	lowest, highest := c.of(share.Lo), c.of(share.Hi)
	if lowest == highest {
		return class, ""
	}
	var reached []string
	for _, k := range []Class{Superior, Average, Poor} {
		if rank(k) <= rank(lowest) && rank(k) >= rank(highest) {
			reached = append(reached, string(k))
		}
	}
	return class, fmt.Sprintf("%d %s cannot separate %s", share.N, what, strings.Join(reached, " from "))
}

// LongRun says what the interval of a share means; empty when it has none.
func LongRun(share scoring.Estimate) string {
	if !share.HasInterval() {
		return ""
	}
	return fmt.Sprintf("with %.0f %% right, the share in the long run may lie anywhere from %.0f to %.0f %%", 100*share.Value, 100*share.Lo, 100*share.Hi)
}

func rank(c Class) int {
	switch c {
	case Superior:
		return 0
	case Average:
		return 1
	}
	return 2
}
