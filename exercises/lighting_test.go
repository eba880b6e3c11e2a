package exercises

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises/observer"
)

// A pair is the same bytes in daylight, shows under each lamp what it says it
// shows, and all three verdicts are asked for.
func TestLightingPairs(t *testing.T) {
	s := Setup{Kind: Lighting, Count: 600, Seed: 11}
	trials, _ := play(t, s, observer.Observer{}, 1)
	verdicts := map[string]int{}
	scenes := map[int]int{}
	for _, tr := range trials {
		scenes[tr.Scene]++
		if want := usualLamps[tr.Ordinal%len(usualLamps)]; tr.Part != want {
			t.Fatalf("trial %d is under %s instead of %s", tr.Ordinal, tr.Part, want)
		}
		sample, _ := tr.Patch("sample")
		if shown := colour.DeltaE00(tr.Target.Lab(), sample.Lab()); shown != tr.Level {
			t.Fatalf("trial %d says %.3f and shows %.3f", tr.Ordinal, tr.Level, shown)
		}
		daylight := tr.PatchesOf("daylight")
		if daylight[0] != daylight[1] {
			t.Errorf("trial %d: the pair parts in daylight", tr.Ordinal)
		}
		if tr.Part == "d65" {
			if tr.Target != daylight[0] {
				t.Errorf("trial %d: two colours for daylight", tr.Ordinal)
			}
			continue
		}
		switch {
		case tr.Level <= 0.8:
			verdicts[Match]++
		case tr.Level <= 1.8:
			verdicts[Acceptable]++
		default:
			verdicts[Mismatch]++
		}
	}
	for scene, n := range scenes {
		if n != len(usualLamps) {
			t.Errorf("scene %d has %d looks", scene, n)
		}
	}
	for _, v := range []string{Match, Acceptable, Mismatch} {
		if share := float64(verdicts[v]) / float64(len(trials)); share < 0.15 {
			t.Errorf("%s is right in %.0f %% of the looks", v, 100*share)
		}
	}
	t.Logf("right verdicts: %v", verdicts)
}

// One pair breaks under the lamp asked, the others hold there, all three match in
// daylight, and the clue helps without giving the answer away.
func TestLightingWhichPairBreaks(t *testing.T) {
	s := Setup{Kind: Lighting, Task: TaskWhich, Count: 300, Seed: 12}
	trials, answers := play(t, s, observer.Observer{}, 1)
	right := 0
	keys := map[string]int{}
	for i, tr := range trials {
		keys[tr.Key]++
		for n := 1; n <= pairsToChooseFrom; n++ {
			name := strconv.Itoa(n)
			under, pair := tr.PatchesOf("under-"+name), tr.PatchesOf("pair-"+name)
			e := colour.DeltaE00(under[0].Lab(), under[1].Lab())
			if pair[0] != pair[1] {
				t.Errorf("trial %d: pair %d parts in daylight", i, n)
			}
			switch {
			case name == tr.Key && (e != tr.Level || e < 1.8):
				t.Errorf("trial %d: the pair that breaks differs by %.2f under %s, said %.2f", i, e, tr.Part, tr.Level)
			case name != tr.Key && e > 1.2:
				t.Errorf("trial %d: pair %d should hold under %s and differs by %.2f", i, n, tr.Part, e)
			}
			if len(tr.PatchesOf("clue-"+name)) != 2 {
				t.Fatalf("trial %d has no clue for pair %d", i, n)
			}
		}
		if tr.Part == ClueLamp(tr.Part) || tr.Part == "d65" {
			t.Errorf("trial %d asks for %s with the clue of %s", i, tr.Part, ClueLamp(tr.Part))
		}
		if answers[i].Choice == tr.Key {
			right++
		}
	}
	share := float64(right) / float64(len(trials))
	t.Logf("an observer that goes by the clue alone is right in %.0f %%; keys %v", 100*share, keys)
	if share < 0.6 || share > 0.97 {
		t.Errorf("an observer that goes by the clue is right in %.0f %%: the clue is no good, or gives the answer away", 100*share)
	}
	for key, n := range keys {
		if math.Abs(float64(n)-100) > 4*math.Sqrt(300*1./3*2/3) {
			t.Errorf("key %s comes %d times in 300", key, n)
		}
	}
}

