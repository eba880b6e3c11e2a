package panels

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

// sitPanel lets observers sit a calibration session; of the last one only the
// first answers are there.
func sitPanel(t testing.TB, items, repeats int, seed uint64, dropOut int, people ...observer.Observer) (record.Book, record.Panel) {
	t.Helper()
	return sitPanelOf(t, reporttest.Sheet(t, "natural"), exercises.ValueFirst, items, repeats, seed, dropOut, people...)
}

func sitPanelOf(t testing.TB, sheet *tabs.Sheet, of exercises.KindID, items, repeats int, seed uint64, dropOut int, people ...observer.Observer) (record.Book, record.Panel) {
	t.Helper()
	ctx := context.Background()
	book := record.NewMemory()
	now := time.Date(2026, 5, 4, 19, 0, 0, 0, time.UTC)
	clock := func() time.Time { now = now.Add(5 * time.Second); return now }
	kind, err := exercises.ByID(of)
	if err != nil {
		t.Fatal(err)
	}
	if err := book.PutSheet(ctx, sheet); err != nil {
		t.Fatal(err)
	}
	asked, err := book.AddPanel(ctx, record.Panel{Name: "Monday team", At: now, Setup: exercises.Setup{Kind: of, Version: kind.Version(),
		Seed: seed, Count: items, Repeats: repeats, Viewing: exercises.DefaultViewing(), Silent: true, Sheet: sheet}})
	if err != nil {
		t.Fatal(err)
	}
	for i, who := range people {
		l, err := book.AddLearner(ctx, scoring.Learner{ID: scoring.LearnerID(fmt.Sprintf("person-%02d", i+1)), Name: fmt.Sprintf("Person %02d", i+1), At: clock()})
		if err != nil {
			t.Fatal(err)
		}
		drill, err := record.Take(ctx, book, asked.Set(), l, scoring.DisplayCheck{}, clock)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		for n := 0; ; n++ {
			trial, ok := drill.Trial()
			if !ok || i == len(people)-1 && dropOut > 0 && n == dropOut {
				break
			}
			if _, _, err := drill.Answer(ctx, kind.Simulate(trial, drill.Sitting().Setup, who, rng)); err != nil {
				t.Fatal(err)
			}
		}
		_, left := drill.Trial()
		if err := drill.End(ctx, left); err != nil {
			t.Fatal(err)
		}
	}
	return book, asked
}

// Of somebody who is still at it nothing is told but how far they are.
func TestPanelIsSilentBeforeSomebodysEnd(t *testing.T) {
	ctx := context.Background()
	book, asked := sitPanel(t, 6, 2, 3, 0, observer.Observer{}, observer.Observer{Noise: 1})
	who, err := book.AddLearner(ctx, scoring.Learner{Name: "Person 03", At: asked.At})
	if err != nil {
		t.Fatal(err)
	}
	tables := func() string {
		r := panelOf(t, book, asked)
		r.Lead = nil
		var b strings.Builder
		if err := report.Write(&b, r, report.FormatJSON, report.Layout{}); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	before := tables()
	drill, err := record.Take(ctx, book, asked.Set(), who, scoring.DisplayCheck{}, func() time.Time { return asked.At.Add(time.Hour) })
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		if _, _, err := drill.Answer(ctx, exercises.TakeTab(reporttest.Sheet(t, "natural"), 0, -1)); err != nil {
			t.Fatal(err)
		}
	}
	lead := strings.Join(panelOf(t, book, asked).Lead, " ")
	for _, want := range []string{"3 people began it, 2 finished it", "Person 03 is at 3 of 12", "told when they have ended"} {
		if !strings.Contains(lead, want) {
			t.Errorf("%q does not say %q", lead, want)
		}
	}
	if tables() != before {
		t.Error("the tables have changed by somebody who is still at it")
	}
	if err := drill.End(ctx, true); err != nil {
		t.Fatal(err)
	}
	if after := tables(); !strings.Contains(after, "Person 03") {
		t.Error("after the end nothing is told")
	}
}

