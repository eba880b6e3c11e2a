package exercises

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises/observer"
)

// pupil answers right with a chance that falls from level to level.
type pupil struct{ ability, slope float64 }

func (p pupil) right(level int) float64 {
	odds := math.Log(SuitedShare/(1-SuitedShare)) + p.slope*(p.ability-float64(level))
	return 0.99 / (1 + math.Exp(-odds))
}

// drillAt lets a pupil do a drill of n answers at a level.
func (p pupil) drillAt(level, n int, rng *rand.Rand) Tried {
	t := Tried{Level: level, Of: float64(n)}
	for range n {
		if rng.Float64() < p.right(level) {
			t.Right++
		}
	}
	return t
}

// From 40 answers, in drills of eight, the level is found that suits, whatever the
// ability and however steep the ladder, and kept. Held against each learner's true chance
// of a right answer at the level held, not against the share that happened to be right:
// the means lie within 7 points of 85 %. Of single learners most do, not all: 40
// answers that are right or wrong do not tell more, as the last figure shows, that of whoever
// knew the steepness of the ladder and used nothing but the answers.
func TestTheLevelThatSuitsIsFoundAndKept(t *testing.T) {
	const levels, each, learners = 9, 8, 16
	var off, within, far, keeps, best, n float64
	for _, slope := range []float64{0.4, 0.55, 0.8} {
		for ability := 1.0; ability <= levels; ability += 1 {
			var at40, kept float64
			for seed := range learners {
				rng := rand.New(rand.NewPCG(uint64(seed), 5))
				p := pupil{ability, slope}
				var tried []Tried
				for len(tried) < 5 {
					tried = append(tried, p.drillAt(Suited(levels, tried).Level, each, rng))
				}
				found := p.right(Suited(levels, tried).Level)
				at40 += found / learners
				n++
				within += of(math.Abs(found-SuitedShare) <= 0.07)
				far += of(math.Abs(found-SuitedShare) > 0.12)
				best += of(math.Abs(p.right(likeliest(levels, slope, tried))-SuitedShare) <= 0.07)
				own := 0.0
				for range 20 {
					tried = append(tried, p.drillAt(Suited(levels, tried).Level, each, rng))
					own += p.right(tried[len(tried)-1].Level) / 20
				}
				kept += own / learners
				keeps += of(math.Abs(own-SuitedShare) <= 0.07)
			}
			for what, share := range map[string]float64{"after 40 answers": at40, "over the next 160": kept} {
				if math.Abs(share-SuitedShare) > 0.07 {
					t.Errorf("ability %.1f, slope %.2f: %.0f %% right %s", ability, slope, 100*share, what)
				}
				off = max(off, math.Abs(share-SuitedShare))
			}
		}
	}
	t.Logf("means lie at most %.1f points off 85 %%; of single learners %.0f %% are within 7 points after 40 answers (%.0f %% by likelihood with the steepness known), %.0f %% more than 12 off, and %.0f %% within 7 over the next 160",
		100*off, 100*within/n, 100*best/n, 100*far/n, 100*keeps/n)
	if within/n < 0.75 || far/n > 0.08 || keeps/n < 0.9 || within < best-0.05*n {
		t.Errorf("of %.0f learners %.0f are within 7 points after 40 answers (%.0f by likelihood), %.0f more than 12 off, %.0f keep within 7", n, within, best, far, keeps)
	}
}

