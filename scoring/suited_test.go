package scoring_test

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
)

// Levels of whole exercises, with observers who see with a scatter: the level that suits
// is found within some 40 answers, and the share right is 85 % within 7 points from
// then on. Each kind with observers whom its ladder reaches. SHADEDRILL_HEAVY=1 tries
// all of them, and more of each.
func TestLevelsSuitWhoPractises(t *testing.T) {
	heavy := os.Getenv("SHADEDRILL_HEAVY") != ""
	learners := 2
	if heavy {
		learners = 12
	}
	for _, c := range []struct {
		kind  exercises.KindID
		noise []float64
	}{
		{exercises.ValueFirst, []float64{1.4, 0.8, 2}}, {exercises.Halfway, []float64{0.8, 0.6, 1.2, 2}}, {exercises.Thirds, []float64{1, 1.5}},
		{exercises.LineUp, []float64{0.6, 1, 1.4, 2}}, {exercises.TryIn, []float64{0.8, 1.2}}, {exercises.Combination, []float64{0.8, 1.4}},
		{exercises.Lighting, []float64{0.2, 0.4, 1.4, 2}}, {exercises.Whitening, []float64{0.45, 0.6, 1, 1.4}},
	} {
		if !heavy {
			if c.kind != exercises.ValueFirst && c.kind != exercises.Halfway {
				continue
			}
			c.noise = c.noise[:1]
		}
		for _, noise := range c.noise {
			var kept exercises.Tried
			levels := map[int]int{}
			for seed := range learners {
				p := practising{kind: c.kind, noise: noise, rng: rand.New(rand.NewPCG(uint64(seed), 40))}
				for p.answers < 40 {
					p.drill(t)
				}
				for range 15 {
					d := p.drill(t)
					levels[d.Level]++
					kept.Right, kept.Of = kept.Right+d.Right, kept.Of+d.Of
				}
			}
			share := kept.Right / kept.Of
			t.Logf("%s, scatter %.1f: %.0f %% right of %.0f, levels %v", c.kind, noise, 100*share, kept.Of, levels)
			if share < exercises.SuitedShare-0.07 || share > exercises.SuitedShare+0.07 {
				t.Errorf("%s, scatter %.1f: %.0f %% right after 40 answers", c.kind, noise, 100*share)
			}
		}
	}
}

// practising is an observer who does drill after drill at the level that suits.
type practising struct {
	kind    exercises.KindID
	noise   float64
	rng     *rand.Rand
	sheets  map[int]*tabs.Sheet
	tried   []exercises.Tried
	answers int
	look    func(exercises.Trial) // sees every trial, where not nil
}

// Every level of every exercise can be played: it shows colours of teeth, and whoever sees
// without error finds the right answer.
func TestEveryLevelHasARightAnswer(t *testing.T) {
	each := 8
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		each = 50
	}
	for _, k := range exercises.Kinds() {
		for level := 1; level <= len(exercises.Levels(k.ID())); level++ {
			p := practising{kind: k.ID(), rng: rand.New(rand.NewPCG(uint64(level), 6))}
			p.look = func(tr exercises.Trial) {
				for _, c := range append([]exercises.Patch{{Colour: tr.Target}}, tr.Patches...) {
					if c.Colour.Lab().L < 45 && c.Role != "under-rare" { // which is never drawn
						t.Errorf("%s at level %d shows %v, %v, which no tooth has", k.ID(), level, c.Role, c.Colour.Lab())
					}
				}
			}
			var sum exercises.Tried
			for p.answers < each {
				d := p.drillAt(t, level)
				sum.Right, sum.Of = sum.Right+d.Right, sum.Of+d.Of
			}
			if sum.Right < 0.97*sum.Of {
				t.Errorf("%s at level %d: who sees without error has %v of %v right", k.ID(), level, sum.Right, sum.Of)
			}
		}
	}
}

// drill is one of eight answers, at the level that suits.
func (p *practising) drill(t *testing.T) exercises.Tried {
	t.Helper()
	return p.drillAt(t, exercises.Suited(len(exercises.Levels(p.kind)), p.tried).Level)
}

func (p *practising) drillAt(t *testing.T, level int) exercises.Tried {
	t.Helper()
	if p.sheets == nil {
		p.sheets = map[int]*tabs.Sheet{}
	}
	if p.sheets[level] == nil {
		l, err := tabs.Load("natural")
		if err != nil {
			t.Fatal(err)
		}
		at := exercises.LevelOf(p.kind, level)
		if l, err = tabs.Thin(l, at.Groups, at.Tabs); err != nil {
			t.Fatal(err)
		}
		p.sheets[level] = tabs.NewSheet(l, nil)
	}
	s := exercises.Setup{Kind: p.kind, Seed: p.rng.Uint64(), Count: 8, Sheet: p.sheets[level]}.AtLevel(level)
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	kind, err := exercises.ByID(p.kind)
	if err != nil {
		t.Fatal(err)
	}
	// Who sees with a scatter says "the same" up to about that much.
	who := observer.Observer{Noise: p.noise, SeenAt: max(colour.Perceptibility.Value, 1.5*p.noise), Lapse: min(0.01, p.noise)}
	sum := exercises.Tried{Level: level}
	var marking scoring.Marking
	for tr, ok := run.Next(); ok; tr, ok = run.Next() {
		if p.look != nil {
			p.look(tr)
		}
		a := kind.Simulate(tr, s, who, p.rng)
		run.Take(tr, a)
		m := marking.Mark(scoring.Attempt{Trial: tr, Answer: a}, s.Sheet).Judged(p.kind)
		sum.Right, sum.Of = sum.Right+m.Right, sum.Of+m.Of
		p.answers++
	}
	p.tried = append(p.tried, sum)
	return sum
}

// For levels an answer is right whose excess is perceptible to no more than half, and of a
// colour without a sheet what is acceptable: at the limits both are right.
func TestWhatIsRightForALevelAtItsLimits(t *testing.T) {
	shade := func(excess float64) scoring.Mark {
		return scoring.Mark{HasSheet: true, HasColour: true, Excess: excess}
	}
	for _, c := range []struct {
		mark  scoring.Mark
		right float64
	}{
		{shade(scoring.Perceptibility.Value), 1},
		{shade(math.Nextafter(scoring.Perceptibility.Value, 9)), 0},
		{scoring.Mark{HasColour: true, Band: scoring.Acceptable}, 1},
		{scoring.Mark{HasColour: true, Band: scoring.MismatchA}, 0},
	} {
		if got := c.mark.Judged(exercises.ValueFirst); got.Right != c.right || got.Of != 1 {
			t.Errorf("excess %v, %v: %v of %v right, want %v", c.mark.Excess, c.mark.Band, got.Right, got.Of, c.right)
		}
	}
}
