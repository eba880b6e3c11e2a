package learners_test

import (
	"bytes"
	"context"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/learners"
)

// desk is a book with a clock, at which somebody practises.
type desk struct {
	t    *testing.T
	book record.Book
	now  time.Time
	rng  *rand.Rand
}

func newDesk(t *testing.T, names ...scoring.LearnerID) *desk {
	d := &desk{t: t, book: record.NewMemory(), now: start, rng: rand.New(rand.NewPCG(8, 8))}
	for _, id := range names {
		if _, err := d.book.AddLearner(context.Background(), scoring.Learner{ID: id, Name: string(id), At: start}); err != nil {
			t.Fatal(err)
		}
	}
	return d
}

// sit does a drill, or so many answers of it; 0 is all. An answer takes ten seconds.
func (d *desk) sit(who scoring.LearnerID, s exercises.Setup, o observer.Observer, answers int) {
	d.t.Helper()
	ctx := context.Background()
	kind, err := exercises.ByID(s.Kind)
	if err != nil {
		d.t.Fatal(err)
	}
	if s.Seed == 0 {
		s.Seed = d.rng.Uint64()
	}
	if s.Sheet == nil {
		s.Sheet = reporttest.Sheet(d.t, "natural")
	}
	drill, err := record.Begin(ctx, d.book, scoring.Sitting{Learner: who, Setup: s}, func() time.Time { return d.now })
	if err != nil {
		d.t.Fatal(err)
	}
	for n := 0; answers == 0 || n < answers; n++ {
		trial, ok := drill.Trial()
		if !ok {
			break
		}
		a := kind.Simulate(trial, s, o, d.rng)
		a.Total = 6 * time.Second
		d.now = d.now.Add(10 * time.Second)
		if _, _, err := drill.Answer(ctx, a); err != nil {
			d.t.Fatal(err)
		}
	}
	if _, more := drill.Trial(); !more {
		if err := drill.End(ctx, false); err != nil {
			d.t.Fatal(err)
		}
	}
}

// sharp sees without error.
var sharp observer.Observer

func (d *desk) day(who scoring.LearnerID) learners.Day {
	d.t.Helper()
	return d.dayOf(who, d.now)
}

func (d *desk) dayOf(who scoring.LearnerID, begun time.Time) learners.Day {
	d.t.Helper()
	day, err := learners.PracticeDay(context.Background(), d.book, who, begun, d.now, 0, nil)
	if err != nil {
		d.t.Fatal(err)
	}
	return day
}

// next does the next drill of the plan, as the trainer begins it.
func (d *desk) next(who scoring.LearnerID, o observer.Observer, answers int) {
	d.t.Helper()
	day := d.day(who)
	i := day.Plan.Next()
	if i < 0 {
		d.t.Fatalf("nothing is left of the plan")
	}
	s := day.Plan.Drills[i]
	if s.Again() {
		d.sit(who, day.Mistakes.Setup, o, answers)
		return
	}
	d.sit(who, exercises.Setup{Kind: s.Kind, Count: s.Left(), Planned: true}.AtLevel(s.Level), o, answers)
}

func kinds(p exercises.DayPlan) string {
	var list []string
	for _, s := range p.Drills {
		list = append(list, learners.DrillTitle(s))
	}
	return strings.Join(list, ", ")
}

// A day ends, whoever practises; and the day after holds what was said of it.
func TestADayEndsAndTomorrowIsAsSaid(t *testing.T) {
	d := newDesk(t, "ada")
	said := ""
	for date := range 12 {
		d.now = start.AddDate(0, 0, date)
		day := d.day("ada")
		if got := kinds(day.Plan); said != "" && got != said {
			t.Errorf("day %d holds %s, and the day before said %s", date, got, said)
		}
		plan := kinds(day.Plan)
		n := 0
		for ; !d.day("ada").Plan.Done(); n++ {
			if n > 6 {
				t.Fatalf("day %d does not end: %+v", date, d.day("ada").Plan.Drills)
			}
			d.next("ada", observer.Observer{Noise: 0.8}, 0)
			if got := kinds(d.day("ada").Plan); got != plan {
				t.Errorf("day %d: the plan was %s and is %s", date, plan, got)
			}
		}
		day = d.day("ada")
		if m := day.Minutes; n < 2 || m < 3 || m > 16 {
			t.Errorf("day %d: %d drills in %.1f minutes", date, n, m)
		}
		if words := learners.DoneWords(day); !strings.HasPrefix(words, "Done for today: ") {
			t.Error(words)
		}
		said = kinds(day.Tomorrow)
	}
}

