package recordtest

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Odd is a book of odd contents: short evenings, broken clocks, people who do not look,
// libraries of one tab. Every report has to say something sensible of it.
type Odd struct {
	Name string
	fill func(*OddBook)
}

// OddBook is such a book with its one class. Now is a moment after all that is in it.
type OddBook struct {
	record.Store
	Class scoring.Class
	Now   time.Time

	t    testing.TB
	rng  *rand.Rand
	step time.Duration // what an answer takes by the clock
}

// Fill makes the book; a seed decides what chance decides.
func (o Odd) Fill(t testing.TB, seed uint64) *OddBook {
	t.Helper()
	b := &OddBook{Store: record.NewMemory(), Now: Noon, t: t, rng: rand.New(rand.NewPCG(seed, 9)), step: 7 * time.Second}
	b.Class = Class(t, b, "Odd class")
	o.fill(b)
	return b
}

// People are those on the roster.
func (b *OddBook) People() []scoring.Learner {
	b.t.Helper()
	list, err := b.Roster(ctx, b.Class.ID)
	must(b.t, err)
	return list
}

// person enters somebody and enrols them.
func (b *OddBook) person(name, number string) scoring.Learner {
	b.t.Helper()
	who, err := b.AddLearner(ctx, scoring.Learner{Name: name, Number: number, At: b.Now})
	must(b.t, err)
	must(b.t, b.Enrol(ctx, b.Class.ID, who.ID, b.Now))
	return who
}

func (b *OddBook) people(n int) (list []scoring.Learner) {
	for i := range n {
		list = append(list, b.person(fmt.Sprintf("Person %02d", i+1), ""))
	}
	return list
}

// hand answers a trial.
type hand func(exercises.Kind, exercises.Trial, exercises.Setup, *rand.Rand) exercises.Answer

func sees(o observer.Observer) hand {
	return func(k exercises.Kind, t exercises.Trial, s exercises.Setup, rng *rand.Rand) exercises.Answer {
		a := k.Simulate(t, s, o, rng)
		if a.Total == 0 {
			a.Total = time.Duration(2+rng.IntN(5)) * time.Second
		}
		return a
	}
}

// stubborn gives the first answer again and again.
func stubborn() hand {
	var first *exercises.Answer
	return func(k exercises.Kind, t exercises.Trial, s exercises.Setup, rng *rand.Rand) exercises.Answer {
		if first == nil {
			a := k.Simulate(t, s, observer.Observer{Noise: 1}, rng)
			first = &a
		}
		return *first
	}
}

// late answers after the look has ended, each time.
func late(k exercises.Kind, t exercises.Trial, s exercises.Setup, rng *rand.Rand) exercises.Answer {
	a := k.Simulate(t, s, observer.Observer{Noise: 1}, rng)
	a.TimedOut, a.Looks, a.Total, a.First = true, 0, 0, 0
	return a
}

// wrong is as far off as an answer can be; what is a word is another one.
func wrong(k exercises.Kind, t exercises.Trial, s exercises.Setup, rng *rand.Rand) exercises.Answer {
	a := k.Simulate(t, s, observer.Observer{BiasL: 40, BiasC: 40, BiasH: 40, FalseAlarm: 1, SeenAt: 90}, rng)
	if a.Choice != "" && a.Choice == t.Key {
		a.Choice = map[string]string{exercises.Left: exercises.Right, exercises.Right: exercises.Left, exercises.Same: exercises.Differ, exercises.Differ: exercises.Same,
			exercises.Leave: exercises.Change, exercises.Change: exercises.Leave}[a.Choice]
	}
	return a
}

func says(word string) hand {
	return func(exercises.Kind, exercises.Trial, exercises.Setup, *rand.Rand) exercises.Answer {
		return exercises.Answer{Choice: word, Total: time.Second, Looks: 1}
	}
}

// sit lets somebody give up to n answers of a drill and ends it; what no library of this
// kind can be asked is left out.
func (b *OddBook) sit(who scoring.Learner, setup exercises.Setup, n int, how hand) {
	b.t.Helper()
	if setup.Seed == 0 {
		setup.Seed = b.rng.Uint64()>>1 + 1
	}
	if _, err := exercises.NewRun(setup); err != nil {
		return
	}
	b.Now = b.Now.Add(b.step)
	d, err := record.Begin(ctx, b, scoring.Sitting{Learner: who.ID, Setup: setup}, b.clock)
	must(b.t, err)
	b.give(d, n, how)
}

