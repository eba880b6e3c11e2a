package classes

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

func effectOf(t testing.TB, book record.Book, class Scope, against *Scope) report.Report {
	t.Helper()
	r, err := Effect(context.Background(), book, class, against, record.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func lead(r report.Report) string { return strings.Join(r.Lead, "\n") }

func notesOf(r report.Report, key string) []string {
	for _, s := range r.Sections {
		if s.Key == key {
			return s.Notes
		}
	}
	return nil
}

func verdicts(t testing.TB, r report.Report) map[string]int {
	t.Helper()
	counts := map[string]int{}
	s := reporttest.Section(t, r, "learners")
	for i := range s.Rows {
		counts[string(reporttest.Cell(t, s, i, "verdict").(report.Text))]++
	}
	return counts
}

// Nobody changes: nothing is said to have changed, whatever the errors are.
func TestNobodyChanges(t *testing.T) {
	var pupils []pupil
	for i := range 16 {
		pupils = append(pupils, pupil{name: fmt.Sprintf("P%02d", i), observer: observer.Observer{Noise: 0.5 + 0.1*float64(i)}, sittings: 6})
	}
	book, class := classOf(t, 20, pupils...)
	r := effectOf(t, book, class, nil)
	t.Log(lead(r), verdicts(t, r)) // the README of this folder
	if !strings.Contains(lead(r), "show no change beyond chance") {
		t.Errorf("of steady people is said:\n%s", lead(r))
	}
	if v := verdicts(t, r); v["improved"]+v["got worse"] > 3 { // 0.8 are expected; more than 3 comes about once in a hundred classes
		t.Errorf("of 16 steady people %v", v)
	}
	if e := reporttest.Estimate(t, reporttest.Section(t, r, "change"), 0, "g_z"); !e.Covers(0) {
		t.Errorf("g is %+v", e)
	}
}

// Half improve: the change is found, and which half it was.
func TestHalfImprove(t *testing.T) {
	var pupils []pupil
	for i := range 16 {
		p := pupil{name: fmt.Sprintf("P%02d", i), observer: observer.Observer{Noise: 1.8}, sittings: 8}
		if i%2 == 0 {
			p.name = "Better " + p.name
			p.noise = func(sitting int) float64 { return 1.8 * math.Pow(0.72, float64(sitting)) }
		}
		pupils = append(pupils, p)
	}
	book, class := classOf(t, 20, pupils...)
	r := effectOf(t, book, class, nil)
	t.Log(lead(r), verdicts(t, r)) // the README of this folder
	if !strings.Contains(lead(r), "shrank by") {
		t.Errorf("half improved, and is said:\n%s", lead(r))
	}
	s := reporttest.Section(t, r, "learners")
	for i := range s.Rows {
		name, verdict := string(reporttest.Cell(t, s, i, "learner").(report.Text)), reporttest.Cell(t, s, i, "verdict")
		if better := strings.HasPrefix(name, "Better"); better && verdict != report.Text("improved") {
			t.Errorf("%s: %s", name, verdict)
		}
	}
	if v := verdicts(t, r); v["improved"] < 8 || v["improved"] > 10 {
		t.Errorf("8 improved, counted %v", v)
	}
}

// The weakest leave a class in which nobody changes: neither sentence, nor table, nor
// picture shows a gain, though whoever is left errs less than all did.
func TestTheWeakestLeave(t *testing.T) {
	var pupils []pupil
	for i := range 20 {
		p := pupil{name: fmt.Sprintf("P%02d", i), observer: observer.Observer{Noise: 0.6 + 0.1*float64(i)}, sittings: 14}
		if i >= 10 {
			p.sittings = 2 + (20-i)/3
		}
		pupils = append(pupils, p)
	}
	book, class := classOf(t, 20, pupils...)
	r := effectOf(t, book, class, nil)
	t.Log(lead(r), verdicts(t, r)) // the README of this folder
	if said := lead(r); !strings.Contains(said, "show no change beyond chance") || !strings.Contains(said, "the errors of 10 learners who stayed") || !strings.Contains(said, "10 of 20 stopped while the class went on") || strings.Contains(said, "shrank") {
		t.Errorf("the weakest left, and is said:\n%s", said)
	}
	s := reporttest.Section(t, r, "change")
	var keys []string
	for i := range s.Rows {
		key := reporttest.Cell(t, s, i, "who").(report.Word).Key
		keys = append(keys, key)
		e := reporttest.Estimate(t, s, i, "change")
		switch key {
		case "different_people":
			if e.Value > -0.4 || e.HasInterval() || len(e.Warnings) == 0 {
				t.Errorf("the untrue comparison is %+v", e)
			}
		default:
			if !e.Covers(0) {
				t.Errorf("%s: %+v", key, e)
			}
		}
	}
	if want := []string{"stayed", "left", "all", "different_people"}; !slices.Equal(keys, want) {
		t.Errorf("rows %v, want %v", keys, want)
	}
	c := reviewed(t, book, class, record.Filter{})
	plot := c.changeOverSittings(string(exercises.ValueFirst))
	breaks := 0
	for i, y := range plot.Y {
		if math.IsNaN(y) {
			breaks++
			if math.IsNaN(plot.Y[i-1]) || math.IsNaN(plot.Y[i+1]) {
				t.Error("two breaks side by side")
			}
		}
		if math.Abs(y) > 0.35 {
			t.Errorf("the picture shows a change of %.2f at sitting %v", y, plot.X[i])
		}
	}
	if breaks != 4 { // they leave after 2, 3, 4 and 5 sittings
		t.Errorf("%d breaks where people left, want 4", breaks)
	}
	if first, last := plot.Labels[0], plot.Labels[len(plot.Labels)-1]; first != "20" || last != "10" {
		t.Errorf("%s people at first and %s at last, want 20 and 10", first, last)
	}
}

// Two classes: the one that improves is told from the one that does not, and two that
// do alike are not; who is in both counts in neither.
func TestOneClassAgainstAnother(t *testing.T) {
	better := func(sitting int) float64 { return 1.8 * math.Pow(0.75, float64(sitting)) }
	var pupils []pupil
	for i := range 24 {
		p := pupil{name: fmt.Sprintf("P%02d", i), observer: observer.Observer{Noise: 1.8}, sittings: 6}
		if i < 16 {
			p.noise = better
		}
		pupils = append(pupils, p)
	}
	book, all := classOf(t, 20, pupils...)
	taught, alike, control := all, all, all
	taught.People, alike.People, control.People = all.People[:9], all.People[8:16], all.People[16:]
	alike.Name, control.Name = "Tuesday group", "Control"
	if said := lead(effectOf(t, book, taught, &control)); !strings.Contains(said, "Against Control: errors shrank more here") {
		t.Errorf("of the better class is said:\n%s", said)
	}
	if said := lead(effectOf(t, book, control, &taught)); !strings.Contains(said, "errors shrank less here") {
		t.Errorf("of the other is said:\n%s", said)
	}
	r := effectOf(t, book, taught, &alike)
	if said := lead(r); !strings.Contains(said, "Against Tuesday group: no difference") {
		t.Errorf("of two alike is said:\n%s", said)
	}
	s := reporttest.Section(t, r, "against")
	if e := reporttest.Estimate(t, s, 0, "difference"); e.N != 15 { // one of the 9 and 8 is in both
		t.Errorf("%d people are compared, want 15", e.N)
	}
	if notes := strings.Join(notesOf(r, "against"), " "); !strings.Contains(notes, "1 person in both classes is left out") {
		t.Errorf("notes: %s", notes)
	}
}

// What was learnt and lost in a pause shows, and not as a change of the class.
func TestRetention(t *testing.T) {
	ctx := context.Background()
	book, class := classOf(t, 30)
	sheet := reporttest.Sheet(t, "natural")
	for n := range 8 {
		who, err := book.AddLearner(ctx, scoring.Learner{Name: fmt.Sprintf("P%d", n), At: classStart})
		if err != nil {
			t.Fatal(err)
		}
		class.People = append(class.People, who)
		rng := rand.New(rand.NewPCG(3, uint64(n)))
		for i, noise := range []float64{2, 1.4, 1, 0.7, 0.7, 1.6, 0.8} {
			day := 2 * i
			if i >= 5 {
				day += 30
			}
			sit(t, book, who, classStart.AddDate(0, 0, day), exercises.Setup{Kind: exercises.ValueFirst, Seed: rng.Uint64(), Count: 30, Sheet: sheet}, "", observer.Observer{Noise: noise}, rng)
		}
	}
	r := effectOf(t, book, class, nil)
	s := reporttest.Section(t, r, "retention")
	if e := reporttest.Estimate(t, s, 0, "change"); !(e.Lo > 0) {
		t.Errorf("after the pause %+v", e)
	}
	if !strings.Contains(notesOf(r, "retention")[0], "Some of it was lost") || reporttest.Cell(t, s, 0, "pause") != (report.Number{Value: 32}) {
		t.Errorf("%v, %v", notesOf(r, "retention"), s.Rows)
	}
}

// Few or none: words, and no number.
func TestEffectOfFew(t *testing.T) {
	book, class := classOf(t, 10)
	if r := effectOf(t, book, class, nil); len(r.Sections) != 0 || !strings.Contains(lead(r), "nothing can be said") {
		t.Errorf("of nobody: %s", lead(r))
	}
	book, class = classOf(t, 10, pupil{name: "A", observer: observer.Observer{Noise: 1}, sittings: 1}, pupil{name: "B", observer: observer.Observer{Noise: 1}, sittings: 2})
	r := effectOf(t, book, class, nil)
	if !strings.Contains(lead(r), "cannot be said to have changed") {
		t.Errorf("of two: %s", lead(r))
	}
	if v := verdicts(t, r); v["one sitting only"] != 1 || v["cannot be told"] != 1 {
		t.Errorf("%v", v)
	}
}

// A flat class that goes on to a smaller library, and to value alone, shows no change:
// like is compared with like, and what is left out is said.
func TestAnotherLevelIsNoChange(t *testing.T) {
	noise := observer.Observer{Noise: 1.5, SeenAt: 1}
	var flat []pupil
	for i := range 12 {
		flat = append(flat, pupil{name: fmt.Sprintf("Steady %02d", i), observer: noise, sittings: 6})
	}
	book, class := classOf(t, 12, flat...)
	small := reporttest.Sheet(t, "starter")
	for n, p := range class.People {
		rng := rand.New(rand.NewPCG(12, uint64(n)))
		for i := range 4 {
			setup := exercises.Setup{Kind: exercises.ValueFirst, Seed: rng.Uint64(), Count: 12, Sheet: small}
			if i == 3 {
				setup.Attribute = exercises.AttributeValue
			}
			sit(t, book, p, classStart.AddDate(0, 0, 12+2*i), setup, "", noise, rng)
		}
	}
	r, err := Effect(context.Background(), book, class, nil, record.Filter{})
	if err != nil {
		t.Fatal(err)
	}
	s := reporttest.Section(t, r, "change")
	if e := reporttest.Cell(t, s, 0, "change").(report.Estimated); !e.Covers(0) || math.Abs(e.Value) > 0.3 {
		t.Errorf("a flat class on a smaller library changed by %.2f (%.2f to %.2f)", e.Value, e.Lo, e.Hi)
	}
	if all := fmt.Sprint(r); !strings.Contains(all, "Like is compared with like: 48 sittings of another level") {
		t.Errorf("what is left out is not said: %v", r.Sections[0].Notes)
	}
}

// A single answer is no practice twice, and no word about who needs a look.
func TestASingleAnswerTellsNothing(t *testing.T) {
	book, class := classOf(t, 1, pupil{name: "Ada", observer: observer.Observer{Noise: 1}, sittings: 1})
	if said := lead(effectOf(t, book, class, nil)); said != "Nobody has practised the same twice yet: nothing can be said to have changed." {
		t.Error(said)
	}
	if said := sheetOf(t, reviewed(t, book, class, record.Filter{})).Lead[0]; said != "Who needs a look cannot be told yet: there are too few answers." {
		t.Error(said)
	}
}

// How many changed is held against what chance makes of steady people: binomial tails of
// one in forty, by hand: of 20, two or more come in 8.8 % of classes (1 − 0.975^20 −
// 20·0.025·0.975^19), three or more in 1.3 %.
func TestHowManyChanceMakes(t *testing.T) {
	for _, c := range []struct {
		improved, worse, n int
		want               string
	}{{0, 0, 20, ""}, {2, 0, 20, ", and so many may be chance"}, {3, 1, 20, ", so some did improve"}, {0, 7, 20, ", so some did get worse"}, {5, 4, 20, ", so some did improve and some did get worse"}, {1, 0, 1, ", and so many may be chance"}} {
		if got := beyondChance(c.improved, c.worse, c.n); got != c.want {
			t.Errorf("%d and %d of %d: %q, want %q", c.improved, c.worse, c.n, got, c.want)
		}
	}
}
