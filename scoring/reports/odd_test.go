package reports_test

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/cases"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/learners"
	"shadedrill/scoring/reports/libraries"
	"shadedrill/scoring/reports/panels"
	"shadedrill/scoring/reports/tests"
	"shadedrill/scoring/reports/thresholds"
)

// Little and odd data is what a book holds in its first weeks: every report of it can be
// made and written, and tells nothing that cannot be.
func TestOddBooksBreakNoReport(t *testing.T) {
	seeds, sessions := 1, []exercises.KindID{exercises.ValueFirst, exercises.Whitening}
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		seeds, sessions = 10, nil
		for _, k := range exercises.Kinds() {
			if !k.Traits().AnswerDriven {
				sessions = append(sessions, k.ID())
			}
		}
	}
	for _, odd := range recordtest.OddBooks(sessions...) {
		t.Run(odd.Name, func(t *testing.T) {
			for seed := range seeds {
				b := odd.Fill(t, uint64(seed)+1)
				everyReport(t, b, b.Class, b.Now, func(name string, r report.Report, err error) {
					if err != nil {
						t.Errorf("%s: %v", name, err)
						return
					}
					reporttest.Sound(t, name, r)
				})
			}
		})
	}
}

// everyReport makes all reports of a book that has one class.
func everyReport(t *testing.T, b record.Store, class scoring.Class, now time.Time, give func(name string, r report.Report, err error)) {
	t.Helper()
	ctx := context.Background()
	made := func(name string) func(report.Report, error) {
		return func(r report.Report, err error) { give(name, r, err) }
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	people, err := b.Learners(ctx)
	must(err)
	for _, who := range people {
		for _, checked := range []bool{false, true} {
			made("progress of " + who.Name)(learners.Progress(ctx, b, who, record.Filter{}, now, checked))
		}
		made("thresholds of " + who.Name)(thresholds.Report(ctx, b, who, record.Filter{}, history.ThresholdDetail{Brief: true}))
		day, err := learners.PracticeDay(ctx, b, who.ID, now, now, 10, func(exercises.KindID) bool { return true })
		give("plan of "+who.Name, learners.Plan(who.Name, day), err)
		_, err = learners.MistakesOf(ctx, b, who.ID, now)
		must(err)
	}
	scope, err := classes.ScopeOf(ctx, b, class)
	must(err)
	for _, checked := range []bool{false, true} {
		scope := scope
		scope.Checked = checked
		made("class review")(classes.Report(ctx, b, scope, record.Filter{}, classes.Orders()[0], false))
		made("class review of one exercise")(classes.Report(ctx, b, scope, record.Filter{Kind: string(exercises.TryIn), From: now.AddDate(0, 0, -1)}, "exam", true))
		made("effect")(classes.Effect(ctx, b, scope, nil, record.Filter{}))
		made("effect against itself")(classes.Effect(ctx, b, scope, &scope, record.Filter{Kind: string(exercises.TryIn)}))
		made("grades")(classes.Grades(ctx, b, class, 0, now, checked))
		made("wide grades")(classes.WideGrades(ctx, b, class, 10, now, checked))
	}
	made("class now")(classes.Live(ctx, b, scope, now))
	made("classes")(classes.List(ctx, b))
	made("roster")(classes.Roster(ctx, b, class))
	made("people")(classes.People(ctx, b))
	made("assignments")(classes.Assignments(ctx, b, class, now))
	made("sessions")(panels.List(ctx, b))
	sessions, err := b.Panels(ctx)
	must(err)
	roster, err := b.Roster(ctx, class.ID)
	must(err)
	for _, p := range sessions {
		made("session now")(panels.Live(ctx, b, p, now))
		for i, view := range []panels.View{{}, {Of: roster, Group: class.Name}, {Checked: true}, {Before: &sessions[0]}} {
			r, err := panels.Report(ctx, b, p, view)
			give(fmt.Sprintf("session %s, view %d", p.Name, i), r, err)
		}
	}
	made("tests")(tests.List(ctx, b, people, nil))
	takings, err := tests.Of(ctx, b, people)
	must(err)
	for _, one := range takings {
		made("certificate of " + one.Who.Name)(tests.Certificate(ctx, b, one.Who, one.Ref.String()))
	}
}

// Whatever library somebody brings, and whatever was measured.
func TestOddLibrariesAndPairsBreakNoReport(t *testing.T) {
	tooth := colour.Lab{L: 75, A: 2, B: 20}
	for name, colours := range map[string][]colour.Lab{
		"one tab": {tooth}, "twins": {tooth, tooth}, "greys": {{}, {L: 70}, {L: 100}},
		"no display shows it": {{L: 60, A: 120, B: -80}, {L: 90, A: -120, B: 100}},
	} {
		var list []tabs.Tab
		for i, c := range colours {
			list = append(list, tabs.Tab{Name: fmt.Sprintf("tab %d", i+1), Lab: c})
		}
		l, err := tabs.New("odd", "made up", tabs.GroupByValue(list))
		if err != nil {
			t.Fatal(err)
		}
		reporttest.Sound(t, name+", tabs", libraries.Tabs(l))
		reporttest.Sound(t, name+", check", libraries.Check(l, tabs.Check(l)))
	}
	reporttest.Sound(t, "no library", libraries.List(nil))
	var verdicts []cases.Verdict
	odd := []colour.Lab{{}, {L: 100}, tooth, {L: 75}, {L: 75.004, A: 2, B: 20}, {L: 60, A: 120, B: -80}, {L: 90, A: -120, B: 100}}
	for i, a := range odd {
		for _, b := range odd {
			verdicts = append(verdicts, cases.Judge(cases.Case{ID: fmt.Sprintf("case %d", i+1), Prescribed: a, Delivered: b}))
		}
	}
	for _, n := range []int{0, 1, 2, len(verdicts)} {
		reporttest.Sound(t, fmt.Sprintf("%d cases", n), cases.Report(verdicts[:n]))
	}
}
