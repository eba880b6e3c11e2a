package exercises

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"
)

// A day's plan is a few short drills that fill a number of minutes and end: what is
// weak, what fades, mistakes of the last weeks, and one exercise that is new. It follows
// from what was practised before the day and does not change during it, so that it ends;
// which drills of it are done follows from what was practised since.

// PlanMinutes are how long a day's plan can be; the first is the usual one. House choice.
var PlanMinutes = []int{10, 5, 20}

// slots is how many drills fill so many minutes: of some three minutes each.
func slots(minutes int) int {
	return max(min(2, minutes), min(5, int(math.Round(float64(minutes)/3.5))))
}

const (
	// leastTrials and mostTrials bound a drill of the plan; house rule.
	leastTrials, mostTrials = 4, 30
	// mostDrills are on a plan, and one more is worth beginning from this share of the usual
	// length of a drill on; house rule.
	mostDrills, worthADrill = 6, 0.6
	// around is the time of an answer beside thinking: rest, and reading what it was; where
	// nothing is told of single answers, the rest alone.
	around, aroundSilent = 8.0, 1.0
	// enoughMissed is how many mistakes make a drill of them.
	enoughMissed = 3
	// recedes is how much of what was mastered must have faded before it comes again.
	recedes = 0.5
	// newestJudged is how many judgements say how well somebody does now.
	newestJudged = 24.0
)

// Practised is what a learner did in one kind of exercise before the day.
type Practised struct {
	Kind  KindID
	Days  []PracticeDay // oldest first
	Tried []Tried       // sittings, oldest first; see [Suited]
	Pace  float64       // seconds an answer takes with all around it; 0 where not known yet
}

// Missed are mistakes that are due to be asked again; Kind is what the drill is of.
type Missed struct {
	Kind KindID
	Due  int
	Pace float64
}

// Motive is why a drill is on the plan.
type Motive string

const (
	MotiveNew   Motive = "new"
	MotiveOld   Motive = "old"
	MotiveWeak  Motive = "weak"
	MotiveKeep  Motive = "keep" // neither weak nor old: it is the next to be both
	MotiveAgain Motive = "again"
)

// Suggestion is a drill of the plan.
type Suggestion struct {
	Kind    KindID
	Motive  Motive
	Reason  string // one line, without the exercise's name
	Count   int    // answers
	Minutes float64
	Level   int // 0 for an exercise without, and for mistakes
	Was     int // the level of the drill before; 0 where there was none
	// Adaptive asks the drill to look for weak regions by itself.
	Adaptive bool
	expected Fit // of what was done in other exercises
	Given    int // answers of today
	Done     bool
}

// Again reports whether the drill asks mistakes once more.
func (s Suggestion) Again() bool { return s.Motive == MotiveAgain }

// SetLevel puts the drill on the level that suits after what was tried.
func (s *Suggestion) SetLevel(tried []Tried) {
	if s.Again() {
		return
	}
	traits := TraitsOf(s.Kind)
	s.Level, s.Was = suited(len(traits.Levels), tried, s.expected).Level, 0
	if n := len(tried); n > 0 {
		s.Was = tried[n-1].Level
	}
	s.Adaptive = traits.Adapts && s.Level == traits.UsualLevel
}

// Why is the reason, with what the level does today.
func (s Suggestion) Why() string {
	by := s.Level - s.Was
	if s.Level == 0 || s.Was == 0 || by == 0 {
		return s.Reason
	}
	harder, levels := "harder", "a level"
	if by < 0 {
		harder, by = "easier", -by
	}
	if by > 1 {
		levels = fmt.Sprintf("%d levels", by)
	}
	return fmt.Sprintf("%s; %s %s today", s.Reason, levels, harder)
}

// Left is how many answers are still to be given.
func (s Suggestion) Left() int {
	if s.Done {
		return 0
	}
	return max(0, s.Count-s.Given)
}

// Sat is a drill of the day: what the plan has been done.
type Sat struct {
	Kind    KindID
	Again   bool
	Answers int
	Whole   bool // ended after its last trial
}

// DayPlan is a day's plan.
type DayPlan struct {
	Drills []Suggestion
}

// Next is the first drill that is not done; −1 when the day's practice is.
func (p DayPlan) Next() int {
	return slices.IndexFunc(p.Drills, func(s Suggestion) bool { return !s.Done })
}

// Done reports whether everything is.
func (p DayPlan) Done() bool { return p.Next() < 0 }

// Minutes is how long what is left takes.
func (p DayPlan) Minutes() float64 {
	sum := 0.0
	for _, s := range p.Drills {
		if !s.Done {
			sum += s.Minutes * float64(s.Left()) / float64(max(1, s.Count))
		}
	}
	return sum
}