// Quitting in the middle loses nothing and changes nothing: the drill goes on with what
// is missing, the same day or not at all.
func TestPlanIsTakenUpWhereItWasLeft(t *testing.T) {
	d := newDesk(t, "ada")
	before := d.day("ada").Plan
	d.next("ada", sharp, 2)
	day := d.day("ada")
	if kinds(day.Plan) != kinds(before) || day.Plan.Next() != 0 || day.Plan.Drills[0].Given != 2 || day.Plan.Drills[0].Left() != before.Drills[0].Count-2 {
		t.Errorf("after two answers: %+v", day.Plan.Drills)
	}
	d.next("ada", sharp, 0)
	if day := d.day("ada"); day.Plan.Next() != 1 {
		t.Errorf("after the rest of it: %+v", day.Plan.Drills)
	}
}

// Two windows show the same plan; what one has done is done in the other.
func TestTwoWindowsHaveOnePlan(t *testing.T) {
	d := newDesk(t, "ada")
	one := d.day("ada").Plan
	d.next("ada", sharp, 0)
	two := d.day("ada").Plan
	if kinds(one) != kinds(two) || two.Next() != 1 {
		t.Errorf("%s and %+v", kinds(one), two.Drills)
	}
	// Both do the next one at the same time: it is done, once.
	s := two.Drills[1]
	setup := exercises.Setup{Kind: s.Kind, Count: s.Count, Planned: true}.AtLevel(s.Level)
	d.sit("ada", setup, sharp, 0)
	d.sit("ada", setup, sharp, 0)
	if three := d.day("ada").Plan; three.Next() != 2 {
		t.Errorf("%+v", three.Drills)
	}
}

// Midnight in the middle of a plan: the plan begun goes on to its end; a new start shows
// the new day.
func TestMidnightInAPlan(t *testing.T) {
	d := newDesk(t, "ada")
	d.now = time.Date(2024, 5, 20, 23, 58, 0, 0, time.UTC)
	begun := d.now
	plan := kinds(d.day("ada").Plan)
	for d.now.Day() == 20 {
		d.next("ada", sharp, 0)
	}
	for n := 0; !d.dayOf("ada", begun).Plan.Done(); n++ {
		day := d.dayOf("ada", begun)
		if kinds(day.Plan) != plan || n > 4 {
			t.Fatalf("the plan was %s and is %+v", plan, day.Plan.Drills)
		}
		s := day.Plan.Drills[day.Plan.Next()]
		d.sit("ada", exercises.Setup{Kind: s.Kind, Count: s.Left()}.AtLevel(s.Level), sharp, 0)
	}
	if fresh := d.day("ada"); fresh.Plan.Done() || fresh.Newcomer {
		t.Errorf("after midnight the new day is %+v", fresh.Plan.Drills)
	}
}

// A clock that is set back: there is a plan, it can be done, and it ends.
func TestClockSetBack(t *testing.T) {
	d := newDesk(t, "ada")
	for range 3 {
		d.now = d.now.AddDate(0, 0, 1)
		for !d.day("ada").Plan.Done() {
			d.next("ada", sharp, 0)
		}
	}
	d.now = start.AddDate(0, 0, -20)
	for n := 0; !d.day("ada").Plan.Done(); n++ {
		if n > 6 {
			t.Fatalf("it does not end: %+v", d.day("ada").Plan.Drills)
		}
		d.next("ada", sharp, 0)
	}
	for _, s := range d.day("ada").Tomorrow.Drills {
		if strings.Contains(s.Reason, "-") {
			t.Errorf("%s", s.Reason)
		}
	}
}

// What another person did in the same book changes nothing.
func TestPlanIsOnesOwn(t *testing.T) {
	d := newDesk(t, "ada", "bob")
	empty := d.day("ada")
	if !empty.Newcomer || kinds(empty.Plan) != "Value first, Halfway, Line-up" {
		t.Errorf("an empty book gives %+v", empty.Plan.Drills)
	}
	d.sit("bob", exercises.Setup{Kind: exercises.ValueFirst, Count: 20, Minutes: 20}, observer.Observer{Noise: 3}, 0)
	if day := d.day("ada"); kinds(day.Plan) != kinds(empty.Plan) || day.Answers != 0 || day.Mistakes.Due+day.Mistakes.Later != 0 {
		t.Errorf("%+v", day)
	}
	if day := d.day("nobody"); !day.Newcomer || day.Plan.Done() {
		t.Errorf("somebody whom the book does not know: %+v", day)
	}
	d.now = d.now.AddDate(0, 0, 1)
	if n := len(d.day("bob").Plan.Drills); n < 4 {
		t.Errorf("who has set twenty minutes gets %d drills", n)
	}
}

