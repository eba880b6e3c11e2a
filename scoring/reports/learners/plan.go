package learners

import (
	"context"
	"fmt"
	"math"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

const (
	// UsualDrills is how many drills a day's plan has: about half an hour. House
	// rule.
	UsualDrills = 3
	// newestAnswers are as many as say how well somebody does now.
	newestAnswers = 40
)

// PracticePlan chooses a person's drills for today from the book; see
// [exercises.PlanToday]. Only kinds that offered allows are chosen; nil allows all.
func PracticePlan(ctx context.Context, book history.Book, who scoring.LearnerID, now time.Time, n int, offered func(exercises.KindID) bool) ([]exercises.Suggestion, error) {
	h, err := history.Read(ctx, book, record.Filter{Learner: who})
	if err != nil {
		return nil, err
	}
	var done []exercises.Practised
	for _, k := range h.Kinds {
		done = append(done, practised(k))
	}
	return exercises.PlanToday(now, done, n, offered), nil
}

// practised sums up an exercise: how often, when last, and how well in the newest
// sittings, tests included.
func practised(k *history.Kind) exercises.Practised {
	p := exercises.Practised{Kind: k.ID, Sittings: len(k.Sittings), Right: math.NaN()}
	cells := map[[2]int]*check{}
	var sum check
	for i := len(k.Sittings) - 1; i >= 0; i-- {
		s := k.Sittings[i]
		if s.Last.After(p.Last) {
			p.Last = s.Last
		}
		if sum.n >= newestAnswers {
			continue
		}
		for _, j := range s.Judged {
			target := j.Target.Lab()
			at := [2]int{bin(lightnessEdges, target.L), bin(chromaEdges, target.Chroma())}
			if cells[at] == nil {
				cells[at] = &check{}
			}
			accepted := j.D.E <= scoring.Acceptability.Value
			cells[at].add(accepted)
			sum.add(accepted)
		}
		if len(s.Judged) > 0 {
			continue
		}
		for _, t := range s.Checks.Values {
			p.Judged = true
			for c := range t.N {
				sum.right, sum.n = sum.right+t.Right[c], sum.n+t.N[c]
			}
		}
	}
	if p.Answers = sum.n; sum.n > 0 {
		p.Right = float64(sum.right) / float64(sum.n)
	}
	for l := range len(lightnessEdges) + 1 {
		for c := range len(chromaEdges) + 1 {
			if at := cells[[2]int{l, c}]; at != nil {
				p.Regions = append(p.Regions, exercises.PractisedRegion{
					Name:    fmt.Sprintf("L* %s, C* %s", span(lightnessEdges, l), span(chromaEdges, c)),
					Answers: at.n, Right: float64(at.right) / float64(at.n)})
			}
		}
	}
	return p
}

type check struct{ right, n int }

func (c *check) add(right bool) {
	c.n++
	if right {
		c.right++
	}
}

// Plan reports a person's drills for today, a line of why each.
func Plan(name string, now time.Time, plan []exercises.Suggestion) report.Report {
	t := &report.Table{None: "nothing to practise", Columns: []report.Column{
		{Key: "exercise", Title: "exercise", Left: true}, {Key: "motive", Title: "because it is", Left: true},
		{Key: "why", Title: "why", Left: true}, {Key: "expected_right", Title: "expected right, %"},
	}}
	for _, s := range plan {
		t.Rows = append(t.Rows, []report.Cell{report.Word{Key: string(s.Kind), Shown: history.KindTitle(s.Kind)}, report.Word{Key: string(s.Motive), Shown: MotiveWords(s)},
			report.Text(s.Reason), report.Share(s.Expected, 0)})
	}
	title := "Today's practice"
	if name != "" {
		title += " of " + name
	}
	return report.Report{Title: title + ", " + scoring.Day(now), List: true, Cautions: scoring.Cautions,
		Sections: []report.Section{{Key: "plan", Table: t, Notes: []string{PlanSource}}}}
}

// MotiveWords says in a word why a drill is on the plan.
func MotiveWords(s exercises.Suggestion) string {
	switch s.Motive {
	case exercises.MotiveNew:
		return "new"
	case exercises.MotiveOld:
		return "long ago"
	case exercises.MotiveWeak:
		return "weak"
	}
	return "next in turn"
}

// PlanSource is what the plan rests on.
const PlanSource = "What is likely forgotten by now and what is weak comes first: half-life regression (Settles & Meeder, Proc ACL 2016, 1848–1858) with half-lives by house rule, 3 days after the first sitting and half as long again with each further one. At most one exercise that was never tried."

// Exercises lists exercises and what each trains.
func Exercises(kinds []exercises.Kind) report.Report {
	t := &report.Table{Columns: []report.Column{
		{Key: "exercise", Title: "exercise", Left: true}, {Key: "title", Title: "title", Left: true}, {Key: "trains", Title: "trains", Left: true},
	}}
	for _, k := range kinds {
		t.Rows = append(t.Rows, []report.Cell{report.Text(string(k.ID())), report.Text(k.Title()), report.Text(k.Trains())})
	}
	return report.Report{Title: "Exercises", List: true, Sections: []report.Section{{Key: "exercises", Table: t}}}
}
