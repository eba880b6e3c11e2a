package exercises

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// The ladder rises in even steps of whiteness, within the colours of teeth, and
// gets lighter, less yellow and hardly less red on the way.
func TestWhitenessLadder(t *testing.T) {
	l := ladderOf(1, nil)
	if len(l.Rungs) != ladderSteps+1 {
		t.Fatalf("%d rungs", len(l.Rungs))
	}
	for i, r := range l.Rungs {
		if !tabs.Teeth.Contains(r.Lab()) {
			t.Errorf("rung %d, %v, is no colour of a tooth", i, r.Lab().LCh())
		}
		if i == 0 {
			continue
		}
		from, to := l.Rungs[i-1].Lab(), r.Lab()
		if step := colour.WhitenessIndex(to) - colour.WhitenessIndex(from); math.Abs(step-LadderStep) > 0.3 {
			t.Errorf("rung %d is whiter by %.2f WI_D instead of %.2f", i, step, LadderStep)
		}
	}
	foot, top := l.Rungs[0].Lab(), l.Rungs[ladderSteps].Lab()
	if !(top.L > foot.L && top.B < foot.B && top.A < foot.A && foot.A-top.A < 5) {
		t.Errorf("from %v to %v is not the way of whitening", foot, top)
	}
}

func TestLadderPlace(t *testing.T) {
	l := ladderOf(1, nil)
	for i, r := range l.Rungs {
		if got := l.Place(r.Lab()); math.Abs(got-float64(i)) > 1e-9 {
			t.Errorf("rung %d has the place %.3f", i, got)
		}
	}
	for place := -2.0; place <= ladderSteps+2; place += 0.25 {
		// A colour of that whiteness, of any other kind.
		c := colour.Lab{L: 80, A: 0}
		c.B = (0.511*c.L - l.Whiteness(place)) / 1.1
		if got := l.Place(c); math.Abs(got-place) > 1e-6 {
			t.Errorf("whiteness of place %.2f is placed at %.4f", place, got)
		}
	}
	if got := newLadder(nil).Place(colour.Lab{}); !math.IsNaN(got) {
		t.Errorf("no ladder has the place %g", got)
	}
}

// Under every lamp the ladder still rises.
func TestLadderUnderLamps(t *testing.T) {
	for _, light := range colour.Lights() {
		l := ladderOf(1, Under(light))
		for i := range ladderSteps {
			if step := l.heights[i+1] - l.heights[i]; step <= 0 {
				t.Errorf("under %s step %d is %.2f", light.ID, i+1, step)
			}
		}
	}
}

// Courses come out as published: mean and standard deviation of ΔE*ab within what
// 4,000 draws allow, and the few that the ladder has no room for.
func TestWhiteningCoursesAreThoseOfTheStudies(t *testing.T) {
	for _, c := range Courses {
		run, err := NewRun(Setup{Kind: Whitening, Task: c.Method, Count: 4000, Seed: 2})
		if err != nil {
			t.Fatal(err)
		}
		var eab, steps []float64
		for {
			tr, ok := run.Next()
			if !ok {
				break
			}
			after, _ := tr.Patch("after")
			if tr.Part != c.Method || tr.Level != colour.DeltaE00(tr.Target.Lab(), after.Lab()) {
				t.Fatalf("trial %d: part %q, level %.2f", tr.Ordinal, tr.Part, tr.Level)
			}
			eab = append(eab, colour.DeltaEab(tr.Target.Lab(), after.Lab()))
			steps = append(steps, StepsWhiter(tr))
			run.Take(tr, Answer{})
		}
		mean, sd := stat.MeanStdDev(eab, nil)
		meanSteps := stat.Mean(steps, nil)
		t.Logf("%s: ΔE*ab %.2f (SD %.2f), published %.2f (%.2f); %.2f steps, said %.2f", c.Method, mean, sd, c.Mean, c.SD, meanSteps, Steps(c.Mean))
		if math.Abs(mean-c.Mean) > 0.15 || math.Abs(sd-c.SD) > 0.15 {
			t.Errorf("%s: ΔE*ab %.2f (SD %.2f) instead of %.2f (%.2f)", c.Method, mean, sd, c.Mean, c.SD)
		}
		if math.Abs(meanSteps-Steps(c.Mean)) > 0.2 {
			t.Errorf("%s: %.2f steps on average, said are %.2f", c.Method, meanSteps, Steps(c.Mean))
		}
	}
}

// An observer without errors answers the nearest whole step; a bias shifts both teeth alike and
// so changes next to nothing.
func TestWhiteningTrueEye(t *testing.T) {
	s := Setup{Kind: Whitening, Count: 300, Seed: 4}
	for _, who := range []observer.Observer{{}, {BiasL: 1}} {
		trials, answers := play(t, s, who, 1)
		worst := 0.0
		for i, tr := range trials {
			worst = max(worst, math.Abs(*answers[i].Number-StepsWhiter(tr)))
		}
		if limit := 0.5 + math.Abs(who.BiasL)*0.3; worst > limit+1e-9 {
			t.Errorf("%+v is off by up to %.2f steps", who, worst)
		}
	}
}

func TestWhiteningAdvice(t *testing.T) {
	var all strings.Builder
	for _, a := range WhiteningAdvice() {
		if a.Text == "" || a.Source == "" {
			t.Errorf("advice without text or source: %+v", a)
		}
		all.WriteString(a.Text + "\n")
	}
	for _, want := range []string{"Two weeks at home: 6.6 ΔE*ab", "about 5.5 steps", "six steps is a usual promise", "this ladder's own"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("no word of %q in\n%s", want, all.String())
		}
	}
}

func TestWhiteningRefusesWhatItCannotDo(t *testing.T) {
	refused(t, map[string]Setup{
		"no trials":       {Kind: Whitening},
		"odd method":      {Kind: Whitening, Count: 5, Task: "toothpaste"},
		"odd targets":     {Kind: Whitening, Count: 5, Targets: "teeth"},
		"odd light":       {Kind: Whitening, Count: 5, Viewing: Viewing{Light: "candle"}},
		"tabs, none":      {Kind: Whitening, Count: 5, Targets: TabTargets},
		"tabs, too dark":  {Kind: Whitening, Count: 5, Targets: TabTargets, Sheet: library(t, colour.Lab{L: 40, A: 10, B: 40})},
		"tabs, too white": {Kind: Whitening, Count: 5, Targets: TabTargets, Sheet: library(t, colour.Lab{L: 100})},
		"tabs and a lamp": {Kind: Whitening, Count: 5, Targets: TabTargets, Sheet: sheetOf(t, "natural"), Viewing: Viewing{Light: "a"}},
	})
}

// With the foot given one error is made instead of two: whoever sees with a scatter has
// more right. The trials are the same.
func TestGivenFootHelps(t *testing.T) {
	share := func(level int) float64 {
		s := Setup{Kind: Whitening, Count: 400, Seed: 5}.AtLevel(level)
		trials, answers := play(t, s, observer.Observer{Noise: 0.6}, 1)
		right := 0.0
		for i, tr := range trials {
			if off := *answers[i].Number - StepsWhiter(tr); math.Abs(off)*LadderStep <= 2.6 {
				right++
			}
		}
		return right / float64(len(trials))
	}
	given, usual := share(5), share(6)
	t.Logf("%.0f %% right with the foot given, %.0f %% without", 100*given, 100*usual)
	if given < usual+0.05 {
		t.Errorf("%.0f %% right with the foot given, %.0f %% without", 100*given, 100*usual)
	}
}