// The teaching screen: daylight first and matching, every lamp once, and the
// incandescent lamp breaking the pair.
func TestAllLamps(t *testing.T) {
	for seed := range uint64(20) {
		looks := AllLamps(TeachingPair(seed))
		if len(looks) != len(colour.Lights()) || looks[0].Light.ID != "d65" || looks[0].E != 0 || looks[0].Index > 1e-6 {
			t.Fatalf("seed %d: %d looks, the first %s with ΔE00 %.3f", seed, len(looks), looks[0].Light.ID, looks[0].E)
		}
		for _, l := range looks {
			if shown := colour.DeltaE00(l.First.Lab(), l.Second.Lab()); shown != l.E {
				t.Errorf("seed %d under %s: %.3f shown, %.3f said", seed, l.Light.ID, shown, l.E)
			}
			// The display rounds each colour by up to 0.8, as a rule by 0.2; the
			// index is relative to the lamp's own white, without adaptation.
			if l.Light.ID == "a" && (l.E < 2 || math.Abs(l.E-l.Index) > 1.5) {
				t.Errorf("seed %d under the incandescent lamp: %.2f shown, index %.2f", seed, l.E, l.Index)
			}
		}
	}
}

func TestLightingUnderOtherLamps(t *testing.T) {
	s := Setup{Kind: Lighting, Count: 5, Seed: 1, Options: map[string]string{optionLamps: "F11, d50"}}
	trials, _ := play(t, s, observer.Observer{}, 1)
	if len(trials) != 6 || trials[0].Part != "f11" || trials[1].Part != "d50" {
		t.Errorf("%d trials, the first under %s", len(trials), trials[0].Part)
	}
	s.Task, s.Options = TaskWhich, map[string]string{optionLamps: "d50,led-cool"}
	for _, tr := range first(play(t, s, observer.Observer{}, 1)) {
		if fmt.Sprint(tr.Part) == "d65" || tr.Level < 0.4 {
			t.Errorf("under %s: breaks by %.2f", tr.Part, tr.Level)
		}
	}
}

func first[T, U any](one T, _ U) T { return one }

func TestLightingRefusesWhatItCannotDo(t *testing.T) {
	refused(t, map[string]Setup{
		"no trials":       {Kind: Lighting},
		"odd task":        {Kind: Lighting, Count: 5, Task: "many"},
		"odd targets":     {Kind: Lighting, Count: 5, Targets: "teeth"},
		"a light":         {Kind: Lighting, Count: 5, Viewing: Viewing{Light: "a"}},
		"odd lamp":        {Kind: Lighting, Count: 5, Options: map[string]string{optionLamps: "a,candle"}},
		"a lamp twice":    {Kind: Lighting, Count: 5, Options: map[string]string{optionLamps: "a,A"}},
		"daylight only":   {Kind: Lighting, Count: 5, Options: map[string]string{optionLamps: "d65"}},
		"tabs, none":      {Kind: Lighting, Count: 5, Targets: TabTargets},
		"tabs, none fits": {Kind: Lighting, Count: 5, Targets: TabTargets, Sheet: library(t, colour.Lab{L: 60, A: 120, B: -80})},
	})
}

// On an easier level the verdicts are plainer: fewer looks lie near a limit, and no
// verdict is the only one left. Without a level trials are what they were.
func TestLightingLevels(t *testing.T) {
	near := func(level int) float64 {
		trials, _ := play(t, Setup{Kind: Lighting, Count: 180, Seed: 11}.AtLevel(level), observer.Observer{}, 1)
		n, of, verdicts := 0.0, 0.0, map[string]int{}
		for _, tr := range trials {
			if tr.Part == "d65" {
				continue
			}
			if of++; min(math.Abs(tr.Level-blendsTo), math.Abs(tr.Level-staysTo)) < 0.25 {
				n++
			}
			verdicts[[]string{Match, Acceptable, Mismatch}[verdictFor(tr.Level)]]++
		}
		if verdicts[Match] < 15 || verdicts[Mismatch] < 15 {
			t.Errorf("level %d: verdicts %v", level, verdicts)
		}
		t.Logf("level %d: %.0f %% of looks within 0.25 of a limit; %v", level, 100*n/of, verdicts)
		return n / of
	}
	if easy, usual := near(1), near(UsualLevel(Lighting)); !(easy < usual/2) {
		t.Errorf("%.0f %% of looks are near a limit on the first level, %.0f %% as usual", 100*easy, 100*usual)
	}
}
