package exercises

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// weakNear is a learner who sees truly but within 3.5 ΔE00 of one colour, where
// everything looks darker.
type weakNear struct{ centre colour.Lab }

func (w weakNear) weakAt(c colour.Lab) bool { return colour.DeltaE00(w.centre, c) < 3.5 }

func (w weakNear) looking(c colour.Lab) observer.Observer {
	who := observer.Observer{Noise: 0.6}
	if w.weakAt(c) {
		who.BiasL = -2.5
	}
	return who
}

// untilFound plays a drill and says after how many trials the errors in the weak
// region are beyond doubt larger than elsewhere (Welch's t above 3, at least
// three answers there), judged from the answers alone; and how many of the
// trials lay in the region.
func untilFound(t *testing.T, s Setup, w weakNear) (found, inside int) {
	run, err := NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(s.Seed, 7))
	var n, sum, square [2]float64
	for {
		tr, ok := run.Next()
		if !ok {
			break
		}
		a := valueFirst{}.Simulate(tr, s, w.looking(tr.Target.Lab()), rng)
		run.Take(tr, a)
		where := 0
		if w.weakAt(tr.Target.Lab()) {
			where = 1
			inside++
		}
		e := colour.DeltaE00(tr.Target.Lab(), a.Colour.Lab())
		n[where]++
		sum[where] += e
		square[where] += e * e
		if found == 0 && n[1] >= 3 && n[0] >= 3 {
			variance := 0.0
			for k := range n {
				variance += (square[k] - sum[k]*sum[k]/n[k]) / (n[k] - 1) / n[k]
			}
			if (sum[1]/n[1]-sum[0]/n[0])/math.Sqrt(variance) > 3 {
				found = tr.Ordinal + 1
			}
		}
	}
	if found == 0 {
		found = s.Count + 1
	}
	return found, inside
}

// Measured with 30 learners of 200 trials: found after 54 trials on average instead of
// 86, and 27 trials in the weak region instead of 16. A stronger pull asks there more
// often still, and then the answers elsewhere are too few to tell whether somebody improves.
func TestAdaptivePracticeFindsTheWeakRegionSooner(t *testing.T) {
	learners, trials := 30, 200
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		learners = 300
	}
	sheet := sheetOf(t, "natural")
	var found, inside [2]float64 // at random, adaptive
	for seed := range uint64(learners) {
		// Weak somewhere in the middle of the ladder: at its dark end nobody can
		// answer much darker.
		rng := rand.New(rand.NewPCG(seed, 8))
		w := weakNear{tabs.Teeth.Sample(rng)}
		for w.centre.L < 65 || w.centre.L > 83 {
			w.centre = tabs.Teeth.Sample(rng)
		}
		for i, adaptive := range []bool{false, true} {
			f, in := untilFound(t, Setup{Kind: ValueFirst, Count: trials, Seed: seed, Sheet: sheet, Adaptive: adaptive}, w)
			found[i] += float64(f) / float64(learners)
			inside[i] += float64(in) / float64(learners)
		}
	}
	t.Logf("found after %.0f trials at random, after %.0f when practice adapts; %.1f and %.1f of %d trials in the weak region",
		found[0], found[1], inside[0], inside[1], trials)
	if found[1] > 0.95*found[0] {
		t.Errorf("found after %.0f trials when practice adapts, after %.0f at random", found[1], found[0])
	}
	if inside[1] < 1.6*inside[0] {
		t.Errorf("%.1f trials in the weak region when practice adapts, %.1f at random", inside[1], inside[0])
	}
}

// What earlier sittings showed is used from the first trial on.
func TestExperienceCounts(t *testing.T) {
	sheet := sheetOf(t, "natural")
	w := weakNear{colour.LCh{L: 74, C: 19, H: 88}.Lab()}
	s := Setup{Kind: ValueFirst, Count: 150, Seed: 1, Sheet: sheet}
	trials, _ := play(t, s, observer.Observer{}, 1)
	rng := rand.New(rand.NewPCG(1, 7))
	for _, tr := range trials {
		a := valueFirst{}.Simulate(tr, s, w.looking(tr.Target.Lab()), rng)
		s.Experience = append(s.Experience, Outcome{tr.Target, colour.Compare(tr.Target.Lab(), a.Colour.Lab(), colour.Unit)})
	}
	inWeak := func(s Setup) (n int) {
		trials, _ := play(t, s, observer.Observer{Noise: 0.6}, 2) // the weakness is over
		for _, tr := range trials {
			if w.weakAt(tr.Target.Lab()) {
				n++
			}
		}
		return n
	}
	s.Count, s.Seed = 30, 2
	plain := inWeak(s)
	s.Adaptive = true
	if guided := inWeak(s); 2*guided < 3*plain || guided < 5 {
		t.Errorf("%d of the first 30 trials in the weak region after experience, %d without", guided, plain)
	}
}