// Mistakes come back after a day, longer and longer pauses where they go right, at once
// where they go wrong; those of tests and assignments stay where they are.
func TestMistakesComeBack(t *testing.T) {
	d := newDesk(t, "ada")
	d.sit("ada", exercises.Setup{Kind: exercises.Halfway, Count: 12}, observer.Observer{Noise: 2.5}, 0)
	missed := func() learners.Mistakes {
		m, err := learners.MistakesOf(context.Background(), d.book, "ada", d.now)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	if m := missed(); m.Due != 0 || m.Later < 4 || !strings.Contains(m.NoneWords(), "later") {
		t.Fatalf("on the day itself: %+v", m)
	}
	d.now = d.now.AddDate(0, 0, 1)
	first := missed()
	if first.Due < 4 || len(first.Setup.Again) != min(first.Due, 8) || first.Setup.Kind != exercises.Halfway {
		t.Fatalf("a day later: %+v", first)
	}
	d.sit("ada", first.Setup, sharp, 0) // all right
	asked := len(first.Setup.Again)
	if m := missed(); m.Due != first.Due-asked {
		t.Errorf("asked again, and still due: %d of %d", m.Due, first.Due)
	}
	d.now = d.now.AddDate(0, 0, 2)
	if m := missed(); m.Due != first.Due-asked {
		t.Errorf("two days after they went right %d are due", m.Due)
	}
	d.now = d.now.AddDate(0, 0, 1)
	if m := missed(); m.Due != first.Due {
		t.Errorf("three days after they went right %d are due, of %d", m.Due, first.Due)
	}
	// Never more than there are, however often they go right.
	for range 4 {
		d.now = d.now.AddDate(0, 0, 7)
		if m := missed(); m.Due > 0 {
			d.sit("ada", m.Setup, sharp, 0)
		}
	}
	if m := missed(); m.Due+m.Later != 0 || m.NoneWords() != "Nothing that you missed in the last 28 days is left to ask again." {
		t.Errorf("in the end: %+v", m)
	}
}

// Mistakes asked again are chosen for having been missed: they stand in no table of
// errors, and find no level.
func TestMistakesAskedAgainCountNowhere(t *testing.T) {
	d := newDesk(t, "ada")
	d.sit("ada", exercises.Setup{Kind: exercises.ValueFirst, Count: 12}, observer.Observer{Noise: 2}, 0)
	d.now = d.now.AddDate(0, 0, 1)
	biases := func() *report.Table {
		r, err := learners.Progress(context.Background(), d.book, scoring.Learner{ID: "ada", Name: "ada"}, record.Filter{}, d.now, false)
		if err != nil {
			t.Fatal(err)
		}
		return reporttest.Section(t, r, "bias")
	}
	before, level := biases().Rows, d.day("ada").Tomorrow.Drills
	m := d.day("ada").Mistakes
	d.sit("ada", m.Setup, observer.Observer{Noise: 4}, 0)
	if diff := cmp.Diff(before, biases().Rows, cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("the table of biases changed: %s", diff)
	}
	for i, s := range d.day("ada").Tomorrow.Drills {
		if i < len(level) && s.Kind == level[i].Kind && s.Level != level[i].Level {
			t.Errorf("%s was planned at level %d, and is at %d", s.Kind, level[i].Level, s.Level)
		}
	}
}

func TestPlanAsText(t *testing.T) {
	d := newDesk(t, "ada")
	d.sit("ada", exercises.Setup{Kind: exercises.ValueFirst, Count: 20}, observer.Observer{Noise: 2}, 0)
	d.now = d.now.AddDate(0, 0, 1)
	var b bytes.Buffer
	if err := report.Write(&b, learners.Plan("Ada", d.day("ada")), report.FormatText, report.Layout{Width: 120}); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(b.String()), " ")
	for _, want := range []string{"Today's practice of Ada", "Value first", "your mistakes", "new", "Tomorrow, about", "half-life regression", "Right, for levels"} {
		if !strings.Contains(text, want) {
			t.Errorf("the plan does not say %q:\n%s", want, b.String())
		}
	}
}
