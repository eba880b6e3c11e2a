package exercises

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// The practice plan chooses today's drills: what is weak, what is old, and what
// was never tried.
//
// Skill fades. How much of it is left after a while is taken from half-life
// regression (B. Settles and B. Meeder, "A trainable spaced repetition model for
// language learning", Proceedings of the ACL 2016, 1848–1858): after Δ days the
// share p = 2^(−Δ/h) is left, and the half-life h grows with practice. There the
// growth is fitted to millions of lessons; here it is a house rule, firstHalfLife
// days after the first sitting and longer by moreHalfLife with each further one.
// What fades is what was gained over a beginner; a beginner's share is a house
// rule as well:
//
//	expected today = beginner + (right last − beginner)·p
//
// The lower the share of right answers that is expected today, the sooner an
// exercise comes.
const (
	firstHalfLife = 3.0  // days
	moreHalfLife  = 1.5  // times
	mostHalfLife  = 90.0 // days
	beginner      = 0.3  // share right
	// A few answers tell little: shares are drawn towards the beginner's by the
	// weight of so many.
	drawnIn = 5.0
	// justNow is how many days count as "has just been practised": half a day.
	justNow = 0.5
)

// Practised is what a learner did in one kind of exercise so far.
type Practised struct {
	Kind     KindID
	Sittings int
	Answers  int       // those that Right was counted over: of the newest sittings
	Right    float64   // share of them within acceptability, or right; NaN where nothing can be right
	Last     time.Time // when last practised
	// Judged says that Right counts judgements that are right or wrong, not answers
	// within acceptability.
	Judged bool
	// Regions are parts of the colours of teeth, where the kind has them.
	Regions []PractisedRegion
}

// PractisedRegion is the same for part of the colours of teeth.
type PractisedRegion struct {
	Name    string // for a sentence: "L* 65 to 72, C* 22 to 32"
	Answers int
	Right   float64
}

// Motive is why a drill is on today's plan.
type Motive string

const (
	MotiveNew  Motive = "new"
	MotiveOld  Motive = "old"
	MotiveWeak Motive = "weak"
	MotiveKeep Motive = "keep" // neither weak nor old: it is the next to be both
)

// Suggestion is a drill on today's plan.
type Suggestion struct {
	Kind     KindID
	Motive   Motive
	Reason   string  // one line, without the exercise's name
	Expected float64 // share of right answers expected today, 0..1
	Done     bool    // practised within the last hours
	// Adaptive asks the drill to look for weak regions by itself.
	Adaptive bool
}

// PlanToday chooses at most n drills, the most needed first. At most one of them
// was never tried, the next in the order in which the exercises are best learned;
// a newcomer gets the first ones in that order. What was practised within the last
// hours comes after what was not. Only kinds that offered allows are chosen; nil
// allows all.
func PlanToday(now time.Time, history []Practised, n int, offered func(KindID) bool) []Suggestion {
	var list, fresh []Suggestion
	for _, k := range Kinds() {
		if offered != nil && !offered(k.ID()) {
			continue
		}
		i := slices.IndexFunc(history, func(p Practised) bool { return p.Kind == k.ID() && p.Sittings > 0 })
		switch {
		case i >= 0:
			list = append(list, advise(now, history[i]))
		case k.Traits().OnlyIfTakenUp():
		default:
			fresh = append(fresh, Suggestion{Kind: k.ID(), Motive: MotiveNew, Expected: beginner,
				Reason: "never tried; trains " + k.Trains(), Adaptive: k.Traits().Adapts})
		}
	}
	slices.SortStableFunc(list, func(a, b Suggestion) int {
		if a.Done != b.Done {
			if a.Done {
				return 1
			}
			return -1
		}
		return cmp.Compare(a.Expected, b.Expected)
	})
	n = max(0, n)
	if len(list) == 0 {
		return fresh[:min(n, len(fresh))]
	}
	if len(fresh) > 0 && n > 0 {
		// The new one comes last: first what is known is kept up.
		list = append(list[:min(n-1, len(list))], fresh[0])
	}
	return list[:min(n, len(list))]
}

func advise(now time.Time, p Practised) Suggestion {
	days := max(0, now.Sub(p.Last).Hours()/24)
	if p.Last.IsZero() {
		days = 0
	}
	left := Retained(days, p.Sittings)
	right := drawIn(p.Right, p.Answers)
	expected := right
	if right > beginner {
		expected = beginner + (right-beginner)*left
	}
	a := Suggestion{Kind: p.Kind, Expected: expected, Adaptive: TraitsOf(p.Kind).Adapts, Done: days < justNow}
	faded, missing := right-expected, 1-right
	switch ago := daysAgo(days); {
	case faded > missing/2 && faded > 0.05:
		a.Motive = MotiveOld
		a.Reason = fmt.Sprintf("last practised %s; of what practice gained about %.0f %% is left by then", ago, 100*left)
	case p.Answers > 0 && p.Answers < 5:
		a.Motive = MotiveKeep
		a.Reason = "hardly begun, last practised " + ago
	case math.IsNaN(p.Right) || p.Answers == 0:
		a.Motive = MotiveKeep
		a.Reason = "last practised " + ago
	case missing > 0.2:
		a.Motive = MotiveWeak
		what := "answers missed acceptability"
		if p.Judged {
			what = "judgements were not right"
		}
		a.Reason = fmt.Sprintf("%.0f %% of the last %d %s", 100*(1-p.Right), p.Answers, what)
		if w, ok := weakest(p); ok {
			a.Reason += fmt.Sprintf(", most of all at %s (%.0f %%)", w.Name, 100*(1-w.Right))
		}
	default:
		a.Motive = MotiveKeep
		a.Reason = fmt.Sprintf("last practised %s, %.0f %% right: to keep it up", ago, 100*p.Right)
	}
	return a
}

// Retained is the share of what practice gained that is left after so many days
// without, and so many sittings before.
func Retained(days float64, sittings int) float64 {
	halfLife := min(mostHalfLife, firstHalfLife*math.Pow(moreHalfLife, float64(max(0, sittings-1))))
	return math.Exp2(-max(0, days) / halfLife)
}

// drawIn shrinks a share seen in few answers towards a beginner's.
func drawIn(right float64, answers int) float64 {
	if math.IsNaN(right) || answers <= 0 {
		return beginner
	}
	right = min(1, max(0, right))
	return (right*float64(answers) + beginner*drawnIn) / (float64(answers) + drawnIn)
}

// weakest is the region that stands out below the rest; there is none where the
// differences may be chance.
func weakest(p Practised) (PractisedRegion, bool) {
	var worst PractisedRegion
	least := math.Inf(1)
	for _, r := range p.Regions {
		if math.IsNaN(r.Right) || r.Answers < 5 {
			continue
		}
		if x := drawIn(r.Right, r.Answers); x < least {
			worst, least = r, x
		}
	}
	if math.IsInf(least, 1) {
		return worst, false
	}
	// Two standard errors of a share, so that one bad answer makes no region.
	spread := math.Sqrt(max(p.Right*(1-p.Right), 0.05) / float64(worst.Answers))
	return worst, worst.Right < p.Right-2*spread
}

func daysAgo(days float64) string {
	switch d := int(days); d {
	case 0:
		return "today"
	case 1:
		return "a day ago"
	default:
		return fmt.Sprintf("%d days ago", d)
	}
}
