package simulate_test

import (
	"bytes"
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/learners"
	"shadedrill/scoring/simulate"
)

func plan(t *testing.T) simulate.Plan {
	t.Helper()
	l, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	return simulate.Plan{Learners: 3, Sittings: 4, Items: 5, Seed: 7, From: time.Date(2025, 1, 6, 0, 0, 0, 0, time.UTC),
		Setup: exercises.Setup{Kind: exercises.ValueFirst, Targets: exercises.NaturalTargets, Viewing: exercises.DefaultViewing(), Sheet: tabs.NewSheet(l, nil)}}
}

func fill(t *testing.T, p simulate.Plan) (record.Book, []simulate.Person) {
	t.Helper()
	book := record.NewMemory()
	people := p.Invent()
	if err := p.Fill(context.Background(), book, people, nil); err != nil {
		t.Fatal(err)
	}
	return book, people
}

func attempts(t *testing.T, book record.Book) []scoring.Attempt {
	t.Helper()
	var list []scoring.Attempt
	for a, err := range book.Attempts(context.Background(), record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, a)
	}
	return list
}

func TestTheSameSeedGivesTheSameBook(t *testing.T) {
	one, people := fill(t, plan(t))
	other, samePeople := fill(t, plan(t))
	if diff := cmp.Diff(people, samePeople, cmp.AllowUnexported(simulate.Person{})); diff != "" {
		t.Errorf("people differ: %s", diff)
	}
	a, b := attempts(t, one), attempts(t, other)
	if len(a) != 60 {
		t.Errorf("%d answers, want 3 × 4 × 5", len(a))
	}
	if diff := cmp.Diff(a, b); diff != "" {
		t.Errorf("answers differ: %s", diff)
	}
	p := plan(t)
	p.Seed++
	third, _ := fill(t, p)
	if c := attempts(t, third); cmp.Equal(a, c) || a[0].ID() == c[0].ID() {
		t.Error("another seed gives the same answers or identifiers")
	}
}

// Adding people to a book does not change those who would be there anyway.
func TestLaterPeopleAreNumberedOn(t *testing.T) {
	p := plan(t)
	p.Learners = 5
	all := p.Invent()
	p.First, p.Learners = 4, 2
	if diff := cmp.Diff(all[3:], p.Invent(), cmp.AllowUnexported(simulate.Person{})); diff != "" {
		t.Errorf("the fourth and fifth differ: %s", diff)
	}
}

func TestInventedPeopleAreMarkedAndSpreadOverDays(t *testing.T) {
	book, people := fill(t, plan(t))
	for _, who := range people {
		found, err := book.Learner(context.Background(), who.Learner.ID)
		if err != nil || !found.Simulated || !strings.HasPrefix(found.Name, "Simulated ") {
			t.Errorf("in the book: %+v, %v", found, err)
		}
		sittings, err := book.Sittings(context.Background(), record.Filter{Learner: who.Learner.ID})
		if err != nil {
			t.Fatal(err)
		}
		days := map[string]bool{}
		for _, s := range sittings {
			days[s.Started.Format(time.DateOnly)] = true
			if s.Ended.IsZero() || s.Left {
				t.Errorf("sitting %s is unfinished", s.ID)
			}
		}
		if len(days) != 4 {
			t.Errorf("%d days, want 4 for 4 sittings", len(days))
		}
	}
}

// What is printed as true is what the tables find: over 40 people three biases
// each, 95 % intervals cover about 95 %.
func TestTheTablesFindThePrintedTruth(t *testing.T) {
	p := plan(t)
	p.Learners, p.Sittings, p.Items = 40, 6, 20
	book, people := fill(t, p)
	covered, n := 0, 0
	for _, who := range people {
		r, err := learners.Progress(context.Background(), book, who.Learner, record.Filter{}, time.Now(), false)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range r.Sections {
			if s.Key != "bias" {
				continue
			}
			for i, truth := range []float64{who.Observer.BiasL, who.Observer.BiasC, who.Observer.BiasH} {
				n++
				if s.Table.Cell(0, i+1).(report.Estimated).Covers(truth) {
					covered++
				}
			}
		}
	}
	// Three standard errors of a share of 0.95 in 120.
	if share := float64(covered) / float64(n); n != 120 || share < 0.95-3*math.Sqrt(0.95*0.05/120) {
		t.Errorf("%d of %d intervals cover the truth (seed %d)", covered, n, p.Seed)
	} else {
		t.Logf("%d of %d intervals cover the truth", covered, n)
	}
}

func TestImprovingPeopleImprove(t *testing.T) {
	p := plan(t)
	p.Improve, p.Learners, p.Sittings, p.Items = true, 12, 16, 30
	book, people := fill(t, p)
	falling := 0
	for _, who := range people {
		if who.PerDoubling < 0.67 || who.PerDoubling > 0.9 {
			t.Errorf("%s has %v of the noise left per doubling", who.Learner.Name, who.PerDoubling)
		}
		r, err := learners.Progress(context.Background(), book, who.Learner, record.Filter{}, time.Now(), false)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range r.Sections {
			if s.Key == "trend" && s.Table.Cell(0, 3).(report.Estimated).Value < 0 {
				falling++
			}
		}
	}
	if falling < 10 {
		t.Errorf("the error falls for %d of 12", falling)
	}
	var b bytes.Buffer
	if err := report.Write(&b, simulate.Report(p, people), report.FormatCSV, report.Layout{}); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(b.String(), "learner,bias_L,bias_C,bias_H,noise,per_doubling\nSimulated 01,") {
		t.Errorf("the truth is printed as\n%s", b.String())
	}
}

func TestPlansAreChecked(t *testing.T) {
	for _, c := range []struct {
		change func(*simulate.Plan)
		says   string
	}{
		{func(p *simulate.Plan) { p.Learners = 0 }, "number of learners is 0"},
		{func(p *simulate.Plan) { p.Sittings = -1 }, "number of sittings is -1"},
		{func(p *simulate.Plan) { p.Items = 501 }, "number of items is 501"},
		{func(p *simulate.Plan) { p.Learners, p.Sittings, p.Items = 2000, 2000, 500 }, "answers"},
	} {
		p := plan(t)
		c.change(&p)
		if err := p.Check(); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("error is %v, want one about %q", err, c.says)
		}
	}
	if err := plan(t).Check(); err != nil {
		t.Error(err)
	}
}

func TestFillStopsWhenTold(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	p := plan(t)
	err := p.Fill(ctx, record.NewMemory(), p.Invent(), func(answers int) {
		if answers >= 10 {
			cancel()
		}
	})
	if err == nil {
		t.Error("a cancelled simulation goes on")
	}
}