// PlanDay plans a day from what was practised before it. Only kinds that offered allows
// are chosen; nil allows all. What needs real tabs and a helper, and what measures
// instead of training, is never on it.
func PlanDay(day time.Time, minutes int, history []Practised, missed Missed, offered func(KindID) bool) DayPlan {
	n := slots(minutes)
	var known, fresh []candidate
	for _, k := range Kinds() {
		if k.Traits().OffPlan() || offered != nil && !offered(k.ID()) {
			continue
		}
		if i := slices.IndexFunc(history, func(p Practised) bool { return p.Kind == k.ID() && len(p.Days) > 0 }); i >= 0 {
			known = append(known, weigh(day, history[i]))
		} else {
			fresh = append(fresh, candidate{Practised: Practised{Kind: k.ID()}, motive: MotiveNew})
		}
	}
	for _, list := range [][]candidate{known, fresh} {
		for i := range list {
			list[i].expected = expectedOf(list[i].Kind, known)
		}
	}
	standOut(known)
	slices.SortStableFunc(known, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(b.need, a.need), cmp.Compare(b.days, a.days))
	})
	each := float64(minutes) / float64(n)
	var plan DayPlan
	add := func(c candidate) { plan.Drills = append(plan.Drills, c.suggest(each)) }
	again := missed.Due >= enoughMissed && (offered == nil || offered(missed.Kind))
	room := n
	if again {
		room--
	}
	if len(known) > 0 && len(fresh) > 0 && room > 1 {
		room-- // one that is new, at the end: first what is known is kept up
	}
	for _, c := range known[:min(room, len(known))] {
		add(c)
	}
	if again {
		plan.Drills = slices.Insert(plan.Drills, min(1, len(plan.Drills)), againDrill(missed, each))
	}
	for i := 0; i < len(fresh) && len(plan.Drills) < n && (i == 0 || len(known) == 0); i++ {
		add(fresh[i])
	}
	// The weak one may come twice; nothing else does.
	if len(plan.Drills) < n && len(known) > 0 && known[0].motive == MotiveWeak {
		add(known[0])
	}
	// What is answered quickly leaves time for more: one that is new where there was no room
	// for it, then what is known and has not receded, then what else is new.
	rest := slices.Concat(fresh[:min(1, len(fresh))], known, fresh[min(1, len(fresh)):])
	rest = slices.DeleteFunc(rest, func(c candidate) bool {
		return c.need < 0 || slices.ContainsFunc(plan.Drills, func(s Suggestion) bool { return s.Kind == c.Kind })
	})
	for _, c := range rest {
		if left := float64(minutes) - plan.Minutes(); len(plan.Drills) < mostDrills && left >= worthADrill*each {
			plan.Drills = append(plan.Drills, c.suggest(min(each, left)))
		}
	}
	plan.fill(float64(minutes))
	return plan
}

// fill lengthens the drills, one after the other by a scene, until the day is as long as
// it was set.
func (p DayPlan) fill(minutes float64) {
	for grew := true; grew; {
		grew = false
		for i := range p.Drills {
			d := &p.Drills[i]
			scene := max(1, TraitsOf(d.Kind).Scene)
			takes := d.Minutes / float64(d.Count) * float64(scene)
			if d.Again() || d.Count+scene > mostTrials || p.Minutes()+takes/2 > minutes {
				continue
			}
			d.Count, d.Minutes, grew = d.Count+scene, d.Minutes+takes, true
		}
	}
}

// Since marks what of the plan was done by what was sat since.
func (p DayPlan) Since(sat []Sat) DayPlan {
	p.Drills = slices.Clone(p.Drills)
	left := slices.Clone(sat)
	for i := range p.Drills {
		d := &p.Drills[i]
		for k := 0; k < len(left) && !d.Done; k++ {
			if left[k].Answers == 0 || left[k].Again != d.Again() || left[k].Kind != d.Kind && !d.Again() {
				continue
			}
			d.Given += left[k].Answers
			d.Done = left[k].Whole || d.Given >= d.Count
			left[k].Answers = 0
		}
	}
	return p
}

// candidate is an exercise with what speaks for it.
type candidate struct {
	Practised
	motive Motive
	fit    Fit     // of its own answers alone
	left   float64 // share of what was gained that is left by the day
	days   float64 // since the last practice
	need   float64
	top    bool // mastered
	right  float64
	of     float64
	// expected is what the other exercises let expect of this one.
	expected Fit
}

// below is how far somebody is below the usual level of an exercise, in levels of a ladder
// whose usual level is usualLadder: all ladders reach about as far down, in more steps or
// fewer.
func (c candidate) below() float64 {
	usual := float64(UsualLevel(c.Kind))
	return usualLadder * (usual - c.fit.Ability) / usual
}

// Who is so many levels below the usual one elsewhere is, give or take apart, as many below
// it here. Observers who differ in nothing but one scatter have 0.8 to 1.1 levels between
// their exercises; what people have nobody measured, so it is taken to be twice that: a
// hint, and after 40 answers an eighth of what is said at most. House rule.
const apart, usualLadder = 2.0, 8.0

