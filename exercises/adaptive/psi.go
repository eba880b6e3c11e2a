package adaptive

import "shadedrill/exercises/psychometric"

// Psi is the psi method (Kontsevich & Tyler 1999, Vision Res 39:2729–2737): the
// expected-entropy rule over the location α and the scale β of a cumulative normal,
// guess and lapse rate taken as known,
//
//	ψ(x) = γ + (1 − γ − λ)·Φ((x − α)/β).
//
// It is QUEST+ on a grid of two dimensions, with the posterior mean as estimate.
type Psi struct{ *QuestPlus }

// NewPsi lays the grid over locations and scales, all equally likely beforehand.
func NewPsi(levels Levels, locations, scales Axis, guess, lapse float64, stop Stop) (Psi, error) {
	table, err := NewTable(psychometric.Sigmoid{Family: psychometric.Normal, Target: psychometric.Core(0.5)},
		levels, Grid{Thresholds: locations, Slopes: scales, Guesses: Values(guess), Lapses: Values(lapse)})
	if err != nil {
		return Psi{}, err
	}
	q, err := NewQuestPlus(table, Everything, stop)
	return Psi{q}, err
}

// Estimate is the posterior mean of location and scale.
func (p Psi) Estimate() (location, scale float64) {
	mean, _ := p.Mean()
	return mean.Threshold, mean.Slope
}
