package exercises

import (
	"fmt"
	"math"
)

// A level says how large the differences are that an exercise shows, and from how many
// patches one is chosen. Levels keep somebody's answers near [SuitedShare] right: about
// 85 % is where two-choice tasks are learnt fastest by learners of one class (Wilson,
// Shenhav, Straccia & Cohen, Nat Commun 2019;10:4646: an error rate of 1 − Φ(1) =
// 15.87 %). It is a guide here, not a law: these exercises have more than two choices.
//
// Which level suits is computed from the answers each time ([Suited]) and stored
// nowhere; the level of a drill stays in its setup, as what was asked.

// SuitedShare is the share of right answers that levels aim at.
const SuitedShare = 0.85

// Level is one step of an exercise's ladder, from the easiest. The zero value is the
// exercise as it is without levels.
type Level struct {
	// Groups and Tabs thin the library out: at most so many value groups, of at most so
	// many tabs; 0 is all.
	Groups, Tabs int
	// Targets are where its colours come from; empty as set.
	Targets Targets
	// Spread is how many times as large as usual the differences are; 0 is as usual.
	Spread float64
	// Task and Patches are the task and the number of patches, where the kind has them.
	Task    string
	Patches int
	// Foot gives the foot of the whitening ladder.
	Foot bool
}

// Levels are a kind's ladder, from the easiest; none for a kind without.
func Levels(id KindID) []Level { return TraitsOf(id).Levels }

// UsualLevel is the level that is as hard as the exercise without levels.
func UsualLevel(id KindID) int { return TraitsOf(id).UsualLevel }

// LevelOf is a level by its number from 1; the zero Level for none.
func LevelOf(id KindID, n int) Level {
	if list := Levels(id); n >= 1 && n <= len(list) {
		return list[n-1]
	}
	return Level{}
}

// AtLevel puts a setup on a level of its kind. The sheet is not touched: whoever has the
// library thins it out, see [Level].
func (s Setup) AtLevel(n int) Setup {
	l := LevelOf(s.Kind, n)
	if l == (Level{}) && n != UsualLevel(s.Kind) {
		return s
	}
	s.Level, s.Spread, s.Groups, s.Tabs = n, l.Spread, l.Groups, l.Tabs
	if l.Targets != "" {
		s.Targets = l.Targets
	}
	if l.Task != "" {
		s.Task = l.Task
	}
	if l.Patches > 0 {
		s.Options = map[string]string{OptionPatches: fmt.Sprint(l.Patches)}
	}
	if l.Foot {
		s.Options = map[string]string{OptionFoot: FootGiven}
	}
	return s
}

// LevelLike is the level that a drill is as hard as: its own, or, without one, the usual,
// or, where it chose from a small library, that of so many tabs. 0 says that it cannot
// be compared: it asked something else, or the exercise has no levels.
func (s Setup) LevelLike() int {
	traits := TraitsOf(s.Kind)
	switch {
	case s.Level > 0:
		return s.LevelNow()
	case len(s.Again) > 0 || s.Attribute != "" || s.Task != "" || len(s.Options) > 0 || s.Viewing.Light != "":
		return 0
	case s.Sheet == nil || traits.UsualLevel == 0 || traits.Levels[0].Tabs == 0:
		return traits.UsualLevel
	}
	like := 1
	for i, l := range traits.Levels {
		if l.Tabs > 0 && l.Groups*l.Tabs <= s.Sheet.Len() {
			like = i + 1
		} else if l.Tabs == 0 && s.Sheet.Len() >= usualTabs {
			like = i + 1
		}
	}
	return like
}

// LevelNow is the number of a drill's level on the ladder as it stands, 0 for none. Ladders
// grow: what was asked decides, and of what no level asks any more, the nearest.
func (s Setup) LevelNow() int {
	list := Levels(s.Kind)
	n := max(0, min(s.Level, len(list)))
	if n == 0 {
		return 0
	}
	s = s.thinnedOnce(list)
	for i, l := range list {
		if l.asks(s) < list[n-1].asks(s) {
			n = i + 1
		}
	}
	return n
}

