package learners

import (
	"context"
	"slices"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
)

// Day is a day's practice: what is planned, what of it is done, and what tomorrow will
// hold. All of it follows from the book.
type Day struct {
	Start    time.Time // of the day
	Plan     exercises.DayPlan
	Tomorrow exercises.DayPlan // the plan of the day after, without what is done of it
	Late     bool              // that day has begun
	// Answers and Minutes are what was practised today, whatever it was.
	Answers int
	Minutes float64
	// Mistakes is the drill of one's own mistakes that is due.
	Mistakes Mistakes
	// Newcomer says that nothing was practised before today.
	Newcomer bool
}

// PracticeDay plans somebody's day: about so many minutes, 0 for as many as they have set, of the kinds that offered
// allows; nil allows all. The day is that of the given moment: what was practised before
// it decides the plan, what was practised since is done.
func PracticeDay(ctx context.Context, book history.Book, who scoring.LearnerID, day, now time.Time, minutes int, offered func(exercises.KindID) bool) (Day, error) {
	h, err := history.Read(ctx, book, record.Filter{Learner: who})
	if err != nil {
		return Day{}, err
	}
	if minutes <= 0 {
		if minutes, err = minutesSet(ctx, book, who); err != nil {
			return Day{}, err
		}
	}
	d := Day{Start: scoring.StartOfDay(day), Newcomer: true}
	end := scoring.NextDay(now)
	var before, all []exercises.Practised
	var sat []exercises.Sat
	for _, k := range h.Kinds {
		earlier := *k
		earlier.Sittings = nil
		for _, s := range k.Sittings {
			if s.Started.Before(d.Start) || !s.Started.Before(end) {
				earlier.Sittings = append(earlier.Sittings, s)
				continue
			}
			sat = append(sat, exercises.Sat{Kind: k.ID, Again: s.Again(), Answers: s.Count(), Whole: !s.Ended.IsZero() && !s.Left})
			d.Answers += s.Count()
			d.Minutes += took(s).Minutes()
		}
		if len(earlier.Sittings) > 0 {
			d.Newcomer = false
			before = append(before, practised(&earlier, d.Start.Location()))
		}
		all = append(all, practised(k, d.Start.Location()))
	}
	// Mistakes of today are no part of today's plan, and those of tomorrow's are.
	atStart, err := MistakesOf(ctx, book, who, d.Start)
	if err != nil {
		return Day{}, err
	}
	if d.Mistakes, err = mistakesOf(ctx, book, who, now, atStart.Setup.Kind); err != nil {
		return Day{}, err
	}
	d.Plan = exercises.PlanDay(d.Start, minutes, before, atStart.missed(before), offered).Since(sat)
	for i := range d.Plan.Drills {
		s := &d.Plan.Drills[i]
		if s.Again() && !s.Done {
			// Those still due by now, where some were asked meanwhile.
			if d.Mistakes.Due == 0 {
				s.Done = true
				continue
			}
			s.Kind = d.Mistakes.Setup.Kind
		}
		if at := slices.IndexFunc(all, func(p exercises.Practised) bool { return p.Kind == s.Kind }); at >= 0 && !s.Done && s.Given == 0 {
			s.SetLevel(all[at].Tried)
		}
	}
	if next := scoring.NextDay(d.Start); now.Before(next) {
		tomorrow, err := MistakesOf(ctx, book, who, next)
		if err != nil {
			return Day{}, err
		}
		d.Tomorrow = exercises.PlanDay(next, minutes, all, tomorrow.missed(all), offered)
		return d, nil
	}
	// Practised over midnight: the day after is here, and its plan stands.
	after, err := PracticeDay(ctx, book, who, now, now, minutes, offered)
	if err != nil {
		return Day{}, err
	}
	d.Late, d.Tomorrow = true, after.Plan
	d.Tomorrow.Drills = slices.DeleteFunc(d.Tomorrow.Drills, func(s exercises.Suggestion) bool { return s.Done })
	return d, nil
}

// minutesSet is how long a plan somebody has set: what the latest sitting says, whether
// anything was answered in it or not.
func minutesSet(ctx context.Context, book history.Book, who scoring.LearnerID) (int, error) {
	sittings, err := book.Sittings(ctx, record.Filter{Learner: who})
	minutes := exercises.PlanMinutes[0]
	for _, s := range sittings {
		if s.Setup.Minutes > 0 && s.Within == "" {
			minutes = s.Setup.Minutes
		}
	}
	return minutes, err
}

// longestAnswer is the longest that an answer counts for: who went for a coffee was not
// practising. House rule.
const longestAnswer = 2 * time.Minute

// took is how long a sitting was practised.
func took(s *history.Sitting) time.Duration {
	return max(0, min(s.Last.Sub(s.Started), time.Duration(s.Count())*longestAnswer))
}

// practised sums up an exercise day by day.
func practised(k *history.Kind, zone *time.Location) exercises.Practised {
	p := exercises.Practised{Kind: k.ID}
	seconds := map[time.Time][]float64{}
	for _, s := range k.Sittings {
		start := scoring.StartOfDay(s.Started.In(zone))
		if n := len(p.Days); n == 0 || !p.Days[n-1].Start.Equal(start) {
			p.Days = append(p.Days, exercises.PracticeDay{Start: start})
		}
		d := &p.Days[len(p.Days)-1]
		d.Right, d.Of = d.Right+s.Tried.Right, d.Of+s.Tried.Of
		seconds[start] = append(seconds[start], s.Seconds...)
		level := s.Setup.LevelLike()
		d.Level = max(d.Level, level)
		if t := s.Tried; t.Of > 0 && (level > 0 || len(exercises.Levels(k.ID)) == 0) {
			t.Level = level
			p.Tried = append(p.Tried, t)
		}
	}
	for i := range p.Days {
		d := &p.Days[i]
		d.Quick = history.Median(seconds[d.Start]) <= exercises.TraitsOf(k.ID).Seconds
	}
	p.Pace = pace(k.Sittings)
	return p
}

const (
	// newestSittings say how fast somebody is, each with so many answers at least.
	newestSittings   = 5
	leastInSitting   = 3
	leastPace, slows = 2.0, 120.0 // seconds an answer; outside nobody's pace
)

// pace is what an answer takes with all around it, in seconds; 0 where nothing tells.
func pace(sittings []*history.Sitting) float64 {
	var list []float64
	for i := len(sittings) - 1; i >= 0 && len(list) < newestSittings; i-- {
		if s := sittings[i]; s.Count() >= leastInSitting {
			list = append(list, min(slows, max(leastPace, s.Last.Sub(s.First).Seconds()/float64(s.Count()-1))))
		}
	}
	if len(list) == 0 {
		return 0
	}
	return history.Median(list)
}

// TakesMinutes is how long so many answers take somebody: at their own pace where the
// book tells it, which own says.
func TakesMinutes(ctx context.Context, book history.Book, who scoring.LearnerID, kind exercises.KindID, answers int) (minutes float64, own bool, err error) {
	h, err := history.Read(ctx, book, record.Filter{Learner: who, Kind: string(kind)})
	if err != nil {
		return 0, false, err
	}
	seconds := 0.0
	for _, k := range h.Kinds {
		seconds = pace(k.Sittings)
	}
	if own = seconds > 0; !own {
		seconds = exercises.UsualPace(kind)
	}
	return seconds * float64(answers) / 60, own, nil
}
