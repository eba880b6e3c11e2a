package classes

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/items"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/learners"
)

// pupil is somebody whose truth is known.
type pupil struct {
	name     string
	observer observer.Observer
	noise    func(sitting int) float64 // in place of the observer's, when not nil
	sittings int
	form     bool // takes form A of the proficiency test at the end
}

var classStart = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// classOf lets pupils practise value first, a sitting every other day.
func classOf(t testing.TB, count int, pupils ...pupil) (record.Book, Scope) {
	t.Helper()
	ctx := context.Background()
	book := record.NewMemory()
	sheet := reporttest.Sheet(t, "natural")
	class := Scope{Name: "Monday group"}
	form, err := scoring.NewTestOf("A", []exercises.KindID{exercises.ValueFirst}, 12, reporttest.Sheet(t, "natural"))
	if err != nil {
		t.Fatal(err)
	}
	for n, p := range pupils {
		l, err := book.AddLearner(ctx, scoring.Learner{Name: p.name, At: classStart})
		if err != nil {
			t.Fatal(err)
		}
		class.People = append(class.People, l)
		rng := rand.New(rand.NewPCG(11, uint64(n)))
		for i := range p.sittings {
			as := p.observer
			if p.noise != nil {
				as.Noise = p.noise(i)
			}
			sit(t, book, l, classStart.AddDate(0, 0, 2*i), exercises.Setup{Kind: exercises.ValueFirst, Seed: rng.Uint64(), Count: count, Sheet: sheet}, "", as, rng)
		}
		if p.form {
			for _, setup := range form.Parts {
				sit(t, book, l, classStart.AddDate(0, 0, 2*p.sittings), setup, form.Take(1).String(), p.observer, rng)
			}
		}
	}
	return book, class
}

func sit(t testing.TB, book record.Book, who scoring.Learner, at time.Time, setup exercises.Setup, within string, as observer.Observer, rng *rand.Rand) {
	t.Helper()
	ctx := context.Background()
	kind, err := exercises.ByID(setup.Kind)
	if err != nil {
		t.Fatal(err)
	}
	clock := func() time.Time { at = at.Add(7 * time.Second); return at }
	drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup, Within: within}, clock)
	if err != nil {
		t.Fatal(err)
	}
	for {
		trial, ok := drill.Trial()
		if !ok {
			break
		}
		if _, _, err := drill.Answer(ctx, kind.Simulate(trial, drill.Sitting().Setup, as, rng)); err != nil {
			t.Fatal(err)
		}
	}
	if err := drill.End(ctx, false); err != nil {
		t.Fatal(err)
	}
}