// thinnedOnce gives a drill that did not say yet how far it thinned the library out what
// the levels of then stood for.
func (s Setup) thinnedOnce(list []Level) Setup {
	if s.Groups == 0 && list[0].Tabs > 0 && list[0].Spread == 0 && s.Level <= len(thinnedBefore) {
		s.Groups, s.Tabs = thinnedBefore[s.Level-1][0], thinnedBefore[s.Level-1][1]
	}
	return s
}

// asks is how far what a level asks is from what a drill asked: 0 where it is the same.
func (l Level) asks(s Setup) float64 {
	off := math.Abs(math.Log(Setup{Spread: l.Spread}.wide() / s.wide()))
	if l.Patches > 0 && fmt.Sprint(l.Patches) != s.Options[OptionPatches] || l.Foot != (s.Options[OptionFoot] == FootGiven) {
		off += 10
	}
	if s.Groups*s.Tabs != l.Groups*l.Tabs && l.Spread == 0 { // where a spread is asked it tells levels apart
		off += math.Abs(math.Log(tabsOf(s.Groups*s.Tabs) / tabsOf(l.Groups*l.Tabs)))
	}
	return off
}

// tabsOf is how many tabs a level leaves, for comparison.
func tabsOf(n int) float64 {
	if n == 0 {
		return usualTabs
	}
	return float64(n)
}

// usualTabs is from how many tabs on a library is as hard as a full one; house rule.
const usualTabs = 60

// Says tells in words what a level shows, "" where there is nothing to say.
func (l Level) Says() string {
	switch {
	case l.Tabs > 0:
		return fmt.Sprintf("%d value groups of %d tabs", l.Groups, l.Tabs)
	case l.Foot && l.Spread > 1:
		return fmt.Sprintf("the foot of the ladder is given, steps are %.1f times as large as usual", l.Spread)
	case l.Foot:
		return "the foot of the ladder is given"
	case l.Patches > 0 && l.Spread > 1:
		return fmt.Sprintf("rows of %d, %.3g times as long as usual", l.Patches, l.Spread)
	case l.Patches > 0:
		return fmt.Sprintf("rows of %d", l.Patches)
	case l.Spread > 1.05:
		return fmt.Sprintf("differences %.1f times as large as usual", l.Spread)
	case l.Spread > 0 && l.Spread < 0.95:
		return "differences finer than usual"
	}
	return "as usual"
}

// wide is Spread with its usual value.
func (s Setup) wide() float64 {
	if s.Spread == 0 {
		return 1
	}
	return s.Spread
}

// The range that a spread may have.
const leastSpread, mostSpread = 0.5, 8

// checkLevel refuses what no level has.
func (s Setup) checkLevel() error {
	if s.Spread != 0 && !(s.Spread >= leastSpread && s.Spread <= mostSpread) || s.Level < 0 || s.Level > 99 {
		return unusable("leave the level out", "there is no level %d with differences %g times as large as usual", s.Level, s.Spread)
	}
	return nil
}

// Tried is what answers at a level came to, oldest first in a list.
type Tried struct {
	Level     int
	Right, Of float64 // judgements, or answers
}

// Fit is what answers say of the level that suits.
type Fit struct {
	Level int
	// Ability is the level, between the whole ones, at which [SuitedShare] of the answers
	// would be right, and SD how well it is known.
	Ability, SD float64
}

// How [Suited] looks back and ahead; house rules, tried on simulated learners (a test
// prints what they come to).
const (
	// levelSlope is by how much the log odds of a right answer fall from a level to the
	// next. Ladders are built so that a level costs 6 to 10 points near the aim; being
	// off by half changes how quickly a level is found, not which one.
	levelSlope = 0.55
	// levelMemory is how many judgements count: older ones fade, e-fold each.
	levelMemory = 60.0
	// levelLapse is the share of slips of the finger that no level can help.
	levelLapse = 0.02
	// The first drill begins around the middle of the ladder, and, hardly anything being known,
	// a little below: a beginning that goes well encourages.
	firstLevelSD = 4.0
)