func expectedOf(kind KindID, known []candidate) Fit {
	var sum, weight float64
	for _, c := range known {
		if c.Kind != kind && len(c.Tried) > 0 && len(Levels(c.Kind)) > 0 {
			sd := c.fit.SD * usualLadder / float64(UsualLevel(c.Kind))
			w := 1 / (apart*apart + sd*sd)
			sum, weight = sum+w*c.below(), weight+w
		}
	}
	if weight == 0 {
		return Fit{}
	}
	usual := float64(UsualLevel(kind))
	return Fit{Ability: usual * (1 - sum/weight/usualLadder), SD: usual / usualLadder * math.Sqrt(apart*apart+1/weight)}
}

func weigh(day time.Time, p Practised) candidate {
	c := candidate{Practised: p, motive: MotiveKeep, fit: Suited(len(Levels(p.Kind)), p.Tried)}
	// Whole days; one that is 23 or 25 hours long is one.
	c.days = max(0, math.Round(day.Sub(p.Days[len(p.Days)-1].Start).Hours()/24))
	c.left, c.top = Retained(c.days, p.Days), mastered(p.Kind, p.Days)
	for i := len(p.Tried) - 1; i >= 0 && c.of < newestJudged; i-- {
		c.right, c.of = c.right+p.Tried[i].Right, c.of+p.Tried[i].Of
	}
	c.need = 1 - c.left
	if c.need > 0.4 {
		c.motive = MotiveOld
	}
	if c.top && c.left > recedes {
		c.need -= 2
	}
	return c
}

// standOut finds the exercise that is weak: whose answers went wrong, or whose level
// lies plainly below that of the others.
func standOut(known []candidate) {
	var all []float64
	for _, c := range known {
		if len(Levels(c.Kind)) > 0 {
			all = append(all, c.below())
		}
	}
	slices.Sort(all)
	weakest, most := -1, 0.0
	for i, c := range known {
		weak := 0.0
		if c.of >= 8 && c.right < 0.7*c.of {
			weak = SuitedShare - c.right/c.of
		}
		if len(all) > 2 && len(Levels(c.Kind)) > 0 {
			weak = max(weak, min(1, (c.below()-all[len(all)/2]-1)/3))
		}
		if weak > most && !c.top {
			weakest, most = i, weak
		}
	}
	if weakest >= 0 {
		known[weakest].motive = MotiveWeak
		known[weakest].need += 0.5 + most
	}
}

// suggest makes the drill of a candidate.
func (c candidate) suggest(minutes float64) Suggestion {
	s := Suggestion{Kind: c.Kind, Motive: c.motive, Reason: c.reason(), expected: c.expected}
	s.SetLevel(c.Tried)
	s.Count, s.Minutes = howMany(c.Kind, minutes, c.Pace)
	return s
}

// UsualPace is how many seconds an answer takes with all around it, as long as nothing
// tells a learner's own; house rule.
func UsualPace(kind KindID) float64 {
	t := TraitsOf(kind)
	if t.MeasuresThreshold {
		return t.Seconds + aroundSilent
	}
	return t.Seconds + around
}

// howMany answers fill the minutes, in whole scenes, and how long they take.
func howMany(kind KindID, minutes, pace float64) (count int, takes float64) {
	traits := TraitsOf(kind)
	if !(pace > 0) {
		pace = UsualPace(kind)
	}
	scene := max(1, traits.Scene)
	count = max(leastTrials, min(mostTrials, int(math.Round(60*minutes/pace))))
	count = max(1, int(math.Round(float64(count)/float64(scene)))) * scene
	return count, float64(count) * pace / 60
}

func againDrill(m Missed, minutes float64) Suggestion {
	s := Suggestion{Kind: m.Kind, Motive: MotiveAgain}
	count, _ := howMany(m.Kind, minutes, m.Pace)
	s.Count = min(count, m.Due)
	pace := m.Pace
	if !(pace > 0) {
		pace = UsualPace(m.Kind)
	}
	s.Minutes = float64(s.Count) * pace / 60
	s.Reason = fmt.Sprintf("%d answers of the last weeks that missed, once more; what comes back after a few days stays", m.Due)
	if m.Due == 1 {
		s.Reason = "one answer of the last weeks that missed, once more; what comes back after a few days stays"
	}
	return s
}

// reason says why, in words that are true and encourage.
func (c candidate) reason() string {
	counted := fmt.Sprintf("%.0f of the last %.0f right", math.Floor(c.right), c.of)
	if c.of < 1.5 {
		counted = "only one answer to go by"
	}
	ago := daysAgo(c.days)
	switch {
	case c.motive == MotiveNew:
		return "new to you"
	case c.motive == MotiveWeak && c.of > 0:
		return "here is most to gain: " + counted
	case c.top:
		return "mastered, right and quick on " + fmt.Sprint(masteredDays) + " days; last practised " + ago + ", only to keep it"
	case c.motive == MotiveOld:
		return "last practised " + ago + ": coming back before it fades makes it last"
	case c.of > 0 && c.right >= 0.8*c.of:
		return counted
	case c.of > 0:
		return "last practised " + ago + ", " + counted
	}
	return "last practised " + ago
}

func daysAgo(days float64) string {
	switch d := int(days); d {
	case 0:
		return "lately"
	case 1:
		return "yesterday"
	default:
		return fmt.Sprintf("%d days ago", d)
	}
}
