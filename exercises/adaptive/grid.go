package adaptive

import (
	"errors"
	"fmt"
	"iter"
	"math"

	"shadedrill/exercises/psychometric"
)

// axis is the values that one parameter may have and how likely each is held to
// be beforehand. Weights may have any positive sum; nil means equally likely.
type axis struct {
	Values  []float64
	Weights []float64
}

// values is an axis whose values are equally likely beforehand.
func values(v ...float64) axis { return axis{Values: v} }

// geometric is an axis of n values from lo to hi in equal ratios, n ≥ 2, 0 < lo < hi.
func geometric(lo, hi float64, n int) axis {
	v := make([]float64, n)
	for i := range v {
		v[i] = lo * math.Pow(hi/lo, float64(i)/float64(n-1))
	}
	return axis{Values: v}
}

// logNormal is the axis with weights in proportion to the density of a normal
// distribution of the values' logarithm.
func (a axis) logNormal(median, sdOfLog float64) axis {
	a.Weights = make([]float64, len(a.Values))
	for i, v := range a.Values {
		d := math.Log(v/median) / sdOfLog
		a.Weights[i] = math.Exp(-d * d / 2)
	}
	return a
}

// weight is the prior weight of value i.
func (a axis) weight(i int) float64 {
	if a.Weights == nil {
		return 1
	}
	return a.Weights[i]
}

func (a axis) validate(name string) error {
	if len(a.Values) == 0 {
		return fmt.Errorf("the grid has no values of the %s", name)
	}
	if a.Weights != nil && len(a.Weights) != len(a.Values) {
		return fmt.Errorf("the grid has %d values of the %s and %d weights", len(a.Values), name, len(a.Weights))
	}
	for i, v := range a.Values {
		if err := finite(v); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if i > 0 && v <= a.Values[i-1] {
			return fmt.Errorf("the values of the %s must rise", name)
		}
		if w := a.weight(i); !(w >= 0) || math.IsInf(w, 0) {
			return fmt.Errorf("a weight of the %s is %v", name, w)
		}
	}
	return nil
}

// grid is the parameters that a Bayesian method holds possible.
type grid struct {
	Thresholds, Slopes, Guesses, Lapses axis
}

// Table is the probability of every answer at every level under every point of a
// grid. It takes a moment to compute, is never changed and may be shared by any
// number of methods, at the same time too.
type Table struct {
	levels Levels
	grid   grid
	points []psychometric.Function // each point's curve; it is NaN everywhere where there is none

	nuisance int       // points of the grid for each threshold
	prior    []float64 // over the grid, threshold slowest; sums to 1
	psi      [][]float64
	entropy  [][]float64 // of one answer, nats, for each level and point
	ofZero   []float64   // ψ(0): a catch trial
}

// newTable computes the table. It fails when a level or the grid is malformed and
// when no point of the grid is a possible curve.
func newTable(curve psychometric.Sigmoid, levels Levels, grid grid) (*Table, error) {
	if len(levels) == 0 {
		return nil, errors.New("there is no level that can be shown")
	}
	for _, a := range []struct {
		axis axis
		name string
	}{{grid.Thresholds, "threshold"}, {grid.Slopes, "slope"}, {grid.Guesses, "guess rate"}, {grid.Lapses, "lapse rate"}} {
		if err := a.axis.validate(a.name); err != nil {
			return nil, err
		}
	}
	t := &Table{levels: levels, grid: grid,
		nuisance: len(grid.Slopes.Values) * len(grid.Guesses.Values) * len(grid.Lapses.Values)}
	for p, weight := range grid.all() {
		// Where a curve lies takes as long to find as what it is at a level.
		point, _ := curve.Function(p)
		t.points, t.prior = append(t.points, point), append(t.prior, weight)
	}
	possible := make([]bool, len(t.prior))
	for i := range possible {
		possible[i] = true
	}
	for _, x := range levels {
		psi := t.column(x)
		h := make([]float64, len(psi))
		for i, p := range psi {
			if !(p >= 0 && p <= 1) {
				possible[i] = false
				psi[i] = 0.5
			}
			h[i] = binaryEntropy(psi[i])
		}
		t.psi, t.entropy = append(t.psi, psi), append(t.entropy, h)
	}
	for i := range t.prior {
		if !possible[i] {
			t.prior[i] = 0
		}
	}
	if !normalise(t.prior) {
		return nil, errors.New("no point of the grid is a possible curve")
	}
	t.ofZero = t.column(0)
	return t, nil
}

// column is ψ(x) for every point of the grid.
func (t *Table) column(x float64) []float64 {
	out := make([]float64, len(t.points))
	for i, f := range t.points {
		out[i] = f.At(x)
	}
	return out
}

// all goes through the points of the grid, threshold slowest, with their prior weights.
func (g grid) all() iter.Seq2[psychometric.Parameters, float64] {
	return func(yield func(psychometric.Parameters, float64) bool) {
		for i, threshold := range g.Thresholds.Values {
			for j, slope := range g.Slopes.Values {
				for k, guess := range g.Guesses.Values {
					for l, lapse := range g.Lapses.Values {
						weight := g.Thresholds.weight(i) * g.Slopes.weight(j) * g.Guesses.weight(k) * g.Lapses.weight(l)
						if !yield(psychometric.Parameters{Threshold: threshold, Slope: slope, Guess: guess, Lapse: lapse}, weight) {
							return
						}
					}
				}
			}
		}
	}
}

// Levels is what the table's methods can propose.
func (t *Table) Levels() Levels { return t.levels }

// binaryEntropy is the entropy of one answer in nats.
func binaryEntropy(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return -p*math.Log(p) - (1-p)*math.Log1p(-p)
}

// normalise makes w sum to 1; false, and w unchanged, when it has no positive sum.
func normalise(w []float64) bool {
	var sum float64
	for _, x := range w {
		sum += x
	}
	if !(sum > 0) || math.IsInf(sum, 0) {
		return false
	}
	for i := range w {
		w[i] /= sum
	}
	return true
}