func reviewed(t testing.TB, book record.Book, class Scope, f record.Filter) *Review {
	t.Helper()
	c, err := Read(context.Background(), book, class, f)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func rowNamed(t testing.TB, c *Review, name string) Row {
	t.Helper()
	for _, r := range c.Rows {
		if r.Learner.Name == name {
			return r
		}
	}
	t.Fatalf("no row of %s", name)
	return Row{}
}

// Each is flagged for what is wrong with them, and who does well is not.
func TestClassFlagsWhoNeedsHelp(t *testing.T) {
	book, class := classOf(t, 20,
		pupil{name: "Steady", observer: observer.Observer{Noise: 0.7}, sittings: 10},
		pupil{name: "Worse", noise: func(i int) float64 { return 0.5 + 0.35*float64(i) }, sittings: 10},
		pupil{name: "Gone", observer: observer.Observer{Noise: 0.7}, sittings: 2},
		pupil{name: "Yellow", observer: observer.Observer{Noise: 0.6, BiasH: 1.6, BiasL: 1.8}, sittings: 10},
		pupil{name: "New", sittings: 0})
	c := reviewed(t, book, class, record.Filter{})
	for name, want := range map[string]string{
		"Steady": "",
		"Worse":  "rising: errors grow by ",
		"Gone":   "stopped: no answer since 4 March, while the class went on",
		"Yellow": "bias: bias of ",
		"New":    "no-answers: no answers yet",
	} {
		got := ""
		for _, f := range rowNamed(t, c, name).Flags {
			got += f.Key + ": " + f.Words
		}
		if !strings.HasPrefix(got, want) || want == "" && got != "" {
			t.Errorf("%s is flagged %q, not %q", name, got, want)
		}
	}
	if w := rowNamed(t, c, "Yellow").FlagWords(); !strings.Contains(w, "too light") || !strings.Contains(w, "too yellow") || strings.Contains(w, "chromatic") {
		t.Errorf("the reason is %q", w)
	}
	// Nobody has stopped when all have: with the others away, Gone is the class.
	alone := class
	alone.People = []scoring.Learner{rowNamed(t, c, "Gone").Learner}
	if row := reviewed(t, book, alone, record.Filter{}).Rows[0]; len(row.Flags) != 0 {
		t.Errorf("flagged %v although nobody went on", row.Flags)
	}
}

// A row says what the learner's own tables say.
func TestClassRowAgreesWithProgress(t *testing.T) {
	book, class := classOf(t, 20, pupil{name: "A", observer: observer.Observer{Noise: 0.9, BiasC: 0.8}, sittings: 6}, pupil{name: "B", observer: observer.Observer{Noise: 0.5}, sittings: 3})
	ctx := context.Background()
	r, err := Report(ctx, book, class, record.Filter{}, "name", false)
	if err != nil {
		t.Fatal(err)
	}
	for row, who := range class.People {
		own, err := learners.Progress(ctx, book, who, record.Filter{}, time.Now(), false)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range [][4]string{{"learners", "median_dE00", "accuracy", "median_dE00"}, {"details", "slope", "trend", "slope"},
			{"details", "bias_L", "bias", "bias_L"}, {"details", "bias_C", "bias", "bias_C"}, {"details", "bias_H", "bias", "bias_H"}} {
			a := reporttest.Estimate(t, reporttest.Section(t, r, c[0]), row, c[1])
			b := reporttest.Estimate(t, reporttest.Section(t, own, c[2]), 0, c[3])
			if a.Value != b.Value || a.Lo != b.Lo && !math.IsNaN(a.Lo) || a.Hi != b.Hi && !math.IsNaN(a.Hi) {
				t.Errorf("%s, %s: %+v in the class, %+v in their own tables", who.Name, c[1], a, b)
			}
		}
		bias := sizes.ReplaceAllString(string(reporttest.Cell(t, reporttest.Section(t, r, "learners"), row, "bias").(report.Text)), "")
		if own := reporttest.Cell(t, reporttest.Section(t, own, "bias"), 0, "bias"); report.Text(bias) != own {
			t.Errorf("%s has a bias %q in the class, %q in their own tables", who.Name, bias, own)
		}
	}
}

// sizes are those of biases in a row, which stand beside the words in a learner's tables.
var sizes = regexp.MustCompile(` [0-9]+\.[0-9]`)

func TestClassFilters(t *testing.T) {
	book, class := classOf(t, 20, pupil{name: "A", observer: observer.Observer{Noise: 0.9}, sittings: 6}, pupil{name: "B", observer: observer.Observer{Noise: 0.9}, sittings: 1})
	c := reviewed(t, book, class, record.Filter{From: classStart.AddDate(0, 0, 1), To: classStart.AddDate(0, 0, 5)})
	if a, b := rowNamed(t, c, "A"), rowNamed(t, c, "B"); a.Answers != 40 || a.Sittings != 2 || b.Answers != 0 || b.FlagWords() != "no answers in what was asked for" {
		t.Errorf("between the days: A %d answers in %d sittings, B %d, flagged %q", a.Answers, a.Sittings, b.Answers, b.FlagWords())
	}
	if a := rowNamed(t, reviewed(t, book, class, record.Filter{Kind: string(exercises.Whitening)}), "A"); a.Answers != 0 {
		t.Errorf("%d answers in another exercise", a.Answers)
	}
}

func TestClassSorts(t *testing.T) {
	at := func(days int) time.Time { return classStart.AddDate(0, 0, days) }
	row := func(name string, answers int, last time.Time, e, change, bias, share float64) Row {
		point := func(x float64) scoring.Estimate {
			if math.IsNaN(x) {
				return scoring.Undefined(0, "unknown")
			}
			return scoring.Interval(x, x-0.1, x+0.1, 0.95, 9)
		}
		r := Row{Learner: scoring.Learner{Name: name}, Sittings: answers / 10, Answers: answers, Last: last, Error: point(e), Change: point(change), ExamShare: point(share)}
		r.Biases = [3]scoring.Estimate{point(bias), point(math.NaN()), point(math.NaN())}
		return r
	}
	nan := math.NaN()
	c := &Review{Rows: []Row{
		row("dora", 30, at(3), 1.2, -0.1, -2.0, 0.9),
		row("Ben", 10, at(9), 2.5, 0.2, 1.0, 0.4),
		row("Ada", 0, time.Time{}, nan, nan, nan, nan),
		row("Cy", 20, at(1), 1.9, 0.0, 0.05, 0.7),
	}}
	c.Rows[3].Flags = []Flag{{"x", "y"}}
	for by, want := range map[Order][2]string{
		"name":     {"Ada Ben Cy dora", "dora Cy Ben Ada"},
		"sittings": {"Ada Ben Cy dora", "dora Cy Ben Ada"},
		"active":   {"Cy dora Ben Ada", "Ben dora Cy Ada"},
		"error":    {"Ben Cy dora Ada", "dora Cy Ben Ada"},
		"trend":    {"Ben Cy dora Ada", "dora Cy Ben Ada"},
		"bias":     {"dora Ben Ada Cy", "Ada Cy Ben dora"},
		"exam":     {"Ben Cy dora Ada", "dora Cy Ben Ada"},
		"flag":     {"Cy Ben dora Ada", "dora Ben Ada Cy"},
	} {
		for i, backwards := range []bool{false, true} {
			c.Sort(by, backwards)
			var names []string
			for _, r := range c.Rows {
				names = append(names, r.Learner.Name)
			}
			if got := strings.Join(names, " "); got != want[i] {
				t.Errorf("by %s, backwards %v: %s, not %s", by, backwards, got, want[i])
			}
		}
	}
	for _, by := range Orders() {
		if by.Words() == "" {
			t.Errorf("%s has no words", by)
		}
	}
}

// The items of a proficiency test against the same analysis of scores that are
// gathered here by hand, and the share that the test itself reports.
func TestClassItems(t *testing.T) {
	var pupils []pupil
	for i := range 9 {
		pupils = append(pupils, pupil{name: fmt.Sprintf("P%d", i), observer: observer.Observer{Noise: 0.1 + 0.2*float64(i)}, sittings: 1, form: true})
	}
	book, class := classOf(t, 10, pupils...)
	ctx := context.Background()
	r, err := Report(ctx, book, class, record.Filter{}, "name", false)
	if err != nil {
		t.Fatal(err)
	}
	sheet := reporttest.Sheet(t, "natural")
	var scores items.Scores
	for row, who := range class.People {
		var list []float64
		for a, err := range book.Attempts(ctx, record.Filter{Learner: who.ID, Within: "exam:A:1"}) {
			if err != nil {
				t.Fatal(err)
			}
			score := 0.0
			if scoring.MarkOf(a, sheet).Points() == 10 {
				score = 1
			}
			list = append(list, score)
		}
		scores = append(scores, list)
		sum := 0.0
		for _, s := range list {
			sum += s
		}
		if got := reporttest.Estimate(t, reporttest.Section(t, r, "details"), row, "exam_right").Value; math.Abs(got-sum/12) > 1e-12 {
			t.Errorf("%s has %.3f of the test right, not %.3f", who.Name, got, sum/12)
		}
	}
	want, err := items.Analyse(scores, history.Level)
	if err != nil {
		t.Fatal(err)
	}
	if got := reporttest.Estimate(t, reporttest.Section(t, r, "items"), 0, "alpha"); got.Value != want.Alpha.Value || !want.Alpha.Defined() {
		t.Errorf("α is %v, not %v", got, want.Alpha)
	}
	for i, it := range want.Items {
		if got := reporttest.Estimate(t, reporttest.Section(t, r, "item"), i, "difficulty"); got.Value != it.Difficulty.Value {
			t.Errorf("item %d: share right %v, not %v", i+1, got.Value, it.Difficulty.Value)
		}
		if got := reporttest.Estimate(t, reporttest.Section(t, r, "item"), i, "item_rest"); got.Value != it.Rest.Value && it.Rest.Defined() {
			t.Errorf("item %d: item–rest %v, not %v", i+1, got.Value, it.Rest.Value)
		}
	}
}

// Whoever takes a form twice knows its items the second time.
func TestClassItemsCountTheFirstTakeOnly(t *testing.T) {
	book, class := classOf(t, 10, pupil{name: "A", observer: observer.Observer{Noise: 3}, form: true})
	form, _ := scoring.NewTestOf("A", []exercises.KindID{exercises.ValueFirst}, 12, reporttest.Sheet(t, "natural"))
	for _, setup := range form.Parts {
		sit(t, book, class.People[0], classStart.AddDate(0, 1, 0), setup, form.Take(2).String(), observer.Observer{}, rand.New(rand.NewPCG(1, 1)))
	}
	first := reviewed(t, book, class, record.Filter{To: classStart.AddDate(0, 0, 9)})
	both := reviewed(t, book, class, record.Filter{})
	sum := func(c *Review) (right float64, n int) {
		for _, set := range c.learners[0].seen.sets {
			for _, x := range set {
				right, n = right+x.sum, n+x.n
			}
		}
		return right, n
	}
	r1, n1 := sum(first)
	r2, n2 := sum(both)
	if n1 != 12 || n2 != 12 || r1 != r2 {
		t.Errorf("%v of %d right after the first take, %v of %d after the second", r1, n1, r2, n2)
	}
	// The class by the cut-offs is that of the latest take.
	if a, b := first.Rows[0].ExamShare.Value, both.Rows[0].ExamShare.Value; !(b > a) {
		t.Errorf("the share right is %v, then %v", a, b)
	}
}

// Everybody answers one group too light: the right group stands on the diagonal
// and what is taken beside it, on the lighter side.
func TestClassConfusions(t *testing.T) {
	book, class := classOf(t, 60, pupil{name: "A", observer: observer.Observer{Noise: 0.3, BiasL: 2}, sittings: 3}, pupil{name: "B", observer: observer.Observer{Noise: 0.3, BiasL: 2}, sittings: 3})
	c := reviewed(t, book, class, record.Filter{})
	r, err := c.Report("name")
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(r.Sections, func(s report.Section) bool { return s.Key == "groups" })
	m := r.Sections[i].Plots[0].Matrix
	lighter, darker := 0.0, 0.0
	for g, row := range m.Values {
		sum := 0.0
		for taken, share := range row {
			if math.IsNaN(share) {
				continue
			}
			sum += share
			if taken < g {
				lighter += share
			} else if taken > g {
				darker += share
			}
		}
		if sum != 0 && math.Abs(sum-100) > 1e-9 {
			t.Errorf("group %s: the shares add up to %v", m.Rows[g], sum)
		}
	}
	if !(lighter > 20*darker) || lighter == 0 {
		t.Errorf("lighter groups are taken %.0f %%, darker ones %.0f %%", lighter, darker)
	}
	answers := 0
	for _, row := range r.Sections[i].Table.Rows {
		answers += int(row[2].(report.Count))
	}
	if answers != 360 {
		t.Errorf("%d of 360 answers are in the table of groups", answers)
	}
}

// A class of nobody, of one, of people without answers: words, no crash, no NaN.
func TestClassOfHardlyAnybody(t *testing.T) {
	for _, pupils := range [][]pupil{nil, {{name: "A"}}, {{name: "A", sittings: 1}}, {{name: "A", sittings: 2}, {name: "B"}}} {
		book, class := classOf(t, 1, pupils...)
		r, err := Report(context.Background(), book, class, record.Filter{}, "flag", false)
		if err != nil {
			t.Fatal(err)
		}
		for _, format := range report.Formats() {
			var b strings.Builder
			if err := report.Write(&b, r, format, report.Layout{Width: 80}); err != nil {
				t.Fatal(err)
			}
			if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
				t.Errorf("%d pupils as %s:\n%s", len(pupils), format, b.String())
			}
		}
	}
}

