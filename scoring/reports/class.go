package reports

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/record"
)

// Class is whom a class review is about and how it judges them.
type Class struct {
	Name   string
	People []scoring.Learner
	// Idle is after how long without an answer, while the class went on, somebody
	// counts as having stopped; 0 is [UsualIdle].
	Idle time.Duration
	Cuts exam.Cuts // of the proficiency test; the zero value is [exam.HouseCuts]
	// Sets names what sittings belong to, where that is not plain from its key.
	Sets map[string]string
}

// ReviewBook is what a review reads of the book to find a class.
type ReviewBook interface {
	Record
	Roster(context.Context, scoring.ClassID) ([]scoring.Learner, error)
	Assignments(context.Context, scoring.ClassID) ([]scoring.Assignment, error)
}

// ClassOf gathers a class of the book: the learners on its roster. Leads and
// instructors on it are not judged.
func ClassOf(ctx context.Context, book ReviewBook, class scoring.Class) (Class, error) {
	c := Class{Name: class.Name, Sets: map[string]string{}}
	roster, err := book.Roster(ctx, class.ID)
	if err != nil {
		return c, err
	}
	for _, p := range roster {
		if p.Role == scoring.RoleLearner {
			c.People = append(c.People, p)
		}
	}
	given, err := book.Assignments(ctx, class.ID)
	for _, a := range given {
		c.Sets[a.Within()] = fmt.Sprintf("assignment %d", a.Number)
	}
	return c, err
}

// UsualIdle is two weeks; house choice.
const UsualIdle = 14 * 24 * time.Hour

// ClassReview is where a class stands: a row a learner, and what the answers of
// all say of the questions.
//
//	people ──> one history each, read and marked side by side ──┬─> rows, flags
//	                                                            ├─> plots
//	                                                            └─> items, confusions
type ClassReview struct {
	Class Class
	Rows  []ClassRow // in the order of Class.People until sorted

	learners    []classLearner // in the order of Class.People
	seen        sightings      // what all saw, but for the shared items
	answers     int
	sittings    int
	first, last time.Time
	adaptive    bool
	narrowed    bool // some answers were left out by time or exercise
}

// ReviewClass marks every answer of the class that the filter lets through. The
// filter's Learner is not used. Learners are read side by side, each at one
// moment; one who answers meanwhile may be seen with or without that answer.
func ReviewClass(ctx context.Context, book Record, class Class, f record.Filter) (*ClassReview, error) {
	if class.Idle == 0 {
		class.Idle = UsualIdle
	}
	if class.Cuts == (exam.Cuts{}) {
		class.Cuts = exam.HouseCuts
	}
	c := &ClassReview{Class: class, learners: make([]classLearner, len(class.People)),
		narrowed: f.Kind != "" || f.Within != "" || !f.From.IsZero() || !f.To.IsZero()}
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
	for i := range c.learners {
		row := &c.learners[i].row
		row.Flags = c.flags(*row)
		c.Rows = append(c.Rows, *row)
	}
	return c, nil
}

// read shares the learners among as many readers as there are processors.
func (c *ClassReview) read(ctx context.Context, book Record, f record.Filter) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	next := make(chan int)
	var readers sync.WaitGroup
	var adding sync.Mutex
	for range min(runtime.GOMAXPROCS(0), max(1, len(c.learners))) {
		readers.Go(func() {
			for i := range next {
				f := f
				who := c.Class.People[i]
				f.Learner = who.ID
				h, err := readAlone(ctx, book, f)
				if err != nil {
					stop(err)
					continue
				}
				l := h.learner(who, c.Class.Cuts)
				adding.Lock()
				c.seen.add(&l.seen)
				adding.Unlock()
				c.learners[i] = l
			}
		})
	}
	for i := range c.learners {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	readers.Wait()
	return context.Cause(ctx)
}

// classLearner is what is kept of one learner's answers: a class of a thousand
// with a million answers has to fit.
type classLearner struct {
	row      ClassRow
	first    time.Time
	adaptive bool
	kinds    []learnerKind
	seen     sightings
}

// learnerKind is one exercise of one learner.
type learnerKind struct {
	title string
	id    string
	box   fiveNumbers
	// One number a sitting, but for proficiency tests: the median ΔE00, the mean size of the error along each
	// axis, and the mean error along it, NaN where no answer of the sitting could
	// have gone either way.
	medians      []float64
	sizes, means [3][]float64
}

// learner draws from a history what the review needs.
func (h *history) learner(who scoring.Learner, cuts exam.Cuts) classLearner {
	l := classLearner{row: h.row(who, cuts), first: h.first, adaptive: h.adaptive}
	for _, k := range withColours(h.kinds) {
		lk := learnerKind{title: k.title, id: string(k.id), box: fiveNumbersOf(flat(over([]*kindHistory{k}, size)))}
		for _, s := range k.sittings {
			if len(s.judged) == 0 || s.tested() {
				continue
			}
			lk.medians = append(lk.medians, median(column(s.judged, size)))
			for a, axis := range axes {
				lk.sizes[a] = append(lk.sizes[a], average(column(s.judged, func(j judged) float64 { return math.Abs(axis.part(j.d)) })))
				lk.means[a] = append(lk.means[a], average(column(s.judged, axis.of))) // NaN of none
			}
		}
		l.kinds = append(l.kinds, lk)
	}
	for _, k := range h.kinds {
		for _, s := range k.sittings {
			l.seen.take(s)
		}
	}
	return l
}

// kindsSeen lists the exercises with colours in the order of the exercises'
// own list, each once.
func (c *ClassReview) kindsSeen() []learnerKind {
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
