// Package history is what a person's answers were worth: read from the book,
// marked afresh, laid out by exercise and sitting. Every room of reports reads it;
// it knows none of them. It holds what they share: the columns, the three axes of
// bias, what counts as right, the word for a trend, a sitting's thresholds.
package history

import (
	"fmt"
	"math"
	"slices"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// Book is what a report reads of the book.
type Book = record.Chained

// History is what one person's attempts were worth, marked afresh from the
// record and laid out as the tables need it: by exercise, then by sitting.
type History struct {
	Attempts    int
	Sittings    int
	First, Last time.Time
	Adaptive    bool // some practice chose regions by earlier errors
	Kinds       []*Kind
}

// Kind is one exercise of a history.
type Kind struct {
	ID       exercises.KindID
	Title    string
	Attempts int
	Sittings []*Sitting // those with an answer, oldest first
	// Of [Kind.Practice]: the level its sittings have, 0 for none, and how many sittings of
	// other levels it leaves out.
	Level, OtherLevels int
}

// Sitting is a sitting and what its answers were worth, a column a question.
type Sitting struct {
	scoring.Sitting
	// First and Last are the times of the answers read.
	First, Last time.Time
	Judged      []Judged
	Groups      []int     // steps from the best value group
	Points      []float64 // points and excess: one person's alone, see [ReadAlone]
	Excess      []float64
	Seconds     []float64
	whole       Tally // right answers: as a whole, or each part for itself (Singly in [scoring.Rules])
	Checks      Named[Tally]
	Numbers     Named[[]float64]
	directions  []scoring.Direction
	marking     scoring.Marking
	keep        bool              // seen as well
	Tried       exercises.Tried   // what was right, for the level that suits
	Seen        []seen            // answer by answer, for what is asked across people
	Raw         []scoring.Attempt // kept for thresholds, which are fitted from all answers; perhaps read lightly
}

// Judged is an answer that stood for a colour.
type Judged struct {
	Target colour.SRGB
	D      colour.Difference
	Free   exercises.Axes // the parts along which it could have erred either way
	Weight float64        // what it counts for in an even sample; 0 where that is unknown
	sheet  *tabs.Sheet    // it was chosen from, nil for none
	at     scoring.Place  // where in it
}

// KindTitle is what people read for an exercise; one that this program does not
// know keeps its identifier.
func KindTitle(id exercises.KindID) string {
	k, err := exercises.ByID(id)
	if err != nil {
		return string(id)
	}
	return k.Title()
}

// Count is the number of answers.
func (s *Sitting) Count() int { return len(s.Seconds) }

// room makes room for what most exercises give for so many answers.
func (s *Sitting) room(n int) {
	s.Seconds, s.Judged, s.Groups = slices.Grow(s.Seconds, n), slices.Grow(s.Judged, n), slices.Grow(s.Groups, n)
	s.whole.Right, s.whole.N = slices.Grow(s.whole.Right, n), slices.Grow(s.whole.N, n)
	if s.keep {
		s.Seen = slices.Grow(s.Seen, n)
	} else {
		s.Points, s.Excess = slices.Grow(s.Points, n), slices.Grow(s.Excess, n)
	}
}

// asked is what a sitting says of all its answers.
type asked struct {
	rules   *scoring.Rules
	judging scoring.Judging
	adapts  bool   // its practice chose regions by earlier errors
	fitted  bool   // its exercise measures a threshold
	part    string // stands before the names of its items
}

func askedIn(in *scoring.Sitting, kind exercises.KindID) *asked {
	is := exercises.TraitsOf(kind)
	as := &asked{rules: scoring.RulesOf(kind), judging: in.Judging(kind), adapts: in.Setup.Adaptive && is.Adapts, fitted: is.MeasuresThreshold}
	if part, of := scoring.PartOf(in.Setup); of > 1 {
		as.part = fmt.Sprintf("%d-", part)
	}
	return as
}

// Take marks the next answers, all of one exercise.
func (s *Sitting) Take(answers ...scoring.Attempt) {
	if len(answers) == 0 {
		return
	}
	s.room(len(answers))
	as := askedIn(&s.Sitting, answers[0].Trial.Kind)
	for a, m := range s.marking.All(answers, s.Setup.Sheet) {
		s.take(as, a, m)
	}
}

func (s *Sitting) take(as *asked, a *scoring.Attempt, m *scoring.Mark) {
	if s.First.IsZero() || a.At.Before(s.First) {
		s.First = a.At
	}
	if a.At.After(s.Last) {
		s.Last = a.At
	}
	s.Seconds = append(s.Seconds, a.Answer.Total.Seconds())
	if s.Again() {
		return // chosen for having been missed: they belong into no table of errors
	}
	t := as.rules.Judged(m)
	s.Tried.Right, s.Tried.Of = s.Tried.Right+t.Right, s.Tried.Of+t.Of
	if m.HasColour && !m.Sparse {
		j := judge(a, m, s.Setup.Sheet)
		if as.adapts {
			j.Weight = weightOf(a.Trial.Chance)
		}
		s.Judged = append(s.Judged, j)
	}
	if m.HasGroup {
		s.Groups = append(s.Groups, m.GroupSteps)
	}
	if m.HasSheet {
		if !s.keep { // to count ranks takes as long as all else of a mark
			s.Points = append(s.Points, float64(m.Points()))
			s.Excess = append(s.Excess, m.Excess)
		}
	}
	for c := range as.judging.Of(m) {
		s.whole.add(a.Trial.Scene, c.Right)
	}
	for _, c := range m.Checks {
		s.Checks.At(c.Name, "").add(a.Trial.Scene, c.Right)
	}
	s.directions = append(s.directions, m.Directions...)
	for _, n := range m.Measures {
		list := s.Numbers.At(n.Name, n.Unit)
		*list = append(*list, n.Value)
	}
	if as.fitted {
		s.Raw = append(s.Raw, *a)
	}
	if s.keep {
		s.Seen = append(s.Seen, as.see(a, m, &s.Sitting))
	}
}

// The columns that statistics are taken over: of one exercise, or of several
// pooled, with one list a sitting.

// Over takes one value of each answer that stood for a colour; NaN leaves the
// answer out.
func Over(kinds []*Kind, value func(Judged) float64) [][]float64 {
	var lists [][]float64
	for _, k := range kinds {
		for _, s := range k.Sittings {
			if list := Column(s.Judged, value); len(list) > 0 {
				lists = append(lists, list)
			}
		}
	}
	return lists
}

// Gather takes what pick takes of each sitting.
func Gather(kinds []*Kind, pick func(*Sitting) []float64) [][]float64 {
	var lists [][]float64
	for _, k := range kinds {
		for _, s := range k.Sittings {
			if list := pick(s); len(list) > 0 {
				lists = append(lists, list)
			}
		}
	}
	return lists
}

// Column takes one value of each answer; NaN leaves the answer out.
func Column(list []Judged, value func(Judged) float64) []float64 {
	xs := make([]float64, 0, len(list))
	for _, j := range list {
		if x := value(j); !math.IsNaN(x) {
			xs = append(xs, x)
		}
	}
	return xs
}

// Flat pools the lists of all sittings.
func Flat(lists [][]float64) []float64 { return slices.Concat(lists...) }

// Level is the coverage of every interval in these reports.
const Level = 0.95

// WithColours are the exercises in which an answer stood for a colour.
func WithColours(kinds []*Kind) []*Kind {
	var list []*Kind
	for _, k := range kinds {
		for _, s := range k.Sittings {
			if len(s.Judged) > 0 {
				list = append(list, k)
				break
			}
		}
	}
	return list
}

// Summary says how many answers there are and from when.
func (h *History) Summary() string {
	if h.Attempts == 0 {
		return "No answers yet."
	}
	days := fmt.Sprintf("from %s to %s", scoring.Day(h.First), scoring.Day(h.Last))
	if scoring.Day(h.First) == scoring.Day(h.Last) {
		days = "on " + scoring.Day(h.First)
	}
	return fmt.Sprintf("%d %s in %d %s, %s.", h.Attempts, scoring.Plural(h.Attempts, "answer", "answers"),
		h.Sittings, scoring.Plural(h.Sittings, "sitting", "sittings"), days)
}

// KindCell names an exercise: its title to be read, its identifier in data.
func KindCell(id exercises.KindID) report.Cell {
	return report.Word{Key: string(id), Shown: KindTitle(id)}
}