func (b *OddBook) clock() time.Time { return b.Now }

func (b *OddBook) give(d *record.Drill, n int, how hand) {
	b.t.Helper()
	setup := d.Sitting().Setup
	kind, err := exercises.ByID(setup.Kind)
	must(b.t, err)
	for range n {
		trial, ok := d.Trial()
		if !ok {
			break
		}
		b.Now = b.Now.Add(b.step)
		_, _, err := d.Answer(ctx, how(kind, trial, setup, b.rng))
		must(b.t, err)
	}
	_, left := d.Trial()
	must(b.t, d.End(ctx, left))
}

// take lets somebody take a set, up to n answers of each part.
func (b *OddBook) take(who scoring.Learner, set scoring.Set, n int, how hand) {
	b.t.Helper()
	for range set.Parts {
		d, err := record.Take(ctx, b, set, who, scoring.DisplayCheck{}, b.clock)
		must(b.t, err)
		b.give(d, n, how)
	}
}

// setup is a drill of an exercise as it is usually asked.
func setup(kind exercises.KindID, sheet *tabs.Sheet, count int) exercises.Setup {
	traits := exercises.TraitsOf(kind)
	s := exercises.Setup{Kind: kind, Count: count, Sheet: sheet, Task: traits.Task, Targets: exercises.NaturalTargets, Viewing: exercises.DefaultViewing()}
	if kind == exercises.LineUp { // takes long to draw
		s.Count = min(count, 2)
	}
	if traits.ByHand {
		s.Count, s.Options = 1, map[string]string{exercises.OptionPairs: "4"}
	}
	return s
}

// all sits every exercise.
func (b *OddBook) all(who scoring.Learner, sheet *tabs.Sheet, n int, how func() hand) {
	b.t.Helper()
	for _, k := range exercises.Kinds() {
		b.sit(who, setup(k.ID(), sheet, max(n, 6)), n, how())
	}
}

func always(h hand) func() hand { return func() hand { return h } }

// panel lays a session down.
func (b *OddBook) panel(name string, kind exercises.KindID, sheet *tabs.Sheet, items, repeats int) scoring.Set {
	b.t.Helper()
	k, err := exercises.ByID(kind)
	must(b.t, err)
	s := setup(kind, sheet, items)
	s.Version, s.Seed, s.Repeats, s.Silent = k.Version(), 5, repeats, true
	must(b.t, b.PutSheet(ctx, sheet))
	p, err := b.AddPanel(ctx, record.Panel{Name: name, At: b.Now, Setup: s})
	must(b.t, err)
	return p.Set()
}

// assign gives the class a drill.
func (b *OddBook) assign(s exercises.Setup, rule scoring.PassRule, value float64) scoring.Set {
	b.t.Helper()
	k, err := exercises.ByID(s.Kind)
	must(b.t, err)
	if s.Version, s.Seed = k.Version(), 7; s.Sheet != nil {
		must(b.t, b.PutSheet(ctx, s.Sheet))
	}
	a, err := b.AddAssignment(ctx, scoring.Assignment{Class: b.Class.ID, At: b.Now, Due: b.Now.Add(time.Hour), Pass: scoring.PassMark{Rule: rule, Value: value}, Setup: s})
	must(b.t, err)
	return a.Set()
}

func (b *OddBook) form(name string, seed byte, items int, sheet *tabs.Sheet, kinds ...exercises.KindID) scoring.Set {
	b.t.Helper()
	f := Form(b.t, name, seed, items, sheet, kinds...)
	f.Class = b.Class.ID
	f, err := record.LayDown(ctx, b, f)
	must(b.t, err)
	return f.Set()
}

// library is a sheet of these colours, in one group where group has a name.
func (b *OddBook) library(name, group string, colours ...colour.Lab) *tabs.Sheet {
	b.t.Helper()
	var list []tabs.Tab
	for i, c := range colours {
		list = append(list, tabs.Tab{Name: fmt.Sprintf("tab %d", i+1), Lab: c})
	}
	groups := []tabs.Group{{Name: group, Tabs: list}}
	if group == "" {
		groups = tabs.GroupByValue(list)
	}
	l, err := tabs.New(name, "made up", groups)
	must(b.t, err)
	return tabs.NewSheet(l, nil)
}

func (b *OddBook) builtin(name string) *tabs.Sheet {
	b.t.Helper()
	l, err := tabs.Load(name)
	must(b.t, err)
	return tabs.NewSheet(l, nil)
}