// The same book gives the same report, byte by byte, however the work was shared.
func TestClassReportIsTheSameEveryTime(t *testing.T) {
	var pupils []pupil
	for i := range 8 {
		pupils = append(pupils, pupil{name: fmt.Sprintf("P%d", i), observer: observer.Observer{Noise: 1}, sittings: 2, form: true})
	}
	book, class := classOf(t, 10, pupils...)
	first := ""
	for range 5 {
		r, err := Report(context.Background(), book, class, record.Filter{}, "flag", false)
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		if err := report.Write(&b, r, report.FormatJSON, report.Layout{}); err != nil {
			t.Fatal(err)
		}
		if first == "" {
			first = b.String()
		}
		if b.String() != first {
			t.Fatal("another report of the same book")
		}
	}
}

func TestClassReviewPassesOnErrors(t *testing.T) {
	book, class := classOf(t, 5, pupil{name: "A", sittings: 2}, pupil{name: "B", sittings: 2})
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Read(ctx, book, class, record.Filter{}); err == nil {
		t.Error("a review that was called off gave no error")
	}
}

// Where practice has levels the page says that like is compared with like, and where it
// has none it says nothing of them.
func TestReviewSaysWhichLevels(t *testing.T) {
	if notes := levelNotes([]Row{{}, {}}); notes != nil {
		t.Errorf("nobody practised on a level: %q", notes)
	}
	book, class := classOf(t, 6, pupil{name: "Ada Invented", sittings: 2})
	rng := rand.New(rand.NewPCG(3, 4))
	for i := range 4 {
		s := exercises.Setup{Kind: exercises.ValueFirst, Seed: rng.Uint64(), Count: 6, Sheet: reporttest.Sheet(t, "natural")}.AtLevel(3)
		sit(t, book, class.People[0], classStart.AddDate(0, 0, 10+i), s, "", observer.Observer{Noise: 1}, rng)
	}
	c := reviewed(t, book, class, record.Filter{})
	if r := c.Rows[0]; r.Level != 3 || r.OtherLevels != 2 {
		t.Errorf("level %d, %d of others", r.Level, r.OtherLevels)
	}
	if notes := levelNotes(c.Rows); len(notes) != 1 || !strings.Contains(notes[0], "2 sittings of others are left out") {
		t.Errorf("%q", notes)
	}
}

// The bias that a class review tells of somebody is the one that they read themselves,
// also where they sat a test.
func TestBiasIsThatOfTheLearnersOwnPage(t *testing.T) {
	book, class := classOf(t, 20, pupil{name: "Ada", observer: observer.Observer{Noise: 0.8, BiasC: 1}, sittings: 4, form: true})
	h, err := history.Read(context.Background(), book, record.Filter{Learner: class.People[0].ID})
	if err != nil {
		t.Fatal(err)
	}
	own := history.BiasOfKinds(history.WithColours(h.Kinds)).Estimates
	for i, e := range rowNamed(t, reviewed(t, book, class, record.Filter{}), "Ada").Biases {
		if e.Value != own[i].Value || e.N != own[i].N {
			t.Errorf("%s: %.3f from %d answers in the class, %.3f from %d on the own page", history.Axes[i].Key, e.Value, e.N, own[i].Value, own[i].N)
		}
	}
}
