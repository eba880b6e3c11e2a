// Package classes reports to an instructor: who is in the class, where each stands,
// who needs a look, what the class errs in together, which items tell learners
// apart, and who did and passed what was assigned.
package classes

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"math"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// Scope is whom a class review is about and how it judges them.
type Scope struct {
	Name   string
	People []scoring.Learner
	// Idle is after how long without an answer, while the class went on, somebody
	// counts as having stopped; 0 is [UsualIdle].
	Idle time.Duration
	// Checked leaves out what was taken on a display that failed its check or has none.
	Checked bool
	// Sets names what sittings belong to, where that is not plain from its key.
	Sets map[string]string
	// Dropped are the items, from 1, that are left out of the grade of a set.
	Dropped map[string][]int
}

// ReviewBook is what a review reads of the book to find a class.
type ReviewBook interface {
	history.Book
	Roster(context.Context, scoring.ClassID) ([]scoring.Learner, error)
	Assignments(context.Context, scoring.ClassID) ([]scoring.Assignment, error)
}

// ScopeOf gathers a class of the book: the learners on its roster. Leads and
// instructors on it are not judged.
func ScopeOf(ctx context.Context, book ReviewBook, class scoring.Class) (Scope, error) {
	c := Scope{Name: class.Name, Sets: map[string]string{}, Dropped: map[string][]int{}}
	roster, err := book.Roster(ctx, class.ID)
	if err != nil {
		return c, err
	}
	for _, p := range roster {
		if p.Role == scoring.RoleLearner {
			c.People = append(c.People, p)
		}
	}
	c.People = record.ToldApart(c.People)
	given, err := book.Assignments(ctx, class.ID)
	for _, a := range given {
		ref := a.Set().Ref.String()
		c.Sets[ref], c.Dropped[ref] = fmt.Sprintf("assignment %d (%s)", a.Number, a.Code()), a.Drops()
	}
	return c, err
}

// UsualIdle is two weeks; house choice.
const UsualIdle = 14 * 24 * time.Hour

// Review is where a class stands: a row a learner, and what the answers of
// all say of the questions.
//
//	people ──> one history each, read and marked side by side ──┬─> rows, flags
//	                                                            ├─> plots
//	                                                            └─> items, confusions
type Review struct {
	Scope Scope
	Rows  []Row // in the order of Class.People until sorted

	learners    []learner // in the order of Class.People
	seen        sightings // what all saw, but for the shared items
	answers     int
	sittings    int
	first, last time.Time
	adaptive    bool
	levels      map[scoring.SetRef]scoring.Cuts // of forms that were laid down
	narrowed    bool                            // some answers were left out by time or exercise
}

// Read marks every answer of the class that the filter lets through. The
// filter's Learner is not used. Learners are read side by side, each at one
// moment; one who answers meanwhile may be seen with or without that answer.
func Read(ctx context.Context, book history.Book, class Scope, f record.Filter) (*Review, error) {
	if class.Idle == 0 {
		class.Idle = UsualIdle
	}
	forms, err := book.Forms(ctx)
	if err != nil {
		return nil, err
	}
	levels := map[scoring.SetRef]scoring.Cuts{}
	for _, f := range forms {
		levels[f.Set().Ref] = f.Levels
	}
	c := &Review{levels: levels, Scope: class, learners: make([]learner, len(class.People)),
		narrowed: class.Checked || f.Kind != "" || f.Within != "" || !f.From.IsZero() || !f.To.IsZero()}
	if err := c.read(ctx, book, f); err != nil {
		return nil, err
	}
	for _, l := range c.learners {
		c.answers += l.row.Answers
		c.sittings += l.row.Sittings
		c.adaptive = c.adaptive || l.adaptive
		if !l.first.IsZero() && (c.first.IsZero() || l.first.Before(c.first)) {
			c.first = l.first
		}
		if l.row.Last.After(c.last) {
			c.last = l.row.Last
		}
	}
	var growth []float64
	for _, l := range c.learners {
		growth = append(growth, l.row.growth)
	}
	grows := trend.Discoveries(growth, 0.05)
	for i := range c.learners {
		row := &c.learners[i].row
		if row.Trend.Key == "rising" && !grows[i] {
			row.Trend = report.Word{Key: "perhaps", Shown: "perhaps growing"}
		}
		row.Flags = c.flags(*row, c.learners[i].displays)
		c.Rows = append(c.Rows, *row)
	}
	return c, nil
}

