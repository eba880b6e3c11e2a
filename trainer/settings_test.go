package trainer_test

import (
	"context"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/learners"
	"shadedrill/scoring/transfer"
	"shadedrill/trainer"
	"shadedrill/trainer/trainertest"
)

// Settings are kept as a sitting that asks nothing. Nobody is active by it: no list, review,
// calendar or export counts it, and it goes along to another book.
func TestSettingsAreNoPractice(t *testing.T) {
	ctx := context.Background()
	cfg := practising(t, exercises.ValueFirst, 1)
	looking(t, cfg, trainertest.Options{}).Press("enter", "enter").Expect("answered").Press("enter", "q", "q")
	set := trainer.Config{Book: cfg.Book, Learner: cfg.Learner, Seed: &seed, SkipWelcome: true, SkipDisplay: true}
	tt := trainertest.Run(t, set, trainertest.Options{}).Advance(72 * time.Hour)
	choose(tt, "Settings")
	tt.Press("right", "q")
	who, err := cfg.Book.LearnerByName(ctx, cfg.Learner)
	if err != nil {
		t.Fatal(err)
	}
	monday := recordtest.Class(t, cfg.Book, "Monday group", who)

	written := func(write func(io.Writer) error) string {
		t.Helper()
		var b strings.Builder
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	text := func(r report.Report, err error) string {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return written(func(w io.Writer) error { return report.Write(w, r, report.FormatText, report.Layout{Width: 100}) })
	}
	once := regexp.MustCompile(`Ada Invented .* 1  +(2030-01-07|1 )`)
	check := func(where string, book record.Book) {
		t.Helper()
		for name, page := range map[string]string{
			"people":    text(classes.People(ctx, book)),
			"roster":    text(classes.Roster(ctx, book, monday)),
			"review":    text(classes.Report(ctx, book, scopeOf(t, book, monday.Name), record.Filter{}, "", false)),
			"left out":  text(learners.Progress(ctx, book, who, record.Filter{}, tt.Now(), true)),
			"progress":  text(learners.Progress(ctx, book, who, record.Filter{}, tt.Now(), false)),
			"rows":      written(func(w io.Writer) error { return transfer.Export(ctx, book, record.Filter{}, w, transfer.CSV) }),
			"learning":  written(func(w io.Writer) error { return transfer.Export(ctx, book, record.Filter{}, w, transfer.XAPI) }),
			"the class": text(classes.Live(ctx, book, scopeOf(t, book, monday.Name), tt.Now())),
		} {
			if strings.Contains(page, "2030-01-10") || strings.Contains(page, "10 January") || strings.Contains(page, "2 sittings") {
				t.Errorf("%s, %s counts what was set:\n%s", where, name, page)
			}
			if (name == "people" || name == "roster") && !once.MatchString(page) {
				t.Errorf("%s, %s:\n%s", where, name, page)
			}
		}
		g, err := learners.GlanceOf(ctx, book, who.ID, tt.Now())
		if err != nil || g.Days != 1 {
			t.Errorf("%s: practised on %d days, %v", where, g.Days, err)
		}
		v, err := record.Verify(ctx, book, nil)
		if err != nil || !v.Sound() || v.Sittings != 2 || v.Empty != 1 {
			t.Errorf("%s: %d sittings, %d empty, %v, %v", where, v.Sittings, v.Empty, v.Findings, err)
		}
		day, err := learners.PracticeDay(ctx, book, who.ID, tt.Now(), tt.Now(), 0, nil)
		if err != nil || !(day.Plan.Minutes() > 15) || day.Answers != 0 {
			t.Errorf("%s: %.0f minutes a day after 20 were set, %d answers today, %v", where, day.Plan.Minutes(), day.Answers, err)
		}
	}
	check("here", cfg.Book)
	other := record.NewMemory()
	file := written(func(w io.Writer) error { return transfer.ExportClass(ctx, cfg.Book, monday, true, w) })
	if _, err := transfer.Import(ctx, other, strings.NewReader(file), transfer.JSONLines, transfer.Rules{At: monday.At}); err != nil {
		t.Fatal(err)
	}
	check("in another book", other)
}

// No exercise changes what was set, whatever it does without: bench has no looks, lighting
// its own lamps, try-in no limit.
func TestNoDrillChangesASetting(t *testing.T) {
	cfg := trainer.Config{Book: record.NewMemory(), Learner: "Ada", Seed: &seed, SkipWelcome: true, SkipDisplay: true}
	n := 0
	open := func() *trainertest.Trainer {
		n++
		tt := trainertest.Run(t, cfg, trainertest.Options{Width: 80, Height: 24}).Advance(time.Duration(n) * time.Minute)
		for tt.Shows("decide later") {
			tt.Press("3")
		}
		return tt
	}
	tt := open()
	choose(tt, "Settings")
	tt.Press("right")
	for range 7 {
		tt.Press("down", "right")
	}
	tt.Press("down", "right")
	set := tt.Text()
	tt.Press("q", "q")
	for _, k := range exercises.Kinds() {
		tt := open()
		choose(tt, k.Title())
		if !tt.Shows("begin") {
			tt.Press("1")
		}
		tt.Expect("↵ begin").Press("enter").Advance(4 * time.Second).Stop(nil)
		tt = open()
		choose(tt, "Settings")
		tt.Press("end")
		if now := tt.Text(); now != set {
			t.Errorf("%s changed a setting:\n%s\nset was\n%s", k.ID(), now, set)
		}
		tt.Press("q", "q")
	}
}

// scopeOf is a class as its review takes it.
func scopeOf(t *testing.T, book record.Book, name string) classes.Scope {
	t.Helper()
	class, err := book.ClassByName(context.Background(), name)
	if err != nil {
		t.Fatal(err)
	}
	scope, err := classes.ScopeOf(context.Background(), book, class)
	if err != nil {
		t.Fatal(err)
	}
	return scope
}