func panelOf(t testing.TB, book record.Book, asked record.Panel) report.Report {
	t.Helper()
	r, err := Report(context.Background(), book, asked, View{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Who has a bias is named with the bias that they have, and with no other; who sees
// alike agrees, and who scatters does not repeat themselves.
func TestPanelFindsBiases(t *testing.T) {
	book, asked := sitPanel(t, 40, 2, 17, 0,
		observer.Observer{Noise: 0.4}, observer.Observer{Noise: 0.4, BiasC: 1.5}, observer.Observer{Noise: 1.8})
	r := panelOf(t, book, asked)
	noise := []float64{0.4, 0.4, 1.8}
	for person, want := range []float64{0, 1.5, 0} {
		e := reporttest.Estimate(t, reporttest.Section(t, r, "bias"), person, "bias_C")
		// Four standard errors of 40 items answered twice, whose rounding to a tab has
		// a variance of about 0.3.
		if math.Abs(e.Value-want) > 4*math.Sqrt((noise[person]*noise[person]/2+0.3)/40) {
			t.Errorf("person %d: chroma bias %.2f, true %.2f", person+1, e.Value, want)
		}
	}
	others := 0
	for seed := range uint64(6) {
		book, asked := sitPanel(t, 40, 2, 17+seed, 0, observer.Observer{Noise: 0.4}, observer.Observer{Noise: 0.4, BiasC: 1.5})
		bias := reporttest.Cell(t, reporttest.Section(t, panelOf(t, book, asked), "bias"), 1, "bias").(report.Text)
		if !strings.Contains(string(bias), "too chromatic") {
			t.Errorf("person 2 is said to have the bias %q", bias)
		}
		if bias != "too chromatic" {
			others++
		}
	}
	if others > 2 { // 95 % intervals along two axes: one in ten by chance
		t.Errorf("person 2 is said to have another bias in %d of 6 sessions", others)
	}
	steady := reporttest.Estimate(t, reporttest.Section(t, r, "repeatability"), 0, "repeat_C").Value
	unsteady := reporttest.Estimate(t, reporttest.Section(t, r, "repeatability"), 2, "repeat_C").Value
	if !(unsteady > 2*steady) {
		t.Errorf("repeatability %.2f of the steady and %.2f of the unsteady person", steady, unsteady)
	}
	for row := range 3 {
		agree, alike := reporttest.Estimate(t, reporttest.Section(t, r, "agreement"), row, "icc_2_1"), reporttest.Estimate(t, reporttest.Section(t, r, "agreement"), row, "icc_3_1")
		if !agree.Defined() || agree.Value > alike.Value+0.02 {
			t.Errorf("row %d: ICC(2,1) %.3f above ICC(3,1) %.3f", row, agree.Value, alike.Value)
		}
	}
	// The bias in chroma shows as a gap in chroma.
	gap := reporttest.Estimate(t, reporttest.Section(t, r, "agreement"), 1, "icc_3_1").Value - reporttest.Estimate(t, reporttest.Section(t, r, "agreement"), 1, "icc_2_1").Value
	if gap < 0.005 {
		t.Errorf("a person with a bias of 1.5 leaves a gap of only %.4f between the two ICC of chroma", gap)
	}
	for i, want := range []string{"keep in practice", "practise chroma alone", "scatter"} {
		if got := fmt.Sprint(reporttest.Cell(t, reporttest.Section(t, r, "next"), i, "next")); !strings.Contains(got, want) {
			t.Errorf("person %d is told %q, want something about %q", i+1, got, want)
		}
	}
}

// Teams of any size, drop-outs and silence get a report, with words where a
// number cannot be.
func TestPanelOfAnySize(t *testing.T) {
	many := make([]observer.Observer, 50)
	for i := range many {
		many[i].Noise = 1
	}
	for name, c := range map[string]struct {
		people             []observer.Observer
		items, repeats, by int
	}{
		"nobody":        {nil, 5, 2, 0},
		"one":           {many[:1], 5, 2, 0},
		"two":           {many[:2], 8, 2, 0},
		"fifty":         {many, 6, 2, 0},
		"one item":      {many[:3], 1, 2, 0},
		"shown once":    {many[:3], 8, 1, 0},
		"a drop-out":    {many[:4], 8, 2, 3},
		"one answer in": {many[:2], 8, 2, 1},
	} {
		t.Run(name, func(t *testing.T) {
			book, asked := sitPanel(t, c.items, c.repeats, 3, c.by, c.people...)
			r := panelOf(t, book, asked)
			for _, f := range report.Formats() {
				var b strings.Builder
				if err := report.Write(&b, r, f, report.Layout{Width: 100}); err != nil {
					t.Fatal(err)
				}
				if f != report.FormatHTML && strings.Contains(b.String(), "NaN") {
					t.Errorf("%s prints NaN", f)
				}
			}
		})
	}
}

func TestPanelSplitItemsComeFirst(t *testing.T) {
	book, asked := sitPanel(t, 20, 2, 5, 0, observer.Observer{Noise: 0.3, BiasL: 3}, observer.Observer{Noise: 0.3, BiasL: -3})
	r := panelOf(t, book, asked)
	before := math.Inf(1)
	for row := range 20 {
		n, ok := reporttest.Cell(t, reporttest.Section(t, r, "items"), row, "beyond_acceptability").(report.Number)
		if !ok || n.Value > before {
			t.Fatalf("row %d: %v %% of pairs after %v", row, n, before)
		}
		before = n.Value
	}
	// Two who see alike and steadily differ by a tab at most, within acceptability
	// but where they fall on different sides of a step.
	book, asked = sitPanel(t, 20, 2, 5, 0, observer.Observer{Noise: 0.1}, observer.Observer{Noise: 0.1})
	r, splits := panelOf(t, book, asked), 0
	for row := range 20 {
		if reporttest.Cell(t, reporttest.Section(t, r, "items"), row, "split") == report.Yes(true) {
			splits++
		}
	}
	if splits > 2 {
		t.Errorf("two people who see alike split over %d of 20 items", splits)
	}
}