// Suited finds the level that suits from what was tried: the mean of the posterior of a
// logistic curve over levels, on a grid, with a wide prior around the middle one. Old
// judgements weigh less, so that who improves climbs and who tires comes down.
func Suited(levels int, tried []Tried) Fit { return suited(levels, tried, Fit{}) }

// suited takes along what other exercises let expect; the zero Fit is nothing.
func suited(levels int, tried []Tried, expected Fit) Fit {
	if levels <= 0 {
		return Fit{}
	}
	const step = 0.25
	first := float64(levels) / 2
	from, to := -6.0, float64(levels)+6
	n := int((to-from)/step) + 1
	log := make([]float64, n)
	ability := func(i int) float64 { return from + step*float64(i) }
	for i := range log {
		z := (ability(i) - first) / firstLevelSD
		log[i] = -z * z / 2
		if expected.SD > 0 {
			z := (ability(i) - expected.Ability) / expected.SD
			log[i] -= z * z / 2
		}
	}
	weight := 1.0
	offset := math.Log(SuitedShare / (1 - SuitedShare))
	for k := len(tried) - 1; k >= 0 && weight > 0.01; k-- {
		t := tried[k]
		if !(t.Of > 0) {
			continue
		}
		for i := range log {
			p := 1 / (1 + math.Exp(-(levelSlope*(ability(i)-float64(t.Level)) + offset)))
			p = levelLapse/2 + (1-levelLapse)*p
			log[i] += weight * (t.Right*math.Log(p) + (t.Of-t.Right)*math.Log(1-p))
		}
		weight *= math.Exp(-t.Of / levelMemory)
	}
	top := math.Inf(-1)
	for _, l := range log {
		top = max(top, l)
	}
	var sum, mean, square float64
	for i, l := range log {
		w := math.Exp(l - top)
		sum, mean, square = sum+w, mean+w*ability(i), square+w*ability(i)*ability(i)
	}
	mean /= sum
	f := Fit{Ability: mean, SD: math.Sqrt(max(0, square/sum-mean*mean))}
	// What is hardly known yet is begun a little lower: too easy does less harm.
	f.Level = min(levels, max(1, int(math.Round(mean-0.25*f.SD))))
	return f
}

// spreads are levels that differ in nothing but how large the differences are.
func spreads(list ...float64) (levels []Level) {
	for _, s := range list {
		levels = append(levels, Level{Spread: s})
	}
	return levels
}

// thinned are the levels of taking a shade: a library of few tabs that lie far apart,
// with targets that are tabs, then more of them, at last all of them and any target.
var thinned = []Level{
	{Groups: 3, Tabs: 2, Targets: TabTargets}, {Groups: 4, Tabs: 2, Targets: TabTargets}, {Groups: 5, Tabs: 2, Targets: TabTargets}, {Groups: 4, Tabs: 3, Targets: TabTargets}, {Groups: 6, Tabs: 3, Targets: TabTargets},
	{Groups: 6, Tabs: 4, Targets: TabTargets}, {Groups: 7, Tabs: 5, Targets: TabTargets}, {Groups: 8, Tabs: 6, Targets: NaturalTargets},
	{Targets: NaturalTargets},
}

const usualThinned = 9

// thinnedBefore are the groups and tabs of the levels from which drills come that do not say
// them. Never to be changed.
var thinnedBefore = [][2]int{{3, 2}, {4, 3}, {6, 3}, {6, 4}, {7, 5}, {8, 6}, {}}

// stocks are those of a sparse stock: of few teeth, and verdicts that lie far apart.
var stocks = []Level{
	{Groups: 3, Tabs: 2, Spread: 2.5}, {Groups: 3, Tabs: 3, Spread: 2.2}, {Groups: 4, Tabs: 3, Spread: 1.9}, {Groups: 6, Tabs: 4, Spread: 1.8}, {Groups: 6, Tabs: 4, Spread: 1.6}, {Groups: 7, Tabs: 5, Spread: 1.3}, {},
	{Spread: 0.75}, {Spread: 0.55},
}
