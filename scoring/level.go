package scoring

import (
	"fmt"
	"slices"
	"strings"
)

// Level is what a share of right answers is called.
type Level string

const (
	LevelSuperior Level = "superior"
	LevelAverage  Level = "average"
	LevelPoor     Level = "poor"
	LevelUnknown  Level = "unknown"
)

// Cut is the share of right answers, 0..1, from which a result has a level.
type Cut struct {
	Level Level   `json:"level"`
	From  float64 `json:"from"`
}

// Cuts are the levels of a test, best first; the last is from 0 up.
type Cuts []Cut

// HouseCuts are 85 and 75 of 100. They are remembered, not read: no source for
// them was found, so they bear no standard's name, and a school names its own.
var HouseCuts = Cuts{{LevelSuperior, 0.85}, {LevelAverage, 0.75}, {LevelPoor, 0}}

// MatchCuts are the levels of the usual form, whose share is that of acceptable
// matches: house choices, from simulation (README.md of scoring/reports/tests). An
// observer without bias whose median error is 1.15 ΔE00 has 71 % right, one of 1.8 44 %.
var MatchCuts = Cuts{{LevelSuperior, 0.70}, {LevelAverage, 0.40}, {LevelPoor, 0}}

// UsualCuts are the levels that a form of the test has unless it is given others.
func UsualCuts(form Set) Cuts {
	for _, part := range form.Parts {
		if part.Options[OptionRight] != RightAcceptable {
			return HouseCuts
		}
	}
	return MatchCuts
}

// mostLevels is how many levels a test may have; a house choice.
const mostLevels = 8

// Check says what is wrong with levels.
func (c Cuts) Check() error {
	if len(c) < 2 || len(c) > mostLevels {
		return fmt.Errorf("a form has from 2 to %d levels, not %d", mostLevels, len(c))
	}
	for i, cut := range c {
		switch {
		case cut.Level == "" || cut.Level == LevelUnknown:
			return fmt.Errorf("a level cannot be called %q", cut.Level)
		case !(cut.From >= 0 && cut.From <= 1):
			return fmt.Errorf("the level %q begins at %g, outside 0..100", cut.Level, 100*cut.From)
		case i > 0 && cut.From >= c[i-1].From:
			return fmt.Errorf("the levels %q and %q begin at %g and %g: the better one must begin higher", c[i-1].Level, cut.Level, 100*c[i-1].From, 100*cut.From)
		case slices.ContainsFunc(c[:i], func(o Cut) bool { return o.Level == cut.Level }):
			return fmt.Errorf("two levels are called %q", cut.Level)
		}
	}
	if last := c[len(c)-1]; last.From != 0 {
		return fmt.Errorf("the lowest level, %q, begins at %g: it must begin at 0", last.Level, 100*last.From)
	}
	return nil
}

// Words say the levels and whose they are: "superior from 85 % right, average from 75 %,
// poor below. …".
func (c Cuts) Words() string {
	var list []string
	for i, cut := range c {
		switch {
		case i == len(c)-1:
			list = append(list, string(cut.Level)+" below")
		case i == 0:
			list = append(list, fmt.Sprintf("%s from %.4g %% right", cut.Level, 100*cut.From))
		default:
			list = append(list, fmt.Sprintf("%s from %.4g %%", cut.Level, 100*cut.From))
		}
	}
	words := strings.Join(list, ", ") + "."
	if slices.Equal(c, HouseCuts) {
		return words + " These levels are from memory, no standard stands behind them. Whoever lays a form down can set others."
	}
	if slices.Equal(c, MatchCuts) {
		return words + " These levels are this program's own, no standard stands behind them: simulated observers with a median error of about 1.15 ΔE00 just reach the first, of about 1.9 the second. Whoever lays a form down can set others."
	}
	return words + " These levels were set by whoever laid down the form."
}

// Digits is how many digits of a share of right answers, in %, it takes to see its level.
func (c Cuts) Digits(share float64) int {
	var from []float64
	for _, cut := range c {
		from = append(from, 100*cut.From)
	}
	return Digits(100*share, 0, from...)
}

func (c Cuts) of(share float64) Level {
	for _, cut := range c {
		if share >= cut.From {
			return cut.Level
		}
	}
	return LevelUnknown
}

func (c Cuts) rank(l Level) int {
	return slices.IndexFunc(c, func(cut Cut) bool { return cut.Level == l })
}

// Classify names the level of a share and, where its interval reaches into
// other levels, says that the items could not separate them; uncertain is empty
// when they could. What the share counts, "items" or "judgements", is named in it.
func (c Cuts) Classify(share Estimate, what string) (level Level, uncertain string) {
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
	for _, k := range c[c.rank(highest) : c.rank(lowest)+1] {
		reached = append(reached, string(k.Level))
	}
	return level, fmt.Sprintf("%d %s cannot separate %s", share.N, what, strings.Join(reached, " from "))
}

// LongRun says what the interval of a share means; empty when it has none.
func LongRun(share Estimate) string {
	if !share.HasInterval() {
		return ""
	}
	return fmt.Sprintf("with %.0f %% right, the share in the long run may lie anywhere from %.0f to %.0f %%%s", 100*share.Value, 100*share.Lo, 100*share.Hi, share.RoughWord())
}