func of(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// likeliest is the level that suits best by the answers alone, for a ladder of known
// steepness: what no rule can do much better than.
func likeliest(levels int, slope float64, tried []Tried) (level int) {
	top := math.Inf(-1)
	ability := 0.0
	for a := -2.0; a <= float64(levels)+2; a += 0.05 {
		l := 0.0
		for _, x := range tried {
			p := pupil{a, slope}.right(x.Level)
			l += x.Right*math.Log(p) + (x.Of-x.Right)*math.Log(1-p)
		}
		if l > top {
			top, ability = l, a
		}
	}
	return min(levels, max(1, int(math.Round(ability))))
}

// Who improves climbs; who tires comes down, within a drill or two.
func TestLevelsFollowTheLearner(t *testing.T) {
	for _, c := range []struct {
		name     string
		from, to float64
		up       bool
	}{{"improves", 3, 7, true}, {"tires", 7, 3, false}} {
		rng := rand.New(rand.NewPCG(3, 5))
		var tried []Tried
		sit := func(ability float64, drills int) (level float64) {
			for range drills {
				tried = append(tried, pupil{ability, 0.6}.drillAt(Suited(9, tried).Level, 8, rng))
			}
			return float64(Suited(9, tried).Level)
		}
		before := sit(c.from, 10)
		soon := sit(c.to, 3)
		after := sit(c.to, 12)
		if (soon > before) != c.up || (after > before) != c.up || math.Abs(after-c.to) > 1.5 {
			t.Errorf("who %s: level %.0f, soon %.0f, then %.0f", c.name, before, soon, after)
		}
	}
}

// Who gets better, or worse, by a level in twelve drills is followed on the way: the true chance stays
// within 7 points of the aim.
func TestLevelsFollowWhoChangesSlowly(t *testing.T) {
	const learners, drills = 12, 40
	for _, a := range []float64{0.08, -0.08} {
		mean := 0.0
		for seed := range uint64(learners) {
			rng, p := rand.New(rand.NewPCG(seed, 7)), pupil{5 - 20*a, 0.6}
			var tried []Tried
			for d := range drills + 10 {
				level := Suited(9, tried).Level
				tried = append(tried, p.drillAt(level, 8, rng))
				if d >= 10 {
					p.ability += a
					mean += p.right(level) / learners / drills
				}
			}
		}
		t.Logf("%+.2f levels a drill: %.1f %% right on the way", a, 100*mean)
		if math.Abs(mean-SuitedShare) > 0.07 {
			t.Errorf("%+.2f levels a drill: %.0f %% right on the way", a, 100*mean)
		}
	}
}

// What is odd makes no odd level: nothing tried, nothing counted, all right, all wrong.
func TestSuitedTakesOddHistories(t *testing.T) {
	for name, tried := range map[string][]Tried{
		"nothing": nil, "no answers": {{Level: 3}}, "all right": {{9, 1e6, 1e6}}, "all wrong": {{1, 0, 1e6}}, "NaN": {{2, math.NaN(), math.NaN()}},
		"a level there is not": {{99, 5, 10}, {-4, 5, 10}},
	} {
		f := Suited(9, tried)
		if f.Level < 1 || f.Level > 9 || f.Ability != f.Ability || f.SD != f.SD {
			t.Errorf("%s: %+v", name, f)
		}
	}
	if f := Suited(0, []Tried{{1, 1, 1}}); f != (Fit{}) {
		t.Errorf("a kind without levels gets %+v", f)
	}
	if f := Suited(9, []Tried{{9, 400, 400}}); f.Level != 9 {
		t.Errorf("who has all right at the top is put on %d", f.Level)
	}
	if f := Suited(9, []Tried{{1, 0, 40}}); f.Level != 1 {
		t.Errorf("who has nothing right is put on %d", f.Level)
	}
}

// Every level of every ladder can be asked, says what it is, and its differences are
// larger the lower it is.
func TestLaddersCanBeAsked(t *testing.T) {
	sheet := sheetOf(t, "natural")
	for _, k := range Kinds() {
		sizes := map[float64]float64{}
		for n := range Levels(k.ID()) {
			s := Setup{Kind: k.ID(), Seed: 7, Count: 9, Sheet: sheet}.AtLevel(n + 1)
			trials, _ := play(t, s, observer.Observer{}, 1)
			if s.Level != n+1 || len(trials) < 9 || LevelOf(k.ID(), n+1).Says() == "" {
				t.Errorf("%s at level %d: %d trials, %q", k.ID(), n+1, len(trials), LevelOf(k.ID(), n+1).Says())
			}
			if k.ID() == Halfway || k.ID() == LineUp {
				for _, tr := range trials {
					sizes[s.Spread] += tr.Level / float64(len(trials))
				}
			}
		}
		if k.ID() == Halfway && !(sizes[3] > 2*sizes[1]) {
			t.Errorf("halfway's ends lie %v apart by spread", sizes)
		}
		if u := UsualLevel(k.ID()); u > len(Levels(k.ID())) || (u == 0) != (len(Levels(k.ID())) == 0) {
			t.Errorf("%s: usual level %d of %d", k.ID(), u, len(Levels(k.ID())))
		}
	}
	for _, s := range []Setup{{Kind: Halfway, Count: 3, Spread: 40}, {Kind: Halfway, Count: 3, Spread: math.NaN()}, {Kind: Halfway, Count: 3, Level: -1}} {
		if _, err := NewRun(s); err == nil || !strings.Contains(err.Error(), "level") {
			t.Errorf("%+v: %v", s, err)
		}
	}
}

// A drill keeps the number of its level when ladders grow: what it asked decides. These are
// ladders as they were.
func TestLevelsAreFoundAgain(t *testing.T) {
	before := map[KindID][]Level{
		Halfway: spreads(3, 2.4, 1.9, 1.5, 1.25, 1.1, 1, 0.85), Lighting: spreads(2.5, 2, 1.6, 1.3, 1),
		Whitening: {{Foot: true}, {}}, TryIn: spreads(3.2, 2.5, 2, 1.7, 1.4, 1.15, 1),
		LineUp: {{Spread: 2.6, Patches: 5}, {Spread: 2, Patches: 5}, {Spread: 1.55, Patches: 5}, {Spread: 1.25, Patches: 5}, {Spread: 1, Patches: 5},
			{Spread: 1, Patches: 6}, {Spread: 1, Patches: 7}, {Spread: 1, Patches: 8}, {Spread: 1, Patches: 9}},
		Combination: {{Spread: 2.5}, {Spread: 2.2}, {Spread: 1.9}, {Spread: 1.6}, {Spread: 1.3}, {}},
	}
	for kind, ladder := range before {
		for i, l := range ladder {
			s := Setup{Kind: kind, Level: i + 1, Spread: l.Spread}
			if l.Patches > 0 {
				s.Options = map[string]string{OptionPatches: strconv.Itoa(l.Patches)}
			}
			if l.Foot {
				s.Options = map[string]string{OptionFoot: FootGiven}
			}
			now := LevelOf(kind, s.LevelNow())
			if now.Spread != l.Spread && now.Spread*l.Spread != 0 || now.Foot != l.Foot || now.Patches != l.Patches || s.LevelLike() != s.LevelNow() {
				t.Errorf("%s, once level %d (%+v), is now level %d (%+v)", kind, i+1, l, s.LevelNow(), now)
			}
		}
	}
	// These did not say how far they thinned the library out.
	for _, kind := range []KindID{ValueFirst, Thirds} {
		for i, l := range [][2]int{{3, 2}, {4, 3}, {6, 3}, {6, 4}, {7, 5}, {8, 6}, {0, 0}} {
			if now := LevelOf(kind, Setup{Kind: kind, Level: i + 1}.LevelNow()); now.Groups != l[0] || now.Tabs != l[1] {
				t.Errorf("%s, once level %d of %v groups and tabs, is now %+v", kind, i+1, l, now)
			}
		}
	}
	for _, k := range Kinds() {
		for n := range len(Levels(k.ID())) + 1 {
			if s := (Setup{Kind: k.ID()}).AtLevel(n); n > 0 && s.LevelNow() != n {
				t.Errorf("%s: level %d is found as %d", k.ID(), n, s.LevelNow())
			}
		}
		if n := (Setup{Kind: k.ID(), Level: 99, Spread: 4.9}).LevelNow(); n < 0 || n > len(Levels(k.ID())) {
			t.Errorf("%s: a level there never was is found as %d", k.ID(), n)
		}
	}
	if n := (Setup{Kind: Halfway}).LevelNow(); n != 0 {
		t.Errorf("a drill without a level is found on %d", n)
	}
}

// Trials are asked again byte for byte, in their order, scenes apart.
func TestAgainAsksTheSameBytes(t *testing.T) {
	s := Setup{Kind: Thirds, Seed: 3, Count: 6, Sheet: sheetOf(t, "natural")}
	first, _ := play(t, s, observer.Observer{}, 1)
	s.Seed = 4
	second, _ := play(t, s, observer.Observer{}, 1)
	s.Again = append(append([]Trial(nil), first[:3]...), second[:3]...)
	again, _ := play(t, s, observer.Observer{}, 1)
	if len(again) != 6 {
		t.Fatalf("%d trials", len(again))
	}
	for i, tr := range again {
		want := s.Again[i]
		if tr.Target != want.Target || tr.Part != want.Part || tr.Ordinal != i || tr.Scene != i/3 || fmt.Sprint(tr.Patches) != fmt.Sprint(want.Patches) {
			t.Errorf("trial %d is %+v, was %+v", i, tr, want)
		}
	}
	old := s
	old.Again = []Trial{{Kind: Thirds, Version: 99, Target: colour.SRGB{R: 1}}}
	many := s
	many.Again = make([]Trial, MostAgain+1)
	for _, bad := range []Setup{old, many, {Kind: ValueFirst, Sheet: s.Sheet, Again: s.Again}, {Kind: Threshold, Task: TaskWhich, Again: s.Again}} {
		if _, err := NewRun(bad); err == nil {
			t.Errorf("%s: accepted", bad.Kind)
		}
	}
}

// What was done in other exercises is a hint of where to begin, and no more: who is as far
// below the usual level here as there is found sooner, and who is four levels off from what
// the others let expect is still found.
func TestOtherExercisesAreAHint(t *testing.T) {
	usual := float64(UsualLevel(Thirds))
	others := func(below float64, but KindID) (list []Practised) {
		for _, k := range []KindID{ValueFirst, Halfway, LineUp, TryIn} {
			if k != but {
				level := int(math.Round(float64(UsualLevel(k)) * (1 - below/usualLadder)))
				p := practised(k, 5, 1, SuitedShare, true, level)
				for i := range p.Days {
					p.Days[i].Level, p.Days[i].Right = UsualLevel(k), p.Days[i].Of // mastered: they leave the plan to the other
				}
				list = append(list, p)
			}
		}
		return list
	}
	on := func(tried []Tried, list []Practised) int {
		own := practised(Thirds, 1, 20, 0.1, false, 1)
		own.Tried = tried
		for _, s := range PlanDay(today, 20, append(list, own), Missed{}, nil).Drills {
			if s.Kind == Thirds {
				return s.Level
			}
		}
		t.Fatal("thirds are not on the plan")
		return 0
	}
	if far, near := on(nil, others(5, "")), on(nil, others(0, "")); far > UsualLevel(Thirds)-5 || near < UsualLevel(Thirds)-2 {
		t.Errorf("who is five levels below the usual elsewhere begins on %d, who is on it on %d", far, near)
	}
	// Nothing can be expected of an exercise from nothing.
	if e := expectedOf(Thirds, nil); e != (Fit{}) {
		t.Errorf("of nothing %+v is expected", e)
	}
	within := func(ability, below float64, list bool, drills int) float64 {
		rng, hits := rand.New(rand.NewPCG(8, 9)), 0.0
		for range 100 {
			var tried []Tried
			var known []Practised
			if list {
				known = others(below, "")
			}
			for range drills {
				tried = append(tried, pupil{ability, 0.6}.drillAt(on(tried, known), 8, rng))
			}
			if math.Abs(pupil{ability, 0.6}.right(on(tried, known))-SuitedShare) <= 0.07 {
				hits++
			}
		}
		return hits / 100
	}
	alone, like, unlike := within(usual-2, 0, false, 3), within(usual-2, 2, true, 3), within(usual-5, 1, true, 8)
	t.Logf("on a level that suits: after 24 answers %.2f, with others alike %.2f; four levels off, after 64 answers, %.2f, where nothing else is known %.2f", alone, like, unlike, within(usual-5, 0, false, 8))
	if like < alone+0.05 || unlike < 0.6 {
		t.Error("others are no help, or more than a hint")
	}
}
