package record_test

import (
	"encoding/hex"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// A link once written must be computed the same by every later program. The numbers
// below were computed apart from this program, from the description in encode.go
// (testdata/chain.py).
func TestLinksNeverChange(t *testing.T) {
	at := time.UnixMilli(1900000000123).UTC()
	s := scoring.Sitting{ID: "S1", Learner: "L1", Started: at, Within: "exam:A:1",
		Setup: exercises.Setup{Kind: "value-first", Version: 1, Seed: 7, Count: 20, Options: map[string]string{"b": "2", "a": ""},
			Viewing: exercises.Viewing{Limit: 7 * time.Second, Gap: 1, Surround: colour.SRGB{R: 64, G: 64, B: 64}}},
		Origin: scoring.Origin{Road: scoring.RoadHere, Book: "B1"}}
	half := 0.5
	a := scoring.Attempt{Sitting: "S1", Learner: "L1", At: at.Add(time.Second),
		Trial:  exercises.Trial{Kind: "value-first", Version: 1, Ordinal: 0, Target: colour.SRGB{}, Level: 1.25, Patches: []exercises.Patch{{Role: "x", Colour: colour.SRGB{R: 1, G: 2, B: 3}}}},
		Answer: exercises.Answer{Colour: &colour.SRGB{R: 200}, Tab: "L78 C16 h86", Number: &half, Directions: &exercises.Directions{Value: -1, Hue: 1}, Order: []int{2, 0, 1}, Total: 2 * time.Second}}
	start := record.StartLink(s)
	answer := start.Next(a)
	end := answer.EndLink(at.Add(time.Minute), true)
	for i, l := range []record.Link{start, answer, end} {
		want := []string{"055dc919172c02c30deb0fdeebd134cb", "1dd98e65b77cb9a425a2652ae23a48be", "3e4cec1d759c4c87e410db7f6022e46d"}[i]
		if got := hex.EncodeToString(l[:]); got != want {
			t.Errorf("link %d is %s, want %s", i, got, want)
		}
	}
}

// Whatever field of a sitting or an answer is changed, the link changes, also one
// that a later program adds.
func TestEveryFieldIsInTheLink(t *testing.T) {
	leaves := 0
	change := func(what string, root reflect.Value, linkOf func() record.Link, skip ...string) {
		var walk func(v reflect.Value, path string)
		walk = func(v reflect.Value, path string) {
			for _, s := range skip {
				if path == s {
					return
				}
			}
			if at, ok := v.Interface().(time.Time); ok {
				v.Set(reflect.ValueOf(at.Add(time.Millisecond)))
			} else {
				switch v.Kind() {
				case reflect.Struct:
					for i := range v.NumField() {
						if f := v.Type().Field(i); f.IsExported() && f.Tag.Get("json") != "-" {
							walk(v.Field(i), path+"."+f.Name)
						}
					}
					return
				case reflect.Pointer:
					walk(v.Elem(), path)
					before, old := linkOf(), reflect.ValueOf(v.Interface())
					v.SetZero()
					if linkOf() == before {
						t.Errorf("%s%s absent or there: the same link", what, path)
					}
					v.Set(old)
					return
				case reflect.Slice:
					walk(v.Index(0), path+"[0]")
					before := linkOf()
					v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
					if linkOf() == before {
						t.Errorf("%s%s longer by an empty one: the same link", what, path)
					}
					return
				}
			}
			before := linkOf()
			switch v.Kind() {
			case reflect.String:
				v.SetString(v.String() + "x")
			case reflect.Bool:
				v.SetBool(!v.Bool())
			case reflect.Int, reflect.Int64:
				v.SetInt(v.Int() + 1)
			case reflect.Uint8, reflect.Uint64:
				v.SetUint(v.Uint() ^ 1)
			case reflect.Float64:
				v.SetFloat(v.Float() + 1e-9)
			case reflect.Map:
				v.SetMapIndex(reflect.ValueOf("new"), reflect.ValueOf("")) // even with nothing in it
			case reflect.Struct: // a time, changed above; its link before is not known any more
				leaves++
				return
			default:
				t.Fatalf("%s%s: a %s, which this test cannot change", what, path, v.Kind())
			}
			leaves++
			if linkOf() == before {
				t.Errorf("%s%s: the link does not change with it", what, path)
			}
		}
		walk(root, "")
	}
	for i := range 20 {
		rng := rand.New(rand.NewPCG(uint64(i), 3))
		s := recordtest.RandomSitting("L1", "S1", rng)
		s.Setup.Options = map[string]string{"a": "b"}
		s.Setup.Experience = []exercises.Outcome{{}}
		s.Setup.Again = []exercises.Trial{{Patches: []exercises.Patch{{Role: "x"}}}}
		change("sitting", reflect.ValueOf(&s).Elem(), func() record.Link { return record.StartLink(s) }, ".Ended", ".Left")
		a := recordtest.RandomAttempt(s, 3, rng)
		a.Trial.Patches, a.Answer.Order = []exercises.Patch{{Role: "x"}}, []int{1}
		a.Answer.Colour, a.Answer.Number, a.Answer.Directions = new(colour.SRGB), new(float64), new(exercises.Directions)
		change("answer", reflect.ValueOf(&a).Elem(), func() record.Link { return record.Link{}.Next(a) }, ".Sitting", ".Learner")
	}
	if leaves < 20*60 {
		t.Errorf("only %d fields were changed", leaves)
	}
	// Times, which the walk above changes but cannot compare.
	s := scoring.Sitting{ID: "S"}
	one := record.StartLink(s)
	s.Started = recordtest.Noon
	two := record.StartLink(s)
	s.Display.At = recordtest.Noon
	three := record.StartLink(s)
	s.Origin.At = recordtest.Noon
	if four := record.StartLink(s); one == two || two == three || three == four {
		t.Error("a time changes no link")
	}
	if (record.Link{}).Next(scoring.Attempt{At: recordtest.Noon}) == (record.Link{}).Next(scoring.Attempt{At: recordtest.Noon.Add(time.Millisecond)}) {
		t.Error("the time of an answer changes no link")
	}
	if one.EndLink(recordtest.Noon, true) == one.EndLink(recordtest.Noon, false) || one.EndLink(recordtest.Noon, true) == one.EndLink(recordtest.Noon.Add(time.Millisecond), true) {
		t.Error("the end changes no link")
	}
}

// A changed, missing or added answer is named, and so is another setup or end.
func TestWhatWasChangedIsNamed(t *testing.T) {
	s := scoring.Sitting{ID: "S1", Learner: "L1", Started: recordtest.Noon, Setup: exercises.Setup{Kind: exercises.ValueFirst, Count: 9}, Ended: recordtest.Noon.Add(time.Hour)}
	var given []scoring.Attempt
	for i := range 9 {
		given = append(given, recordtest.Plain(s, i))
	}
	chain := record.ChainOf(s, given)
	for _, c := range []struct {
		name   string
		change func(*scoring.Sitting, *[]scoring.Attempt, *record.Chain)
		says   string
	}{
		{"nothing", func(*scoring.Sitting, *[]scoring.Attempt, *record.Chain) {}, ""},
		{"an answer", func(_ *scoring.Sitting, a *[]scoring.Attempt, _ *record.Chain) { (*a)[3].Answer.Tab = "L70 C16 h86" }, "answer 4 is not as it was given"},
		{"answers swapped", func(_ *scoring.Sitting, a *[]scoring.Attempt, _ *record.Chain) {
			(*a)[3].Answer, (*a)[4].Answer = (*a)[4].Answer, (*a)[3].Answer
			(*a)[3].Answer.Looks = 2
		}, "answer 4 is not as it was given"},
		{"one taken out", func(_ *scoring.Sitting, a *[]scoring.Attempt, c *record.Chain) {
			*a = append((*a)[:3:3], (*a)[4:]...)
			c.Answers = append(c.Answers[:3:3], c.Answers[4:]...)
		}, "answer 5 is not as it was given, or one was taken out or put in before it; 1 answer is missing"},
		{"the last taken out", func(_ *scoring.Sitting, a *[]scoring.Attempt, c *record.Chain) {
			*a, c.Answers = (*a)[:8], c.Answers[:8]
		}, "1 answer is missing"},
		{"the last taken out, and counted down", func(_ *scoring.Sitting, a *[]scoring.Attempt, c *record.Chain) {
			*a, c.Answers, c.Count = (*a)[:8], c.Answers[:8], 8
		}, "the last answer is not the last that was given"},
		{"all taken out", func(_ *scoring.Sitting, a *[]scoring.Attempt, c *record.Chain) { *a, c.Answers = nil, nil }, "9 answers are missing"},
		{"one added", func(s *scoring.Sitting, a *[]scoring.Attempt, c *record.Chain) {
			*a = append(*a, recordtest.Plain(*s, 9))
			c.Answers = append(c.Answers[:9:9], record.Linked{Ordinal: 9})
		}, "answer 10 was added without the program; 1 answer more"},
		{"the seed", func(s *scoring.Sitting, _ *[]scoring.Attempt, _ *record.Chain) { s.Setup.Seed++ }, "its setup, person, time or origin"},
		{"the person", func(s *scoring.Sitting, _ *[]scoring.Attempt, _ *record.Chain) { s.Learner = "L2" }, "its setup, person, time or origin"},
		{"the origin", func(s *scoring.Sitting, _ *[]scoring.Attempt, _ *record.Chain) { s.Origin.Road = scoring.RoadServer }, "its setup, person, time or origin"},
		{"the end", func(s *scoring.Sitting, _ *[]scoring.Attempt, _ *record.Chain) { s.Ended = s.Ended.Add(-time.Minute) }, "its end was changed"},
		{"left early", func(s *scoring.Sitting, _ *[]scoring.Attempt, _ *record.Chain) { s.Left = true }, "its end was changed"},
		{"taken up again", func(s *scoring.Sitting, _ *[]scoring.Attempt, _ *record.Chain) { s.Ended = time.Time{} }, "whether it has ended was changed"},
		{"no chain", func(_ *scoring.Sitting, _ *[]scoring.Attempt, c *record.Chain) { *c = record.Chain{} }, "it has no chain"},
		{"saved with losses", func(_ *scoring.Sitting, _ *[]scoring.Attempt, c *record.Chain) { c.Lost = true }, "not all of its answers could be saved"},
	} {
		s, a, chain := s, append([]scoring.Attempt(nil), given...), chain
		c.change(&s, &a, &chain)
		got := strings.Join(record.VerifyChain(s, a, chain), "; ")
		if c.says == "" && got != "" || !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", c.name, got, c.says)
		}
	}
}
