package items

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

func heavy() bool { return os.Getenv("SHADEDRILL_HEAVY") == "1" }

// runs is how many simulated classes each coverage is measured on.
func runs() int {
	if heavy() {
		return 10_000
	}
	return 500
}

// within fails when a measured coverage lies outside lo to hi by more than one standard
// error of the measurement itself.
func within(t *testing.T, what string, hits, count int, lo, hi float64) {
	t.Helper()
	got := float64(hits) / float64(count)
	chance := math.Sqrt(0.95 * 0.05 / float64(count))
	t.Logf("%-52s %.1f %%", what, 100*got)
	if got < lo-chance || got > hi+chance {
		t.Errorf("%s: covers %.1f %%, want %.1f to %.1f %%", what, 100*got, 100*lo, 100*hi)
	}
}

var trueDifficulties = []float64{-1.5, -1, -0.5, -0.2, 0, 0.3, 0.5, 0.9, 1.5, 0}

// rightProbability is the Rasch model's, 1/(1+e^−(θ−b)), ability θ and difficulty b.
func rightProbability(theta, b float64) float64 { return 1 / (1 + math.Exp(b-theta)) }

// class draws learners of normal ability who answer by the Rasch model.
func class(r *rand.Rand, learners int, spread float64) Scores {
	s := make(Scores, learners)
	for l := range s {
		theta := spread * r.NormFloat64()
		for _, b := range trueDifficulties {
			score := 0.0
			if r.Float64() < rightProbability(theta, b) {
				score = 1
			}
			s[l] = append(s[l], score)
		}
	}
	return s
}

func TestCoverageOfItemAnalysis(t *testing.T) {
	// The true values are those of a very large class.
	learners := 100_000
	if heavy() {
		learners = 1_000_000
	}
	truth := analyse(t, class(rand.New(rand.NewPCG(1, 1)), learners, 1.2))
	for _, n := range []int{20, 50, 200} {
		r := rand.New(rand.NewPCG(uint64(n), 2026))
		var rest, difficulty, alpha int
		count := runs()
		for range count {
			a := analyse(t, class(r, n, 1.2))
			if a.Items[4].Rest.Covers(truth.Items[4].Rest.Value) {
				rest++
			}
			if a.Items[0].Difficulty.Covers(truth.Items[0].Difficulty.Value) {
				difficulty++
			}
			if a.Alpha.Covers(truth.Alpha.Value) {
				alpha++
			}
		}
		within(t, fmt.Sprintf("item–rest, %d learners", n), rest, count, 0.92, 0.975)
		within(t, fmt.Sprintf("difficulty, %d learners", n), difficulty, count, 0.92, 0.975)
		within(t, fmt.Sprintf("KR-20, %d learners", n), alpha, count, 0.92, 0.975)
	}
}
