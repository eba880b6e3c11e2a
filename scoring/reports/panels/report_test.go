package panels

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

var update = flag.Bool("update", false, "write the golden reports anew")

func golden(t *testing.T, name string, r report.Report, f report.Format) {
	t.Helper()
	var b strings.Builder
	if err := report.Write(&b, r, f, report.Layout{Width: 120}); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), b.String()); d != "" {
		t.Errorf("%s (-stored +now):\n%s", path, d)
	}
}

// invented is a library of the test's own: what the built-in ones hold may change.
func invented(t testing.TB) *tabs.Sheet {
	t.Helper()
	var list []tabs.Tab
	for _, l := range []float64{88, 84, 80, 76, 72, 68, 64, 60} {
		for _, c := range []float64{8, 14, 20, 26} {
			for _, h := range []float64{80, 88, 96} {
				list = append(list, tabs.Tab{Name: fmt.Sprintf("L%.0f C%.0f h%.0f", l, c, h), Lab: colour.LCh{L: l, C: c, H: h}.Lab()})
			}
		}
	}
	l, err := tabs.New("invented", "for tests", tabs.GroupByValue(list))
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// A team of three, one of whom broke off, as people and machines get it.
func TestPanelReportGolden(t *testing.T) {
	book, asked := sitPanelOf(t, invented(t), exercises.ValueFirst, 10, 2, 6, 15,
		observer.Observer{Noise: 0.5}, observer.Observer{Noise: 0.9, BiasL: 1.2}, observer.Observer{Noise: 1.5, BiasH: -0.8})
	r := panelOf(t, book, asked)
	golden(t, "panel.txt", r, report.FormatText)
	golden(t, "panel.csv", r, report.FormatCSV)
	// What a page has beyond the tables: its plots, with a point a person or answer.
	plots := map[string]int{}
	for _, s := range r.Sections {
		for _, p := range s.Plots {
			plots[p.Key] = len(p.Series[0].X)
		}
	}
	want := map[string]int{"people_bias_L": 3, "people_bias_C": 3, "people_bias_H": 3, "splits": 30}
	if d := cmp.Diff(want, plots); d != "" {
		t.Errorf("plots and their points (-want +got):\n%s", d)
	}
}

// Every exercise that can be shared has a report without a hole in it.
func TestPanelOfEveryExercise(t *testing.T) {
	for _, kind := range exercises.Kinds() {
		if traits := kind.Traits(); traits.AnswerDriven || traits.ByHand {
			continue
		}
		t.Run(string(kind.ID()), func(t *testing.T) {
			book, asked := sitPanelOf(t, reporttest.Sheet(t, "natural"), kind.ID(), 9, 2, 3, 5, observer.Observer{Noise: 1}, observer.Observer{Noise: 1, BiasL: 1}, observer.Observer{Noise: 1})
			r := panelOf(t, book, asked)
			out := reporttest.Text(t, r)
			reporttest.Wants(t, out, "3 people began it, 2 finished it", "Person 03 stopped at 5 of", kind.Title())
			if strings.Contains(out, "NaN") || strings.Contains(out, "Inf") {
				t.Errorf("a number is none:\n%s", out)
			}
			for _, s := range r.Sections {
				if s.Table == nil || len(s.Table.Rows) == 0 {
					t.Errorf("section %s is empty", s.Key)
				}
			}
		})
	}
}

// A tooth's thirds are marked together: the gradient of each is in the report.
func TestPanelKnowsTheGradientOfThirds(t *testing.T) {
	book, asked := sitPanelOf(t, reporttest.Sheet(t, "natural"), exercises.Thirds, 9, 2, 3, 0, observer.Observer{Noise: 0.3}, observer.Observer{Noise: 2.5})
	r := panelOf(t, book, asked)
	steady, shaky := reporttest.Estimate(t, reporttest.Section(t, r, "checks"), 0, "right"), reporttest.Estimate(t, reporttest.Section(t, r, "checks"), 1, "right")
	if steady.N == 0 || !(steady.Value > shaky.Value) {
		t.Errorf("gradients right: %v of the steady, %v of the shaky person", steady, shaky)
	}
}

// What else lies under the session's name is left out, and that is said: a second
// sitting of one person, and one that asked something else.
func TestPanelLeavesOutWhatItDidNotAsk(t *testing.T) {
	ctx := context.Background()
	book, asked := sitPanel(t, 5, 2, 4, 0, observer.Observer{Noise: 1}, observer.Observer{Noise: 1})
	before := panelOf(t, book, asked)
	at := asked.At.Add(time.Hour)
	answered := colour.SRGB{R: 10, G: 10, B: 200}
	if _, err := book.AddLearner(ctx, scoring.Learner{ID: "newcomer", Name: "Newcomer", At: at}); err != nil {
		t.Fatal(err)
	}
	for i, other := range []struct {
		who    scoring.LearnerID
		change func(*exercises.Setup)
	}{{"person-01", func(*exercises.Setup) {}}, {"newcomer", func(s *exercises.Setup) { s.Seed++ }}, {"newcomer", func(s *exercises.Setup) { s.Viewing.Gap++ }}} {
		setup := asked.Set().SetupFor(0, other.who)
		other.change(&setup)
		s := scoring.Sitting{ID: record.NewSittingID(at), Learner: other.who, Started: at.Add(time.Duration(i) * time.Minute), Within: asked.Set().Ref.String(), Setup: setup}
		if err := book.StartSitting(ctx, s); err != nil {
			t.Fatal(err)
		}
		if err := book.Append(ctx, scoring.Attempt{Sitting: s.ID, Learner: s.Learner, At: s.Started, Trial: exercises.Trial{Kind: exercises.ValueFirst, Version: 1, Item: "001"},
			Answer: exercises.Answer{Colour: &answered}}); err != nil {
			t.Fatal(err)
		}
	}
	after := panelOf(t, book, asked)
	reporttest.Wants(t, strings.Join(after.Lead, "\n"), "3 further sittings under this name are left out")
	after.Lead = before.Lead
	if d := cmp.Diff(reporttest.Text(t, before), reporttest.Text(t, after)); d != "" {
		t.Errorf("what was not asked changes the report:\n%s", d)
	}
}

// Missing answers are counted, and named with the people.
func TestPanelNamesWhoBrokeOff(t *testing.T) {
	book, asked := sitPanel(t, 6, 2, 4, 7, observer.Observer{Noise: 1}, observer.Observer{Noise: 1}, observer.Observer{Noise: 1})
	out := reporttest.Text(t, panelOf(t, book, asked))
	reporttest.Wants(t, out, "3 people began it, 2 finished it: 6 shared items, each shown twice to each; 31 answers", "5 answers are missing: Person 03 stopped at 7 of 12",
		"items were answered 1 to 2 times: computed from unweighted cell means")
}

// Two of a larger team are compared when asked, a team of two always; whoever has
// no answer cannot be.
func TestPanelComparesTwo(t *testing.T) {
	book, asked := sitPanelOf(t, invented(t), exercises.ValueFirst, 20, 2, 9, 0, observer.Observer{Noise: 0.4, BiasL: 1.5}, observer.Observer{Noise: 0.4}, observer.Observer{Noise: 0.4})
	ctx := context.Background()
	r, err := Report(ctx, book, asked, View{Between: []scoring.LearnerID{"person-03", "person-01"}})
	if err != nil {
		t.Fatal(err)
	}
	bias := reporttest.Estimate(t, reporttest.Section(t, r, "pair"), 0, "bias")
	if !bias.Covers(-1.5) || bias.Hi > -0.8 {
		t.Errorf("person 3 minus person 1: %v, true −1.5", bias)
	}
	reporttest.Wants(t, reporttest.Text(t, r), "Person 03 and Person 01 compared", "Person 03 answers darker than Person 01")
	for _, between := range [][]scoring.LearnerID{{"person-01"}, {"person-01", "person-01"}, {"person-01", "nobody"}} {
		if _, err := Report(ctx, book, asked, View{Between: between}); err == nil {
			t.Errorf("compared: %v", between)
		}
	}
}

// Two who see alike choose the same group; one whose bias is more than a group seldom
// does. Where no colours are answered the choices alone are compared.
func TestPanelSaysWhetherTwoChooseAlike(t *testing.T) {
	steady := observer.Observer{Noise: 0.01}
	book, asked := sitPanelOf(t, invented(t), exercises.ValueFirst, 20, 2, 9, 0, steady, steady, observer.Observer{Noise: 0.01, BiasL: 5})
	compare := func(other scoring.LearnerID) (alike, kappa scoring.Estimate) {
		r, err := Report(context.Background(), book, asked, View{Between: []scoring.LearnerID{"person-01", other}})
		if err != nil {
			t.Fatal(err)
		}
		return reporttest.Estimate(t, reporttest.Section(t, r, "pair_choices"), 0, "alike"), reporttest.Estimate(t, reporttest.Section(t, r, "pair_choices"), 0, "kappa")
	}
	alike, kappa := compare("person-02")
	if alike.Value < 0.95 || kappa.Value < 0.95 {
		t.Errorf("two steady people: %v alike, κ %v", alike, kappa)
	}
	if alike, kappa = compare("person-03"); alike.Value > 0.3 || kappa.Value > 0.7 {
		t.Errorf("one with a bias: %v alike, κ %v", alike, kappa)
	}

	book, asked = sitPanelOf(t, invented(t), exercises.Lighting, 24, 2, 9, 0, steady, steady)
	out := reporttest.Text(t, panelOf(t, book, asked))
	reporttest.Wants(t, out, "Do Person 01 and Person 02 choose alike?", "more alike than by chance")
}

// Narrowed to a class the report holds its people only, and names who is missing.
func TestPanelOfAClass(t *testing.T) {
	book, asked := sitPanel(t, 6, 2, 4, 0, observer.Observer{Noise: 1}, observer.Observer{Noise: 1}, observer.Observer{Noise: 1})
	of := []scoring.Learner{{ID: "person-01", Name: "Person 01"}, {ID: "person-03", Name: "Person 03"}, {ID: "late", Name: "Late Comer"}}
	r, err := Report(context.Background(), book, asked, View{Of: of, Group: "Staff"})
	if err != nil {
		t.Fatal(err)
	}
	out := reporttest.Text(t, r)
	reporttest.Wants(t, out, "2 people began it", "Only Staff: 1 of 3 have not begun: Late Comer.")
	if strings.Contains(out, "Person 02") {
		t.Error("somebody outside the class is in its report")
	}
	r, err = Report(context.Background(), book, asked, View{Of: of[:2], Group: "Staff"})
	if err != nil {
		t.Fatal(err)
	}
	reporttest.Wants(t, reporttest.Text(t, r), "Only Staff: all 2 of it have begun.")
}