// An interrupted adaptive drill goes on as it would have.
func TestAdaptiveDrillIsRebuiltFromItsHistory(t *testing.T) {
	for _, targets := range []Targets{NaturalTargets, TabTargets} {
		s := Setup{Kind: ValueFirst, Count: 30, Seed: 9, Sheet: sheetOf(t, "natural"), Adaptive: true, Targets: targets}
		trials, answers := play(t, s, observer.Observer{BiasC: 2, Noise: 1}, 3)
		run, err := NewRun(s)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 17 {
			run.Take(trials[i], answers[i])
		}
		next, _ := run.Next()
		if diff := cmp.Diff(trials[17], next); diff != "" {
			t.Errorf("%s: after an interruption (-before +after):\n%s", targets, diff)
		}
	}
}

// The belief keeps to what was seen where something was seen, and stays near the
// learner's mean and uncertain where nothing was.
func TestBelief(t *testing.T) {
	r := newRegions(nil, func(c colour.Lab) colour.Lab { return c })
	shown := func(l, c, h float64) colour.SRGB {
		x, _ := colour.LCh{L: l, C: c, H: h}.Lab().SRGB()
		return x
	}
	bad, good, unseen := shown(62, 26, 80), shown(84, 20, 90), shown(90, 5, 95)
	for range 30 {
		r.add(Outcome{bad, colour.Difference{E: 3}})
		r.add(Outcome{good, colour.Difference{E: 0.4}})
	}
	r.add(Outcome{colour.SRGB{}, colour.Difference{E: math.NaN()}})
	mean, deviation, _ := r.belief([]int{r.cell(bad.Lab()), r.cell(good.Lab()), r.cell(unseen.Lab())})
	for i, want := range []struct{ least, most, leastSD, mostSD float64 }{{2.7, 3.1, 0, 0.2}, {0.3, 0.7, 0, 0.2}, {1.2, 2.2, 0.4, 0.6}} {
		sd := deviation[i]
		if !(mean[i] >= want.least && mean[i] <= want.most && sd >= want.leastSD && sd <= want.mostSD) {
			t.Errorf("centre %d: %.2f ± %.2f", i, mean[i], sd)
		}
	}
}

func BenchmarkAdaptiveTrial(b *testing.B) {
	l, err := tabs.Load("natural")
	if err != nil {
		b.Fatal(err)
	}
	s := Setup{Kind: ValueFirst, Count: MostTrials, Sheet: tabs.NewSheet(l, nil), Adaptive: true}
	rng := rand.New(rand.NewPCG(1, 1))
	run, err := NewRun(s)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		tr, ok := run.Next()
		if !ok {
			run, _ = NewRun(s)
			continue
		}
		run.Take(tr, valueFirst{}.Simulate(tr, s, observer.Observer{Noise: 1}, rng))
	}
}

// Weighed by the inverse of their chances, the targets of practice that adapts are those
// of an even drill: the share that lies in the weak region is that of even drills.
func TestChancesUndoTheChoice(t *testing.T) {
	sheet := sheetOf(t, "natural")
	w := weakNear{colour.LCh{L: 74, C: 24, H: 88}.Lab()}
	var share, plain [2]float64 // even, adaptive
	for i, adaptive := range []bool{false, true} {
		var n, inside, weight, weighed float64
		for seed := range uint64(8) {
			s := Setup{Kind: ValueFirst, Count: 150, Seed: 90 + seed, Sheet: sheet, Adaptive: adaptive}
			run, err := NewRun(s)
			if err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(seed, 17))
			for {
				tr, ok := run.Next()
				if !ok {
					break
				}
				if adaptive != (tr.Chance > 0) {
					t.Fatalf("adaptive %v: chance %v", adaptive, tr.Chance)
				}
				run.Take(tr, valueFirst{}.Simulate(tr, s, w.looking(tr.Target.Lab()), rng))
				x := 1.0
				if adaptive {
					x = 1 / tr.Chance
				}
				n, weight = n+1, weight+x
				if w.weakAt(tr.Target.Lab()) {
					inside, weighed = inside+1, weighed+x
				}
			}
		}
		plain[i], share[i] = inside/n, weighed/weight
	}
	t.Logf("in the weak region: %.3f of even targets, %.3f of adaptive ones, %.3f when weighed", plain[0], plain[1], share[1])
	if plain[1] < 1.3*plain[0] {
		t.Errorf("practice does not adapt: %.3f against %.3f", plain[1], plain[0])
	}
	if math.Abs(share[1]-plain[0]) > 0.25*plain[0] { // 1,200 targets: two standard errors
		t.Errorf("weighed, %.3f lie in the weak region, in even drills %.3f", share[1], plain[0])
	}
}
