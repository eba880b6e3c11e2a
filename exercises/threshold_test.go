package exercises

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/exercises/observer"
)

var thresholdSetups = map[string]Setup{
	"which":               {Task: TaskWhich},
	"different":           {Task: TaskDifferent},
	"accept":              {Task: TaskAccept},
	"which, staircase":    {Task: TaskWhich, Options: map[string]string{OptionMethod: MethodStaircase}},
	"accept, staircase":   {Task: TaskAccept, Options: map[string]string{OptionMethod: MethodStaircase}},
	"which, weighted":     {Task: TaskWhich, Options: map[string]string{OptionMethod: MethodWeighted}},
	"different, weighted": {Task: TaskDifferent, Options: map[string]string{OptionMethod: MethodWeighted}},
	"value alone":         {Task: TaskWhich, Attribute: "value"},
	"to a width":          {Task: TaskWhich, Options: map[string]string{OptionWidth: "0.9"}},
}

// A threshold drill ends, shows what it says it shows, and brings most trials near
// the observer's threshold.
func TestThresholdDrill(t *testing.T) {
	for name, s := range thresholdSetups {
		t.Run(name, func(t *testing.T) {
			s.Kind, s.Count, s.Seed = Threshold, 120, 7
			who := observer.Observer{SeenAt: 1.2, FalseAlarm: 0.1, Lapse: 0.02}
			trials, _ := play(t, s, who, 3)
			if len(trials) == 0 || len(trials) > s.Count {
				t.Fatalf("%d trials of at most %d", len(trials), s.Count)
			}
			catches, near := 0, 0
			for _, tr := range trials {
				first := tr.Target
				var second colour.SRGB
				if s.Task == TaskWhich {
					pair := tr.PatchesOf(tr.Key)
					first, second = pair[0], pair[1]
					other := tr.PatchesOf(map[string]string{Left: Right, Right: Left}[tr.Key])
					if other[0] != other[1] {
						t.Errorf("trial %d: both pairs differ", tr.Ordinal)
					}
				} else {
					second, _ = tr.Patch("sample")
				}
				if shown := colour.DeltaE00(first.Lab(), second.Lab()); math.Abs(shown-tr.Level) > 1e-9 {
					t.Errorf("trial %d says %.3f and shows %.3f", tr.Ordinal, tr.Level, shown)
				}
				if tr.Level == 0 {
					catches++
				}
				if tr.Level > 0.5 && tr.Level < 2.6 {
					near++
				}
			}
			if s.Task == TaskWhich && catches != 0 || s.Task != TaskWhich && (catches < 15 || catches > 30) {
				t.Errorf("%d identical pairs in %d trials", catches, len(trials))
			}
			if near < len(trials)/2 {
				t.Errorf("only %d of %d trials near the threshold of 1.2", near, len(trials))
			}
		})
	}
}

// An interrupted drill goes on with the trials that it would have had.
func TestThresholdDrillIsRebuiltFromItsHistory(t *testing.T) {
	for name, s := range thresholdSetups {
		t.Run(name, func(t *testing.T) {
			s.Kind, s.Count, s.Seed = Threshold, 40, 11
			trials, answers := play(t, s, observer.Observer{}, 5)
			at := len(trials) / 2
			run, err := NewRun(s)
			if err != nil {
				t.Fatal(err)
			}
			for i := range at {
				run.Take(trials[i], answers[i])
			}
			next, ok := run.Next()
			if !ok {
				t.Fatal("the drill was over too soon")
			}
			if diff := cmp.Diff(trials[at], next); diff != "" {
				t.Errorf("trial %d after an interruption (-before +after):\n%s", at, diff)
			}
		})
	}
}

func TestThresholdSideTellsNothing(t *testing.T) {
	s := Setup{Kind: Threshold, Task: TaskWhich, Count: 300, Seed: 5}
	trials, _ := play(t, s, observer.Observer{SeenAt: 1}, 1)
	left := 0
	for _, tr := range trials {
		if tr.Key == Left {
			left++
		}
	}
	if n := len(trials); left < n*4/10 || left > n*6/10 {
		t.Errorf("the differing pair was at the left in %d of %d trials", left, n)
	}
}

func TestThresholdRefusesWhatItCannotDo(t *testing.T) {
	for name, s := range map[string]Setup{
		"no task":       {Count: 10},
		"no trials":     {Task: TaskWhich},
		"no method":     {Task: TaskWhich, Count: 10, Options: map[string]string{OptionMethod: "guessing"}},
		"no attribute":  {Task: TaskWhich, Count: 10, Attribute: "gloss"},
		"no width":      {Task: TaskWhich, Count: 10, Options: map[string]string{OptionWidth: "narrow"}},
		"NaN width":     {Task: TaskWhich, Count: 10, Options: map[string]string{OptionWidth: "NaN"}},
		"shared items":  {Task: TaskWhich, Count: 10, Repeats: 2},
		"negative wide": {Task: TaskWhich, Count: 10, Options: map[string]string{OptionWidth: "-1"}},
	} {
		s.Kind = Threshold
		if _, err := NewRun(s); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func BenchmarkThresholdStep(b *testing.B) {
	s := Setup{Kind: Threshold, Task: TaskDifferent, Count: 1 << 30, Seed: 1}
	run, err := NewRun(s)
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for b.Loop() {
		tr, _ := run.Next()
		run.Take(tr, threshold{}.Simulate(tr, s, observer.Observer{}, rng))
	}
}

// play answers a whole drill as the observer would.
func play(t *testing.T, s Setup, who observer.Observer, seed uint64) (trials []Trial, answers []Answer) {
	t.Helper()
	kind, err := ByID(s.Kind)
	if err != nil {
		t.Fatal(err)
	}
	run, err := NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(seed, 99))
	for range run.Planned() {
		tr, ok := run.Next()
		if !ok {
			break
		}
		if again, _ := run.Next(); !slices.Equal(again.Patches, tr.Patches) {
			t.Fatal("asking again gave another trial")
		}
		a := kind.Simulate(tr, s, who, rng)
		run.Take(tr, a)
		trials, answers = append(trials, tr), append(answers, a)
	}
	return trials, answers
}
