package exercises

import (
	"fmt"
	"strconv"

	"shadedrill/colour/fault"
)

// Traits are what the rest of the program must know of a kind and may not ask by
// its name. The zero value is an exercise on the screen that takes a brief look, with
// trials that do not depend on the answers.
type Traits struct {
	// ByHand is for exercises done with real tabs in the hand: no colour is shown,
	// there is no look to be limited, and no picture that several people would judge.
	ByHand bool
	// MeasuresThreshold says that the answers together make a threshold. Each is then
	// kept whole for the fit, and none need be right or wrong.
	MeasuresThreshold bool
	// AnswerDriven says that the next trial depends on the answers before it: there
	// are no items that two people could share.
	AnswerDriven bool
	// Unhurried says that an answer takes longer than a look: drills have no limit of
	// the look unless one is asked for.
	Unhurried bool
	// Adapts says that practice can ask more in the regions where errors are large,
	// see [Setup.Adaptive].
	Adapts bool
	// Narrows says that a drill can ask for one attribute alone, see [Setup.Attribute].
	Narrows bool
	// Levels are the exercise's ladder from the easiest, and UsualLevel the one that is as
	// hard as the exercise without levels; see [Level].
	Levels     []Level
	UsualLevel int
	// Seconds is what thinking about an answer takes at first, house rule: it stands for a
	// learner's own pace until that is known, and who is quicker is called quick.
	Seconds float64
	// Scene is how many answers belong together, where that is not one.
	Scene int
	// Task is what is asked for where one must be named and nobody named it.
	Task string
	// Options are the whole numbers that a drill of this kind can be asked with.
	Options []Option
	// ItemsPerTrial names the option that says how many items a trial has, where that
	// is not one; see [Setup.Items].
	ItemsPerTrial string
}

// OffPlan reports whether a kind stays off the plan of the day: what measures does not
// train, and real tabs and a helper are not always there.
func (t Traits) OffPlan() bool { return t.MeasuresThreshold || t.ByHand }

// TraitsOf are a kind's traits; those of an unknown kind are zero.
func TraitsOf(id KindID) Traits {
	k, ok := kinds[id]
	if !ok {
		return Traits{}
	}
	return k.Traits()
}

// Items is how many items a drill has that is held against a cut-off: its trials,
// or what each of them consists of, such as the pairs of a round.
func (s Setup) Items() int {
	if name := TraitsOf(s.Kind).ItemsPerTrial; name != "" {
		if each, err := strconv.Atoi(s.Options[name]); err == nil {
			return s.Count * each
		}
	}
	return s.Count
}

// Option is a whole number in Setup.Options.
type Option struct {
	Name        string // in Setup.Options and on the command line
	Counts      string // what there are so many of: "patches in each row"
	Least, Most int
	Usual       string // what holds without it, in words
}

// of reads the option from a setup; 0 where it is not given.
func (o Option) of(s Setup) (int, error) {
	text := s.Options[o.Name]
	if text == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < o.Least || n > o.Most {
		return 0, unusable(fmt.Sprintf("give a whole number from %d to %d", o.Least, o.Most), "there cannot be %q %s", fault.Excerpt(text), o.Counts)
	}
	return n, nil
}
