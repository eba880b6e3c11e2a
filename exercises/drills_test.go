package exercises

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// What holds of every drill here, whatever it asks.
var drills = map[string]Setup{
	"lighting, lamps":   {Kind: Lighting, Count: 18},
	"lighting, which":   {Kind: Lighting, Task: TaskWhich, Count: 8},
	"lighting, tabs":    {Kind: Lighting, Targets: TabTargets, Count: 12},
	"whitening":         {Kind: Whitening, Count: 8},
	"whitening, tabs":   {Kind: Whitening, Count: 8, Task: methodHome, Targets: TabTargets},
	"bench":             {Kind: Bench, Count: 3},
	"thirds":            {Kind: Thirds, Count: 9},
	"thirds, three":     {Kind: Thirds, Count: 18, Options: map[string]string{OptionNeighbours: NeighboursBoth}},
	"thirds, tabs":      {Kind: Thirds, Count: 9, Targets: TabTargets},
	"thirds, lamp":      {Kind: Thirds, Count: 9, Viewing: Viewing{Light: "a"}},
	"line-up":           {Kind: LineUp, Count: 6},
	"line-up, hue":      {Kind: LineUp, Count: 3, Attribute: "hue", Options: map[string]string{OptionPatches: "9"}},
	"line-up, tabs":     {Kind: LineUp, Count: 4, Targets: TabTargets},
	"line-up, lamp":     {Kind: LineUp, Count: 4, Viewing: Viewing{Light: "f11"}},
	"halfway":           {Kind: Halfway, Count: 9},
	"halfway, hue":      {Kind: Halfway, Count: 6, Attribute: AttributeHue, Viewing: Viewing{Light: "f11"}},
	"halfway, tabs":     {Kind: Halfway, Count: 9, Targets: TabTargets},
	"value first":       {Kind: ValueFirst, Count: 10},
	"whitening, lamp":   {Kind: Whitening, Count: 8, Viewing: Viewing{Light: "a"}},
	"combination":       {Kind: Combination, Count: 8},
	"combination, tabs": {Kind: Combination, Count: 8, Targets: TabTargets},
	"combination, lamp": {Kind: Combination, Count: 8, Viewing: Viewing{Light: "a"}},
	"halfway, wide":     {Kind: Halfway, Count: 6, Level: 2, Spread: 2.4},
	"line-up, wide":     {Kind: LineUp, Count: 3, Level: 1, Spread: 2.6, Options: map[string]string{OptionPatches: "5"}},
	"combination, wide": {Kind: Combination, Count: 6, Level: 2, Spread: 2.2},
	"try-in, wide":      {Kind: TryIn, Count: 12, Level: 1, Spread: 3.2},
	"try-in":            {Kind: TryIn, Count: 13},
	"try-in, tabs":      {Kind: TryIn, Count: 13, Targets: TabTargets},
	"try-in, lamp":      {Kind: TryIn, Count: 6, Viewing: Viewing{Light: "f2"}},
}

func TestDrillsGiveTheSameTrialsForTheSameSeed(t *testing.T) {
	for name, s := range drills {
		s.Seed, s.Sheet = 3, sheetOf(t, "natural")
		one, _ := play(t, s, observer.Observer{}, 1)
		again, _ := play(t, s, observer.Observer{Noise: 2, Lapse: 0.5}, 2)
		if diff := cmp.Diff(one, again); diff != "" {
			t.Errorf("%s: the same seed gave other trials:\n%s", name, diff)
		}
		s.Seed = 4
		if other, _ := play(t, s, observer.Observer{}, 1); cmp.Equal(one, other) {
			t.Errorf("%s: another seed gave the same trials", name)
		}
		for i, tr := range one {
			if tr.Ordinal != i || tr.Kind != s.Kind || tr.Version == 0 {
				t.Errorf("%s: trial %d is numbered %d, of kind %q, version %d", name, i, tr.Ordinal, tr.Kind, tr.Version)
			}
		}
	}
}

// A drill broken off after any answer goes on as it would have gone, whatever
// the answers were.
func TestDrillsGoOnAfterAnInterruption(t *testing.T) {
	for name, s := range drills {
		s.Seed, s.Sheet = 5, sheetOf(t, "natural")
		trials, answers := play(t, s, observer.Observer{Noise: 1}, 1)
		for broken := range trials {
			run, err := NewRun(s)
			if err != nil {
				t.Fatal(err)
			}
			for i := range broken {
				if i%2 == 0 {
					run.Take(trials[i], answers[i])
				} else {
					run.Take(trials[i], Answer{})
				}
			}
			if next, ok := run.Next(); !ok || !cmp.Equal(next, trials[broken]) {
				t.Fatalf("%s: after %d answers another trial came: %v\n%s", name, broken, ok, cmp.Diff(trials[broken], next))
			}
		}
	}
}

