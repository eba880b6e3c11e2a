package scoring_test

import (
	"fmt"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// What stands in books of all forms is read, and written again as it stood.
func TestSetReferencesAreReadAsTheyStand(t *testing.T) {
	for text, want := range map[string]scoring.SetRef{
		"exam:A:1":                                  {Kind: scoring.TestSet, Name: "A", Take: 1},
		"exam:Spring-2:31":                          {Kind: scoring.TestSet, Name: "Spring-2", Take: 31},
		"panel:Spring team":                         {Kind: scoring.PanelSet, Name: "Spring team"},
		"panel:half past nine: the necks":           {Kind: scoring.PanelSet, Name: "half past nine: the necks"},
		"panel:exam:A:1":                            {Kind: scoring.PanelSet, Name: "exam:A:1"},
		"assignment:01JDQZ0000000000000000000B":     {Kind: scoring.AssignmentSet, Name: "01JDQZ0000000000000000000B"},
		"assignment:sim-0011223344556677-class-1-1": {Kind: scoring.AssignmentSet, Name: "sim-0011223344556677-class-1-1"},
	} {
		got, ok := scoring.ParseSetRef(text)
		if got != want || !ok || got.String() != text {
			t.Errorf("%q reads as %+v, %v and is written %q", text, got, ok, got.String())
		}
		if s := (scoring.Sitting{Within: text}); s.Set() != want || s.SetTitle() == "" {
			t.Errorf("a sitting within %q is of %+v, %q", text, s.Set(), s.SetTitle())
		}
	}
	for _, text := range []string{"", ":", "A", "exam", "exam:", "exam:A", "exam:A:", "exam:A:x", "exam:A:0", "exam:A:-1", "exam:A:01", "exam:A:+1", "exam:A:1x",
		"exam:A: 1", "exam::1", "exam:A:B:1", "exam:A:99999999999999999999", "panel:", "panel", "assignment:", "Panel:A", "lesson:A", " panel:A"} {
		if got, ok := scoring.ParseSetRef(text); ok || got != (scoring.SetRef{}) {
			t.Errorf("%q reads as %+v", text, got)
		}
		if s := (scoring.Sitting{Within: text}); s.SetTitle() != "" {
			t.Errorf("a sitting within %q is %q", text, s.SetTitle())
		}
	}
	if text := (scoring.SetRef{}).String(); text != "" {
		t.Errorf("no set is written %q", text)
	}
}

// changes are all that makes a question another, each alone.
var changes = map[string]func(*exercises.Setup){
	"exercise":  func(s *exercises.Setup) { s.Kind = exercises.LineUp },
	"version":   func(s *exercises.Setup) { s.Version++ },
	"seed":      func(s *exercises.Setup) { s.Seed++ },
	"count":     func(s *exercises.Setup) { s.Count++ },
	"targets":   func(s *exercises.Setup) { s.Targets = "others" },
	"attribute": func(s *exercises.Setup) { s.Attribute = exercises.AttributeHue },
	"task":      func(s *exercises.Setup) { s.Task = "another" },
	"option":    func(s *exercises.Setup) { s.Options = map[string]string{"method": "another"} },
	"adaptive":  func(s *exercises.Setup) { s.Adaptive = true },
	"silent":    func(s *exercises.Setup) { s.Silent = !s.Silent },
	"repeats":   func(s *exercises.Setup) { s.Repeats++ },
	"sheet":     func(s *exercises.Setup) { s.Sheet, s.SheetID = nil, "another" },
	"limit":     func(s *exercises.Setup) { s.Viewing.Limit += time.Second },
	"rest":      func(s *exercises.Setup) { s.Viewing.Rest += time.Second },
	"gap":       func(s *exercises.Setup) { s.Viewing.Gap++ },
	"surround":  func(s *exercises.Setup) { s.Viewing.Surround = colour.Grey(201) },
	"light":     func(s *exercises.Setup) { s.Viewing.Light = "incandescent" },
}

func TestAsksComparesEverythingThatMakesAQuestionAnother(t *testing.T) {
	sheet := natural(t)
	one := exercises.Setup{Kind: exercises.ValueFirst, Version: 1, Seed: 5, Count: 10, Targets: exercises.TabTargets, Viewing: exercises.DefaultViewing(),
		Silent: true, Sheet: sheet, SheetID: sheet.Fingerprint()}
	for what, change := range changes {
		other := one
		change(&other)
		if scoring.Asks(one, other) || scoring.Asks(other, one) {
			t.Errorf("another %s asks the same", what)
		}
	}
	stored := one // as a book gives it back
	stored.Sheet, stored.Options, stored.Experience = nil, map[string]string{}, []exercises.Outcome{{}}
	if !scoring.Asks(one, stored) || !scoring.Asks(stored, one) {
		t.Error("a stored setup asks something else")
	}
	first, second := one, one
	first.Options = map[string]string{scoring.OptionPart: "1 of 2"}
	if !scoring.Asks(one, first) {
		t.Error("what a test notes of its parts asks something else than a book of before")
	}
	second.Options = map[string]string{scoring.OptionPart: "1 of 3"}
	if scoring.Asks(first, second) {
		t.Error("the first part of three is the first part of two")
	}
	if first.Options[scoring.OptionPart] == "" {
		t.Error("comparing changes what is compared")
	}
	first.OrderSeed = 7
	if scoring.Asks(one, first) {
		t.Error("another order asks the same")
	}
}

// A sitting of a form bears no seed, which the form alone keeps, and asks what the form
// asks; two forms whose seeds are both told ask the same only with the same seed.
func TestASittingOfAFormNeedsNoSeed(t *testing.T) {
	form := exercises.Setup{Kind: exercises.ValueFirst, Count: 4, Seed: 5, Stream: exercises.TestStream}
	sitting, other := form, form
	sitting.Seed, other.Seed = 0, 7
	if !scoring.Asks(form, sitting) || !scoring.Asks(sitting, form) {
		t.Error("a sitting of the form does not ask what the form asks")
	}
	if scoring.Asks(form, other) {
		t.Error("two forms of different seeds ask the same")
	}
	practice := sitting
	practice.Stream = ""
	if scoring.Asks(form, practice) {
		t.Error("practice asks what a form asks")
	}
}

// In a set with orders of their own each person has another one, always the same.
func TestEachHasAnOrderOfTheirOwn(t *testing.T) {
	set := scoring.Set{Order: "weekly", Parts: []exercises.Setup{{Kind: exercises.ValueFirst, Count: 4, Seed: 5}, {Kind: exercises.ValueFirst, Count: 4, Seed: 6}}}
	seen := map[uint64]string{}
	for _, name := range []string{"weekly", "spring"} {
		set.Order = name
		for part := range set.Parts {
			for _, who := range []scoring.LearnerID{"ada", "bo"} {
				setup := set.SetupFor(part, who)
				is := fmt.Sprint(name, part, who)
				if before, taken := seen[setup.OrderSeed]; taken || setup.OrderSeed == 0 {
					t.Errorf("%s has the order of %q", is, before)
				}
				seen[setup.OrderSeed] = is
				if again := set.SetupFor(part, who); again.OrderSeed != setup.OrderSeed {
					t.Errorf("%s has another order the second time", is)
				}
				if n, ok := set.Part(setup); !ok || n != part {
					t.Errorf("%s is part %d of the set, %v", is, n, ok)
				}
			}
		}
	}
	set.Order = ""
	if setup := set.SetupFor(0, "ada"); setup.OrderSeed != 0 {
		t.Error("a set in one order for all has orders of their own")
	}
}