// read shares the learners among helpers.
func (c *Review) read(ctx context.Context, book history.Book, f record.Filter) error {
	helpers, verifier := history.NewHelpers(), record.NewVerifier(book)
	var adding sync.Mutex
	for i := range c.learners {
		if helpers.Failed() {
			break
		}
		helpers.Do(func() error {
			f := f
			who := c.Scope.People[i]
			f.Learner = who.ID
			from := book
			if c.Scope.Checked {
				from = history.OnCheckedDisplays(book)
			}
			h, err := history.ReadAlone(ctx, from, f)
			if err != nil {
				return err
			}
			tests, broken := testsOf(h)
			if err := verify(ctx, verifier, who.ID, tests); err != nil {
				return err
			}
			l := learnerOf(h, who, tests)
			l.row.exam(tests, broken, c.levels)
			if l.displays = h.Displays(); c.Scope.Checked {
				if l.displays, err = history.DisplaysIn(ctx, book, f); err != nil {
					return err
				}
			}
			adding.Lock()
			defer adding.Unlock()
			c.seen.add(&l.seen)
			c.learners[i] = l
			return nil
		})
	}
	return helpers.Wait()
}

// learner is what is kept of one learner's answers: a class of a thousand
// with a million answers has to fit.
type learner struct {
	row      Row
	first    time.Time
	adaptive bool
	displays history.Displays
	kinds    []learnerKind
	tests    []taken // proficiency tests taken to their end and not altered, the earliest first
	seen     sightings
}

// of finds an exercise; nil where the learner has none of it.
func (l *learner) of(kind string) *learnerKind {
	for i := range l.kinds {
		if l.kinds[i].id == kind {
			return &l.kinds[i]
		}
	}
	return nil
}

// learnerKind is one exercise of one learner.
type learnerKind struct {
	title string
	id    string
	box   fiveNumbers
	// One number a sitting, but for proficiency tests: the median ΔE00, how many
	// answers it is of, and when the sitting began.
	medians []float64
	answers []int
	at      []time.Time
	asked   []string // what the sitting asked, and how hard: see alike
}

// likeOf says what is to be alike of two sittings before the errors in them are
// compared: how hard they were, and what alone was asked.
func likeOf(s exercises.Setup) string {
	return fmt.Sprintf("%d %t %s %s %s", s.LevelLike(), len(s.Again) > 0, s.Attribute, s.Task, s.Viewing.Light)
}

// alike are the sittings of one level and one question: those of which there are most,
// the earlier kind of as many. The others are left out of a change, which would be one
// of the drill and not of the person.
func (l *learner) alike(kind string) (k learnerKind, others int) {
	all := l.of(kind)
	if all == nil {
		return k, 0
	}
	n := map[string]int{}
	for _, asked := range all.asked {
		n[asked]++
	}
	most := ""
	for _, asked := range all.asked {
		if most == "" || n[asked] > n[most] {
			most = asked
		}
	}
	k = learnerKind{title: all.title, id: all.id}
	for i, asked := range all.asked {
		if asked == most {
			k.medians, k.answers, k.at = append(k.medians, all.medians[i]), append(k.answers, all.answers[i]), append(k.at, all.at[i])
		}
	}
	return k, len(all.asked) - len(k.at)
}

// learner draws from a history what the review needs.
func learnerOf(h *history.History, who scoring.Learner, tests []taken) learner {
	l := learner{row: rowOf(h, who), first: h.First, adaptive: h.Adaptive}
	for _, t := range tests {
		if !t.altered {
			l.tests = append(l.tests, t)
		}
	}
	for _, k := range history.WithColours(h.Kinds) {
		lk := learnerKind{title: k.Title, id: string(k.ID), box: fiveNumbersOf(history.Flat(history.Over([]*history.Kind{k}, history.Size)))}
		for _, s := range k.Sittings {
			if len(s.Judged) == 0 || s.Tested() {
				continue
			}
			median := s.Median()
			if math.IsNaN(median) {
				continue
			}
			lk.medians = append(lk.medians, median)
			lk.answers = append(lk.answers, len(s.Judged))
			lk.at = append(lk.at, s.Started)
			lk.asked = append(lk.asked, likeOf(s.Setup))
		}
		l.kinds = append(l.kinds, lk)
	}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			l.seen.take(s)
		}
	}
	return l
}

// kindsSeen lists the exercises with colours in the order of the exercises'
// own list, each once.
func (c *Review) kindsSeen() []learnerKind {
	var list []learnerKind
	for _, l := range c.learners {
		for _, k := range l.kinds {
			if !slices.ContainsFunc(list, func(o learnerKind) bool { return o.id == k.id }) {
				list = append(list, learnerKind{title: k.title, id: k.id})
			}
		}
	}
	return list
}
