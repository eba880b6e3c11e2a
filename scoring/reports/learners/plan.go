package learners

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// Plan reports a person's practice of a day: what is to be done and why, what is done,
// and what tomorrow will hold.
func Plan(name string, d Day) report.Report {
	t := &report.Table{None: "nothing to practise", Columns: []report.Column{
		{Key: "exercise", Title: "exercise", Left: true}, {Key: "motive", Title: "because it is", Left: true},
		{Key: "why", Title: "why", Left: true}, {Key: "answers", Title: "answers"}, {Key: "minutes", Title: "minutes"}, {Key: "level", Title: "level", Left: true},
		{Key: "done", Title: "done"},
	}}
	for _, s := range d.Plan.Drills {
		t.Rows = append(t.Rows, []report.Cell{drillCell(s), report.Word{Key: string(s.Motive), Shown: MotiveWords(s)},
			report.Text(s.Why()), report.Count(s.Count), report.Number{Value: s.Minutes, Decimals: 0}, report.Text(LevelWords(s)), report.Yes(s.Done)})
	}
	title := "Today's practice"
	if name != "" {
		title += " of " + name
	}
	r := report.Report{Title: title + ", " + scoring.Day(d.Start), List: true, Cautions: scoring.Cautions,
		Sections: []report.Section{{Key: "plan", Table: t, Notes: []string{TomorrowWords(d), PlanSource, scoring.RightAtALevel}}}}
	if d.Plan.Done() && len(d.Plan.Drills) > 0 {
		r.Lead = []string{DoneWords(d)}
	}
	return r
}

func drillCell(s exercises.Suggestion) report.Cell {
	if s.Again() {
		return report.Word{Key: "again", Shown: DrillTitle(s)}
	}
	return history.KindCell(s.Kind)
}

// DrillTitle is what a drill of the plan is called.
func DrillTitle(s exercises.Suggestion) string {
	if s.Again() {
		return "Again: " + strings.ToLower(history.KindTitle(s.Kind))
	}
	return history.KindTitle(s.Kind)
}

// LevelWords say on which level a drill is, and what that means.
func LevelWords(s exercises.Suggestion) string {
	if s.Level == 0 {
		return ""
	}
	return fmt.Sprintf("%d of %d, %s", s.Level, len(exercises.Levels(s.Kind)), exercises.LevelOf(s.Kind, s.Level).Says())
}

// DoneWords say that a day's practice is over.
func DoneWords(d Day) string {
	return fmt.Sprintf("Done for today: %s in %s.", scoring.Count(d.Answers, "answer", "answers"), AboutMinutes(d.Minutes))
}

// AboutMinutes says a length of time as people say it.
func AboutMinutes(minutes float64) string {
	return "about " + scoring.Count(max(1, int(math.Round(minutes))), "minute", "minutes")
}

// TomorrowWords say what tomorrow will hold.
func TomorrowWords(d Day) string {
	var names []string
	for _, s := range d.Tomorrow.Drills {
		name := history.KindTitle(s.Kind)
		if s.Again() {
			name = "your mistakes in " + name
		}
		if s.Motive == exercises.MotiveNew {
			name += " (new)"
		}
		names = append(names, name)
	}
	when := "Tomorrow"
	if d.Late { // it is past midnight
		when = "Next time"
	}
	switch n := len(names); n {
	case 0:
		return when + " holds nothing yet."
	case 1:
		return when + ": " + names[0] + "."
	default:
		return when + ", " + AboutMinutes(d.Tomorrow.Minutes()) + ": " + strings.Join(names[:n-1], ", ") + " and " + names[n-1] + "."
	}
}

// MotiveWords says in a word why a drill is on the plan.
func MotiveWords(s exercises.Suggestion) string {
	switch s.Motive {
	case exercises.MotiveNew:
		return "new"
	case exercises.MotiveOld:
		return "fading"
	case exercises.MotiveWeak:
		return "the weak one"
	case exercises.MotiveAgain:
		return "your mistakes"
	}
	return "next in turn"
}

// PlanSource is what the plan rests on.
const PlanSource = "What is weak and what fades comes first: half-life regression (Settles & Meeder, Proc ACL 2016, 1848–1858) with half-lives by house rule, longer after days that went right and quick. " +
	"What was right and quick on several days at the usual level recedes. Levels keep some 85 % right (Wilson et al., Nat Commun 2019;10:4646: a guide, no law)."

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
