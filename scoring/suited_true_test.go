package scoring_test

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"shadedrill/exercises"
)

// What is reached by whole exercises, learner by learner, as exercises/README.md tells it: not
// the share that happened to be right, but the true chance at the level that somebody is
// put on. It is measured first, with hundreds of answers at each level; whom no level of a
// ladder suits, since even the nearest is more than 7 points off, is left out.
func TestLevelsByTheTrueChance(t *testing.T) {
	if os.Getenv("SHADEDRILL_HEAVY") == "" {
		t.Skip("a minute of simulated answers; SHADEDRILL_HEAVY=1")
	}
	const each, drills, learners, within = 8, 25, 100, 0.07
	var after40, kept, means, reached float64
	for _, kind := range []exercises.KindID{exercises.ValueFirst, exercises.Halfway, exercises.Thirds, exercises.LineUp, exercises.TryIn, exercises.Combination, exercises.Lighting, exercises.Whitening} {
		n := len(exercises.Levels(kind))
		for _, noise := range []float64{0.2, 0.4, 0.6, 0.8, 1, 1.4, 2, 2.8} {
			chance, suits := make([]float64, n+1), 0
			for level := 1; level <= n; level++ {
				chance[level] = trueChance(t, kind, noise, level)
				if math.Abs(chance[level]-exercises.SuitedShare) <= within {
					suits++
				}
			}
			if suits == 0 {
				continue
			}
			reached++
			rng := rand.New(rand.NewPCG(1, 2))
			for range learners {
				var tried []exercises.Tried
				mean := 0.0
				for d := range drills {
					level := exercises.Suited(n, tried).Level
					near := 0.0
					if math.Abs(chance[level]-exercises.SuitedShare) <= within {
						near = 1
					}
					if d == 40/each {
						after40 += near / learners
					}
					if d >= 40/each {
						kept += near / learners / (drills - 40/each)
						mean += chance[level] / (drills - 40/each)
					}
					now := exercises.Tried{Level: level, Of: each}
					for range each {
						if rng.Float64() < chance[level] {
							now.Right++
						}
					}
					tried = append(tried, now)
				}
				if math.Abs(mean-exercises.SuitedShare) <= within {
					means += 1.0 / learners
				}
			}
		}
	}
	t.Logf("%.0f pairs of exercise and scatter have a level that suits: %.0f %% of learners are on one after 40 answers, %.0f %% of the drills after that are, and of %.0f %% of learners the mean chance over them is within 7 points",
		reached, 100*after40/reached, 100*kept/reached, 100*means/reached)
	if reached < 35 || after40/reached < 0.75 || kept/reached < 0.83 || means/reached < 0.95 {
		t.Error("less than the README says")
	}
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
