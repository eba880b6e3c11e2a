package recordtest

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

var tooth = colour.Lab{L: 75, A: 2, B: 20}

// OddBooks are the odd books that reports are tried on, with sessions of these exercises.
func OddBooks(sessions ...exercises.KindID) []Odd {
	list := []Odd{
		{"nobody", func(*OddBook) {}},
		{"a person without answers", func(b *OddBook) { b.person("Person 01", "") }},
		{"one answer", func(b *OddBook) {
			b.sit(b.person("Person 01", ""), setup(exercises.ValueFirst, b.builtin("natural"), 20), 1, sees(observer.Observer{Noise: 1}))
		}},
		{"one answer of each exercise", func(b *OddBook) {
			b.all(b.person("Person 01", ""), b.builtin("natural"), 1, always(sees(observer.Observer{Noise: 1})))
			b.person("Person 02", "")
		}},
		{"the same answer again and again", func(b *OddBook) { b.all(b.person("Person 01", ""), b.builtin("starter"), 12, stubborn) }},
		{"time ran out each time", func(b *OddBook) { b.all(b.person("Person 01", ""), b.builtin("starter"), 8, always(late)) }},
		{"all right", func(b *OddBook) {
			b.all(b.person("Person 01", ""), b.builtin("natural"), 12, always(sees(observer.Observer{})))
		}},
		{"all wrong", func(b *OddBook) { b.all(b.person("Person 01", ""), b.builtin("natural"), 12, always(wrong)) }},
		{"all at one instant", func(b *OddBook) {
			b.step = 0
			b.sittings(b.person("Person 01", ""), 3, 8, sees(observer.Observer{Noise: 1}))
		}},
		{"far in the future", func(b *OddBook) {
			b.Now = time.Date(9998, 12, 30, 12, 0, 0, 0, time.UTC)
			b.sittings(b.person("Person 01", ""), 6, 6, sees(observer.Observer{Noise: 1}))
			b.Now = Noon
		}},
		{"from 1970", func(b *OddBook) {
			b.Now = time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC)
			b.sittings(b.person("Person 01", ""), 6, 6, sees(observer.Observer{Noise: 1}))
			b.Now = Noon
		}},
		{"the clock goes back", func(b *OddBook) {
			who := b.person("Person 01", "")
			b.sittings(who, 1, 6, sees(observer.Observer{Noise: 1}))
			b.step = -time.Hour
			b.sittings(who, 2, 6, sees(observer.Observer{Noise: 1}))
			s := Begin(b.t, b, who, 0)
			for i := range 5 {
				a := Plain(s, i)
				a.At = s.Started.Add(-time.Duration(i) * time.Hour)
				must(b.t, b.Append(ctx, a))
			}
		}},
		{"two of one name", func(b *OddBook) {
			for _, number := range []string{"11", "12"} {
				b.sittings(b.person("Ada Finch", number), 2, 8, sees(observer.Observer{Noise: 1}))
			}
			b.session(exercises.ValueFirst, 4, 2, b.People(), sees(observer.Observer{Noise: 1}))
		}},
		{"a library of one tab", func(b *OddBook) { b.coarse(b.library("one", "", tooth)) }},
		{"a library of two tabs of one colour", func(b *OddBook) { b.coarse(b.library("twins", "", tooth, tooth)) }},
		{"a library of twins and another", func(b *OddBook) {
			b.coarse(b.library("twins", "", tooth, tooth, colour.Lab{L: 70, A: 3, B: 22}))
		}},
		{"a library of one group", func(b *OddBook) {
			b.coarse(b.library("group", "L75", colour.Lab{L: 77, A: 2, B: 20}, colour.Lab{L: 75, A: 2, B: 15}, colour.Lab{L: 75, A: 4, B: 24}, colour.Lab{L: 73, A: 1, B: 18}))
		}},
		{"a library without a tooth in it", func(b *OddBook) {
			b.coarse(b.library("far", "", colour.Lab{}, colour.Lab{L: 100}, colour.Lab{L: 40, A: 10, B: -50}))
		}},
		{"a test of which one item was answered", func(b *OddBook) {
			form := b.form("A", 3, 4, b.builtin("natural"), exercises.ValueFirst, exercises.TryIn)
			d, err := record.Take(ctx, b, form, b.person("Person 01", ""), scoring.DisplayCheck{}, b.clock)
			must(b.t, err)
			b.give(d, 1, sees(observer.Observer{}))
			b.take(b.person("Person 02", ""), form, 1, sees(observer.Observer{}))
			b.person("Person 03", "")
		}},
		{"tests all right and all wrong", func(b *OddBook) {
			sheet := b.builtin("natural")
			one, other := b.form("A", 3, 4, sheet, exercises.ValueFirst, exercises.TryIn, exercises.Whitening), b.form("B", 4, 4, sheet, exercises.Thirds)
			for i, how := range []hand{sees(observer.Observer{}), wrong, late, stubborn()} {
				who := b.person(fmt.Sprintf("Person %02d", i+1), "")
				b.take(who, one, 99, how)
				b.Now = b.Now.AddDate(0, 0, 3)
				b.take(who, other, 99, how)
			}
		}},
		{"a class of one mind", func(b *OddBook) {
			people := b.people(6)
			for sitting := range 6 {
				for _, who := range people {
					s := setup(exercises.ValueFirst, b.builtin("natural"), 8)
					s.Seed = uint64(sitting) + 1
					b.rng = rand.New(rand.NewPCG(1, uint64(sitting)))
					b.sit(who, s, 8, sees(observer.Observer{Noise: 1}))
				}
				b.Now = b.Now.AddDate(0, 0, 1)
			}
			given := b.assign(setup(exercises.TryIn, b.builtin("natural"), 4), scoring.PassShare, 1)
			for _, who := range people {
				b.rng = rand.New(rand.NewPCG(1, 1))
				b.take(who, given, 99, sees(observer.Observer{Noise: 1}))
			}
		}},
		{"a roster that changed", func(b *OddBook) {
			people := b.people(5)
			for _, who := range people {
				b.sittings(who, 2, 6, sees(observer.Observer{Noise: 1}))
			}
			given := b.assign(setup(exercises.ValueFirst, b.builtin("starter"), 4), scoring.PassMedian, 0.5)
			for _, who := range people {
				b.take(who, given, 99, sees(observer.Observer{Noise: 2}))
			}
			b.session(exercises.ValueFirst, 3, 1, people, sees(observer.Observer{Noise: 1}))
			b.Now = b.Now.AddDate(0, 0, 40)
			must(b.t, b.Unenrol(ctx, b.Class.ID, people[0].ID, b.Now))
			must(b.t, b.Unenrol(ctx, b.Class.ID, people[1].ID, b.Now))
			must(b.t, b.Enrol(ctx, b.Class.ID, people[1].ID, b.Now.Add(time.Hour)))
			must(b.t, b.EraseLearner(ctx, people[2].ID, b.Now))
			_, err := b.JoinLearners(ctx, people[3].ID, people[4].ID, b.Now)
			must(b.t, err)
			must(b.t, b.SetRole(ctx, people[1].ID, scoring.RoleInstructor, b.Now))
			b.sittings(b.person("Person 06", ""), 1, 6, sees(observer.Observer{Noise: 1}))
		}},
		{"thresholds of one word", func(b *OddBook) {
			for i, word := range []string{exercises.Same, exercises.Differ, exercises.Left, exercises.Right, exercises.Leave, exercises.Change, "perhaps"} {
				who := b.person(fmt.Sprintf("Person %02d", i+1), "")
				for _, task := range []string{exercises.TaskWhich, exercises.TaskDifferent, exercises.TaskAccept} {
					s := setup(exercises.Threshold, nil, 30)
					s.Task, s.Attribute = task, []string{"", "value", "hue"}[i%3]
					b.sit(who, s, []int{30, 1, 9}[i%3], says(word))
				}
			}
		}},
		{"options at their ends", func(b *OddBook) {
			who := b.person("Person 01", "")
			for _, k := range exercises.Kinds() {
				for _, o := range k.Traits().Options {
					for _, n := range []int{o.Least, o.Most} {
						s := setup(k.ID(), b.builtin("natural"), 1)
						s.Options = map[string]string{o.Name: strconv.Itoa(n)}
						b.sit(who, s, 2, sees(observer.Observer{Noise: 1}))
					}
				}
				for _, level := range []int{1, len(exercises.Levels(k.ID()))} {
					b.sit(who, setup(k.ID(), b.builtin("starter"), 3).AtLevel(level), 3, sees(observer.Observer{Noise: 1}))
				}
			}
		}},
		{"anything at all", func(b *OddBook) {
			kinds := exercises.Kinds()
			for i, who := range b.people(3) {
				for k, kind := range kinds {
					s := RandomSitting(who.ID, scoring.SittingID(fmt.Sprintf("anything-%d-%d", i, k)), b.rng)
					s.Setup.Kind, s.Within, s.Setup.Stream = kind.ID(), "", ""
					must(b.t, b.StartSitting(ctx, s))
					for n := range 4 {
						must(b.t, b.Append(ctx, RandomAttempt(s, n, b.rng)))
					}
				}
			}
			b.Now = time.Date(2033, 1, 1, 0, 0, 0, 0, time.UTC)
		}},
	}
	for _, kind := range sessions {
		list = append(list, oddSessions(kind)...)
	}
	return list
}