// What does not depend on the answers is the same for who answers nothing: so a set's
// trials are drawn once for all who took it.
func TestTrialsOfSetsDoNotDependOnAnswers(t *testing.T) {
	for name, s := range drills {
		if TraitsOf(s.Kind).AnswerDriven || s.Adaptive {
			continue
		}
		s.Seed, s.Sheet = 5, sheetOf(t, "natural")
		asked, _ := play(t, s, observer.Observer{Noise: 1}, 1)
		run, err := NewRun(s)
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range asked {
			got, more := run.Next()
			if !more || !cmp.Equal(got, want) {
				t.Fatalf("%s: trial %d is another without answers: %v\n%s", name, i+1, more, cmp.Diff(want, got))
			}
			run.Take(got, Answer{})
		}
	}
}

// Shared items show each scene as often as asked.
func TestDrillsCanBeShared(t *testing.T) {
	for name, s := range drills {
		s.Seed, s.Sheet = 6, sheetOf(t, "natural")
		once, _ := play(t, s, observer.Observer{}, 1)
		s.Repeats, s.OrderSeed = 2, 9
		twice, _ := play(t, s, observer.Observer{}, 1)
		items := map[string]int{}
		for _, tr := range twice {
			items[tr.Item+" "+tr.Part]++
		}
		if len(twice) != 2*len(once) || len(items) != len(once) {
			t.Errorf("%s: %d trials and %d items from %d", name, len(twice), len(items), len(once))
		}
		for item, n := range items {
			if n != 2 {
				t.Errorf("%s: item %s came %d times", name, item, n)
			}
		}
	}
}

// crowd is a library of n tabs within the colours of teeth.
func crowd(t testing.TB, n int) *tabs.Sheet {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, 9))
	var list []tabs.Tab
	for i := range n {
		list = append(list, tabs.Tab{Name: fmt.Sprintf("tab %05d", i), Lab: tabs.Teeth.Sample(rng)})
	}
	l, err := tabs.New("crowd", "", tabs.GroupByValue(list))
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// libraries are the usual ones and those that ask for trouble.
func libraries(t testing.TB) map[string]*tabs.Sheet {
	tooth := colour.Lab{L: 75, A: 2, B: 20}
	many := 2000
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		many = 10000
	}
	return map[string]*tabs.Sheet{
		"natural":       sheetOf(t, "natural"),
		"starter":       sheetOf(t, "starter"),
		"none":          nil,
		"one tab":       library(t, tooth),
		"two the same":  library(t, tooth, tooth),
		"two":           library(t, tooth, colour.Lab{L: 65, A: 4, B: 25}),
		"thousands":     crowd(t, many),
		"out of gamut":  library(t, colour.Lab{L: 60, A: 120, B: -80}, colour.Lab{L: 90, A: -120, B: 100}),
		"blue":          library(t, colour.Lab{L: 40, A: 10, B: -50}, colour.Lab{L: 60, A: 5, B: -40}),
		"black & white": library(t, colour.Lab{}, colour.Lab{L: 100}),
	}
}

// Every library works or is refused in words, with a hint.
func TestDrillsTakeAnyLibrary(t *testing.T) {
	sheets := libraries(t)
	for name, s := range drills {
		for library, sheet := range sheets {
			s.Seed, s.Sheet = 7, sheet
			s.Count = min(s.Count, 6)
			run, err := NewRun(s)
			if err != nil {
				if hint, ok := err.(interface{ Hint() string }); !ok || hint.Hint() == "" || err.Error() == "" {
					t.Errorf("%s with %s: no hint with %v", name, library, err)
				}
				if library == "natural" || library == "starter" || library == "thousands" {
					t.Errorf("%s with %s: %v", name, library, err)
				}
				continue
			}
			trials, _ := play(t, s, observer.Observer{Noise: 1}, 1)
			if len(trials) != run.Planned() {
				t.Errorf("%s with %s: %d trials instead of %d", name, library, len(trials), run.Planned())
			}
		}
	}
}

// refused checks that each setup is refused with a hint.
func refused(t *testing.T, setups map[string]Setup) {
	t.Helper()
	for name, s := range setups {
		_, err := NewRun(s)
		if hint, ok := err.(interface{ Hint() string }); err == nil || !ok || hint.Hint() == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
}
