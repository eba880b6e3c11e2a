package classes

import (
	"fmt"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// What a change is measured from; house choices.
const (
	mostInBlock = 3                   // sittings at either end that stand for that time
	leastPause  = 14 * 24 * time.Hour // without practice, before what was kept is looked at
)

// effect is what became of the errors of a class in one exercise, within each
// learner: whoever joins or goes does not move it.
type effect struct {
	title   string // of the exercise
	kind    string
	learner []changed // in the order of the class; those with a sitting of the exercise
	others  int       // sittings that were left out, being of another level or question
}

// changed is one learner at both ends: their first and their latest sittings, as
// many as fit twice, three at most.
type changed struct {
	row           Row
	sittings      int
	first, latest trend.Block
	own           scoring.Estimate // change with the person's own uncertainty
	left          bool             // stopped while the class went on
	from, to      float64          // mean of either block; equal for a single sitting
}

// both says whether there is a change to speak of.
func (c changed) both() bool { return c.sittings >= 2 }

// effect measures the exercise of that identifier, or with none the one in which
// most learners have two sittings and more.
func (c *Review) effect(kind string) (effect, bool) {
	if kind == "" {
		most := 0
		for _, k := range c.kindsSeen() {
			n := 0
			for i := range c.learners {
				if lk, _ := c.learners[i].alike(k.id); len(lk.medians) >= 2 {
					n++
				}
			}
			if n > most {
				most, kind = n, k.id
			}
		}
	}
	e := effect{kind: kind}
	var before, after []trend.Block
	for i := range c.learners {
		l := &c.learners[i]
		k, others := l.alike(kind)
		if len(k.medians) == 0 {
			continue
		}
		e.title, e.others = k.title, e.others+others
		n := len(k.medians)
		size := max(1, min(mostInBlock, n/2))
		one := changed{row: l.row, sittings: n, left: c.stopped(l.row),
			first: trend.Block{Values: k.medians[:size], Answers: k.answers[:size]}, latest: trend.Block{Values: k.medians[n-size:], Answers: k.answers[n-size:]}}
		one.from, one.to = one.first.Mean(), one.latest.Mean()
		e.learner = append(e.learner, one)
		if !one.both() {
			one.latest = trend.Block{}
		}
		before, after = append(before, one.first), append(after, one.latest)
	}
	for i, own := range trend.OwnChanges(before, after, history.Level) {
		e.learner[i].own = own
	}
	return e, len(e.learner) > 0
}

// stopped says whether somebody has gone silent while the class went on.
func (c *Review) stopped(r Row) bool { return c.last.Sub(r.Last) > c.Scope.Idle }

// ends lists first and latest of those whom pick takes.
func (e effect) ends(pick func(changed) bool) (first, latest []float64) {
	for _, l := range e.learner {
		if pick(l) {
			first, latest = append(first, l.from), append(latest, l.to)
		}
	}
	return first, latest
}

func stayed(c changed) bool    { return c.both() && !c.left }
func went(c changed) bool      { return c.both() && c.left }
func everybody(changed) bool   { return true }
func remaining(c changed) bool { return !c.left }

// own counts who changed beyond their own uncertainty.
func (e effect) own() (improved, same, worse, untold int) {
	for _, l := range e.learner {
		switch {
		case !l.own.HasInterval():
			untold++
		case l.own.Hi < 0:
			improved++
		case l.own.Lo > 0:
			worse++
		default:
			same++
		}
	}
	return improved, same, worse, untold
}

// ownWord says it of one.
func (c changed) ownWord() string {
	switch {
	case c.sittings < 2:
		return "one sitting only"
	case !c.own.HasInterval():
		return "cannot be told"
	case c.own.Hi < 0:
		return "improved"
	case c.own.Lo > 0:
		return "got worse"
	}
	return "no change beyond chance"
}

// kept measures retention: the last sittings before each learner's longest pause
// against the first sitting after it.
func (c *Review) kept(kind string) (before, after []float64, days []float64) {
	for i := range c.learners {
		k, _ := c.learners[i].alike(kind)
		longest, at := time.Duration(0), 0
		for s := 1; s < len(k.at); s++ {
			if pause := k.at[s].Sub(k.at[s-1]); pause > longest {
				longest, at = pause, s
			}
		}
		if longest < leastPause {
			continue
		}
		from := max(0, at-mostInBlock)
		b := trend.Block{Values: k.medians[from:at], Answers: k.answers[from:at]}
		before, after = append(before, b.Mean()), append(after, k.medians[at])
		days = append(days, longest.Hours()/24)
	}
	return before, after, days
}

// forms measures the proficiency test: the first and the latest taken to their end.
func (c *Review) forms() (before, after []float64, otherForm int) {
	for _, l := range c.learners {
		if len(l.tests) < 2 {
			continue
		}
		first, latest := l.tests[0], l.tests[len(l.tests)-1]
		if !first.share.Defined() || !latest.share.Defined() {
			continue
		}
		if first.ref != latest.ref {
			otherForm++
		}
		before, after = append(before, first.share.Value), append(after, latest.share.Value)
	}
	return before, after, otherForm
}

// changeWords says a change of errors: "shrank by 0.42 ΔE00 (0.20 to 0.64)".
func changeWords(e scoring.Estimate) string {
	switch {
	case !e.HasInterval():
		return "cannot be said to have changed"
	case e.Covers(0):
		return "show no change beyond chance (" + rangeWords(e) + ")"
	case e.Value < 0:
		return fmt.Sprintf("shrank by %.2f ΔE00 (%.2f to %.2f%s)", -e.Value, -e.Hi, -e.Lo, e.RoughWord())
	}
	return fmt.Sprintf("grew by %.2f ΔE00 (%.2f to %.2f%s)", e.Value, e.Lo, e.Hi, e.RoughWord())
}

// rangeWords is an estimate of a change with its interval, all signed.
func rangeWords(e scoring.Estimate) string {
	return fmt.Sprintf("%s, from %s to %s ΔE00%s", report.SignedWords(e.Value), report.SignedWords(e.Lo), report.SignedWords(e.Hi), e.RoughWord())
}