// sittings are some of value first.
func (b *OddBook) sittings(who scoring.Learner, n, answers int, how hand) {
	b.t.Helper()
	sheet := b.builtin("natural")
	for range n {
		b.sit(who, setup(exercises.ValueFirst, sheet, answers), answers, how)
	}
}

// coarse has two people do with a library whatever can be done with it.
func (b *OddBook) coarse(sheet *tabs.Sheet) {
	b.t.Helper()
	people := b.people(2)
	for i, who := range people {
		for _, k := range exercises.Kinds() {
			if k.Traits().MeasuresThreshold {
				continue
			}
			s := setup(k.ID(), sheet, 6)
			s.Targets = []exercises.Targets{exercises.NaturalTargets, exercises.TabTargets}[i]
			b.sit(who, s, 6, sees(observer.Observer{Noise: float64(i)}))
		}
	}
	if _, err := exercises.NewRun(setup(exercises.ValueFirst, sheet, 3)); err != nil {
		return
	}
	set := b.panel("Session", exercises.ValueFirst, sheet, 3, 2)
	for _, who := range people {
		b.take(who, set, 999, sees(observer.Observer{Noise: 2}))
	}
}

// session is one that all of them took.
func (b *OddBook) session(kind exercises.KindID, items, repeats int, people []scoring.Learner, how hand) {
	b.t.Helper()
	set := b.panel("Session "+string(kind), kind, b.builtin("natural"), items, repeats)
	for _, who := range people {
		b.take(who, set, 999, how)
	}
}

