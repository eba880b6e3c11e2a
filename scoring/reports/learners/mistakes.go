package learners

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
)

// Mistakes are asked again after a day, and, where they then go right, after longer and
// longer pauses, until they have gone right as often as there are pauses. House rule,
// after spacing that grows with strength (Mettler & Kellman 2014, Vision Res 99:111–123).
var pauses = []int{1, 3, 7} // days

const (
	// missedWithin is how far back mistakes are looked for.
	missedWithin = 28 // days
	// mostMistakes is how many questions a drill of them has.
	mostMistakes = 8
)

// Mistakes is a drill of questions that somebody missed in the last weeks and that are
// due again: of the exercise that has most of them.
type Mistakes struct {
	Setup exercises.Setup
	Due   int // questions; Setup asks the first of them
	// Later is how many more there are whose pause is not over.
	Later int
}

func (m Mistakes) missed(all []exercises.Practised) exercises.Missed {
	list := exercises.Missed{Kind: m.Setup.Kind, Due: len(m.Setup.Again)}
	if i := slices.IndexFunc(all, func(p exercises.Practised) bool { return p.Kind == m.Setup.Kind }); i >= 0 {
		list.Pace = all[i].Pace
	}
	return list
}

// question is one scene as it was asked, and what became of it since it was missed.
type question struct {
	trials []exercises.Trial
	setup  exercises.Setup
	last   time.Time
	missed bool
	right  int // times since
}

// due counts in days: what is due today is due from the morning on.
func (q *question) due(now time.Time) bool {
	return q.open() && scoring.DaysBetween(q.last, now) >= pauses[q.right]
}

func (q *question) open() bool { return q.missed && q.right < len(pauses) }

// MistakesOf gathers what somebody missed and is due again at a moment.
func MistakesOf(ctx context.Context, book history.Book, who scoring.LearnerID, now time.Time) (Mistakes, error) {
	return mistakesOf(ctx, book, who, now, "")
}

// mistakesOf keeps to an exercise as long as something of it is due: a plan that has
// named it does not name another because some of its questions came up by chance meanwhile.
func mistakesOf(ctx context.Context, book history.Book, who scoring.LearnerID, now time.Time, keep exercises.KindID) (Mistakes, error) {
	questions, err := missedQuestions(ctx, book, who, now)
	if err != nil {
		return Mistakes{}, err
	}
	drills := map[string][]*question{}
	later := 0
	for _, q := range questions {
		switch {
		case q.due(now):
			key := drillOf(q.setup)
			drills[key] = append(drills[key], q)
		case q.open():
			later++
		}
	}
	kept := func(key string) bool { return len(drills[key]) > 0 && drills[key][0].setup.Kind == keep }
	var most string
	for key, list := range drills {
		n := len(drills[most])
		if kept(key) != kept(most) {
			if kept(key) {
				most = key
			}
		} else if len(list) > n || len(list) == n && key < most {
			most = key
		}
	}
	list := drills[most]
	m := Mistakes{Due: len(list), Later: later}
	if len(list) == 0 {
		return m, nil
	}
	slices.SortStableFunc(list, func(a, b *question) int { return a.last.Compare(b.last) })
	m.Setup = list[len(list)-1].setup
	for _, q := range list[:min(len(list), mostMistakes)] {
		if len(m.Setup.Again)+len(q.trials) > exercises.MostAgain {
			break
		}
		m.Setup.Again = append(m.Setup.Again, q.trials...)
	}
	m.Setup.Count = len(m.Setup.Again)
	return m, nil
}

// drillOf tells which questions can be asked in one drill: of the same exercise, from
// the same tabs, in the same light.
func drillOf(s exercises.Setup) string {
	return fmt.Sprint(s.Kind, " ", s.Task, " ", s.SheetID, " ", s.Viewing.Light, " ", s.Options)
}

// missedQuestions reads the questions of the last weeks, those of sets left out: their
// items belong to the set.
func missedQuestions(ctx context.Context, book history.Book, who scoring.LearnerID, now time.Time) ([]*question, error) {
	from := scoring.StartOfDay(now).AddDate(0, 0, -missedWithin)
	f := record.Filter{Learner: who}
	list, err := book.Sittings(ctx, f)
	if err != nil {
		return nil, err
	}
	sittings, sheets := map[scoring.SittingID]scoring.Sitting{}, map[string]*tabs.Sheet{}
	for _, s := range list {
		t := exercises.TraitsOf(s.Setup.Kind)
		k, err := exercises.ByID(s.Setup.Kind)
		if err != nil || t.OffPlan() || t.AnswerDriven || s.Within != "" || s.Setup.Version != k.Version() || !s.Started.Before(now) {
			continue
		}
		if id := s.Setup.SheetID; id != "" {
			if sheets[id] == nil {
				if sheets[id], err = book.Sheet(ctx, id); err != nil {
					return nil, err
				}
			}
			s.Setup.Sheet = sheets[id]
		}
		sittings[s.ID] = s
	}
	known := map[string]*question{}
	var order []*question
	f.From, f.To = from, now.Add(time.Millisecond) // with what was answered just now
	var scene []exercises.Trial
	var open scoring.Attempt // the last of the scene
	wrong := false
	var marking scoring.Marking
	end := func() {
		s, ok := sittings[open.Sitting]
		if len(scene) == 0 || !ok {
			return
		}
		key := drillOf(s.Setup) + asked(scene)
		q := known[key]
		if q == nil {
			q = &question{trials: slices.Clone(scene), setup: plain(s.Setup)}
			known[key], order = q, append(order, q)
		}
		q.last = open.At
		if wrong {
			q.missed, q.right = true, 0
		} else if q.missed {
			q.right++
		}
	}
	for a, err := range book.Attempts(ctx, f) {
		if err != nil {
			return nil, err
		}
		s, ok := sittings[a.Sitting]
		if !ok {
			continue
		}
		if a.Sitting != open.Sitting {
			end()
			scene, wrong, marking = nil, false, scoring.Marking{}
		} else if a.Trial.Scene != open.Trial.Scene || a.Trial.Part == "" {
			end()
			scene, wrong = nil, false
		}
		t := marking.Mark(a, s.Setup.Sheet).Judged(a.Trial.Kind)
		scene, open, wrong = append(scene, a.Trial), a, wrong || t.Right < t.Of
	}
	end()
	return order, nil
}

// asked tells one question from another by what was shown.
func asked(scene []exercises.Trial) string {
	var b strings.Builder
	for _, t := range scene {
		fmt.Fprint(&b, "|", t.Part, t.Key, t.Target.Hex())
		for _, p := range t.Patches {
			fmt.Fprint(&b, " ", p.Role, p.Colour.Hex())
		}
	}
	return b.String()
}

// plain is a setup for asking its questions again, whatever chose them.
func plain(s exercises.Setup) exercises.Setup {
	return exercises.Setup{Kind: s.Kind, Version: s.Version, Task: s.Task, Targets: s.Targets, Options: s.Options, SheetID: s.SheetID, Sheet: s.Sheet,
		Viewing: exercises.Viewing{Light: s.Viewing.Light}, Once: true}
}

// NoneWords say why there is no drill of mistakes.
func (m Mistakes) NoneWords() string {
	if m.Later > 0 {
		return fmt.Sprintf("Nothing that you missed is due today; %s later.", scoring.Count(m.Later, "question comes", "questions come"))
	}
	return fmt.Sprintf("Nothing that you missed in the last %d days is left to ask again.", missedWithin)
}
