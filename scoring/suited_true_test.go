package scoring_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"shadedrill/exercises"
)

const (
	eachDrill, drillsDone = 8, 25
	learnersOf            = 40
	near85                = 0.07
)

// What is reached by whole exercises, learner by learner, as exercises/README.md tells it: not
// the share that happened to be right, but the true chance at the level that somebody is
// put on. It is measured first, with hundreds of answers at each level; whom no level of a
// ladder suits, since even the nearest is more than 7 points off, is left out. Once with
// nothing else known of the learners, and once with 40 answers of theirs in each of the
// other exercises.
func TestLevelsByTheTrueChance(t *testing.T) {
	if os.Getenv("SHADEDRILL_HEAVY") == "" {
		t.Skip("minutes of simulated answers; SHADEDRILL_HEAVY=1")
	}
	var alone, among reach
	for _, noise := range []float64{0.2, 0.4, 0.6, 0.8, 1, 1.4, 2, 2.8} {
		chances := map[exercises.KindID][]float64{}
		for _, kind := range planned {
			list := make([]float64, len(exercises.Levels(kind))+1)
			for level := 1; level < len(list); level++ {
				list[level] = trueChance(t, kind, noise, level)
			}
			chances[kind] = list
		}
		for _, kind := range planned {
			if !slices.ContainsFunc(chances[kind], suits) {
				t.Logf("no level suits in %s with a scatter of %.1f: %.2f", kind, noise, chances[kind][1:])
				continue
			}
			rng := rand.New(rand.NewPCG(1, 2))
			for range learnersOf {
				alone.follow(chances[kind], rng, func(tried []exercises.Tried) int { return exercises.Suited(len(exercises.Levels(kind)), tried).Level })
				others := othersTried(kind, chances, rng)
				among.follow(chances[kind], rng, func(tried []exercises.Tried) int { return levelOnPlan(t, kind, tried, others) })
			}
		}
	}
	t.Logf("%.0f pairs have a level that suits; nothing else known: %v", alone.learners/learnersOf, alone)
	t.Logf("other exercises known: %v", among)
	if n := alone.learners / learnersOf; n < 54 || alone.after40 < 0.72*alone.learners || alone.kept < 0.81*alone.learners || alone.means < 0.93*alone.learners {
		t.Errorf("less than the README says: %v", alone)
	}
	if among.after40 < 0.8*among.learners || among.kept < 0.83*among.learners || among.means < 0.94*among.learners {
		t.Errorf("less than the README says where other exercises are known: %v", among)
	}
}

var planned = []exercises.KindID{exercises.ValueFirst, exercises.Halfway, exercises.Thirds, exercises.LineUp, exercises.TryIn, exercises.Combination, exercises.Lighting, exercises.Whitening}

func suits(chance float64) bool { return math.Abs(chance-exercises.SuitedShare) <= near85 }

// reach counts learners, and how many stand where they should.
type reach struct{ learners, after40, kept, means float64 }

func (r reach) String() string {
	of := func(x float64) float64 { return 100 * x / r.learners }
	return fmt.Sprintf("%.0f %% of learners are on one after 40 answers, %.0f %% of the drills after that are, and of %.0f %% the mean chance over them is within 7 points", of(r.after40), of(r.kept), of(r.means))
}

// follow lets somebody do drills of eight, each at the level that is chosen.
func (r *reach) follow(chance []float64, rng *rand.Rand, choose func([]exercises.Tried) int) {
	var tried []exercises.Tried
	mean := 0.0
	for d := range drillsDone {
		level := choose(tried)
		if suits(chance[level]) && d == 40/eachDrill {
			r.after40++
		}
		if d >= 40/eachDrill {
			const rest = drillsDone - 40/eachDrill
			if mean += chance[level] / rest; suits(chance[level]) {
				r.kept += 1.0 / rest
			}
		}
		tried = append(tried, drilled(chance, level, rng))
	}
	if r.learners++; suits(mean) {
		r.means++
	}
}

func drilled(chance []float64, level int, rng *rand.Rand) exercises.Tried {
	now := exercises.Tried{Level: level, Of: eachDrill}
	for range eachDrill {
		if rng.Float64() < chance[level] {
			now.Right++
		}
	}
	return now
}

// othersTried is what somebody did in the other exercises: 40 answers each.
func othersTried(kind exercises.KindID, chances map[exercises.KindID][]float64, rng *rand.Rand) (list []exercises.Practised) {
	for _, k := range planned {
		if k == kind {
			continue
		}
		p := exercises.Practised{Kind: k}
		// Mastered and practised yesterday, so that they leave the plan to the one asked about.
		for ago := range 5 {
			p.Days = append(p.Days, exercises.PracticeDay{Start: planDay.AddDate(0, 0, ago-5), Right: 16, Of: 16, Quick: true, Level: 99})
		}
		for range 40 / eachDrill {
			p.Tried = append(p.Tried, drilled(chances[k], exercises.Suited(len(exercises.Levels(k)), p.Tried).Level, rng))
		}
		list = append(list, p)
	}
	return list
}

var planDay = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

func levelOnPlan(t *testing.T, kind exercises.KindID, tried []exercises.Tried, others []exercises.Practised) int {
	t.Helper()
	own := exercises.Practised{Kind: kind, Tried: tried, Days: []exercises.PracticeDay{{Start: planDay.AddDate(0, 0, -20), Right: 1, Of: 16}}}
	for _, s := range exercises.PlanDay(planDay, 20, append([]exercises.Practised{own}, others...), exercises.Missed{}, nil).Drills {
		if s.Kind == kind {
			return s.Level
		}
	}
	t.Fatalf("%s is not on the plan", kind)
	return 0
}

// trueChance is the share of right answers at a level, of 240.
func trueChance(t *testing.T, kind exercises.KindID, noise float64, level int) float64 {
	t.Helper()
	p := practising{kind: kind, noise: noise, rng: rand.New(rand.NewPCG(uint64(level), 40))}
	var sum exercises.Tried
	for p.answers < 240 {
		d := p.drillAt(t, level)
		sum.Right, sum.Of = sum.Right+d.Right, sum.Of+d.Of
	}
	return sum.Right / sum.Of
}