// oddSessions are calibration sessions of an exercise in which there is little to compare.
func oddSessions(kind exercises.KindID) []Odd {
	eye := sees(observer.Observer{Noise: 1})
	name := func(words string) string { return fmt.Sprintf("%s: a session %s", kind, words) }
	return []Odd{
		{name("that nobody took"), func(b *OddBook) { b.session(kind, 4, 2, nil, eye) }},
		{name("of one person"), func(b *OddBook) { b.session(kind, 4, 2, b.people(1), eye) }},
		{name("of one item"), func(b *OddBook) { b.session(kind, 1, 1, b.people(2), eye) }},
		{name("in which all agree on everything"), func(b *OddBook) { b.session(kind, 4, 2, b.people(3), sees(observer.Observer{})) }},
		{name("in which nobody agrees"), func(b *OddBook) {
			set := b.panel("Session", kind, b.builtin("natural"), 4, 2)
			for i, who := range b.people(4) {
				far := 12 * float64(i-1)
				b.take(who, set, 999, sees(observer.Observer{BiasL: far, BiasC: -far, BiasH: far, AcceptsTo: []float64{0.1, 9}[i%2], Noise: 6}))
			}
		}},
		{name("that all left after an answer"), func(b *OddBook) {
			set := b.panel("Session", kind, b.builtin("natural"), 4, 2)
			for _, who := range b.people(3) {
				b.take(who, set, 1, eye)
			}
		}},
	}
}
