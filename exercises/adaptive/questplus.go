package adaptive

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
)

// Aim says what the next trial is to teach most about.
type Aim uint8

const (
	// Everything lowers the expected entropy of all parameters together, as QUEST+
	// and psi were published.
	Everything Aim = iota
	// ThresholdAlone lowers the expected entropy of the threshold, the other
	// parameters averaged out (Prins 2013, J Vision 13(7):3): no trial is spent on a
	// slope or lapse rate unless the threshold becomes clearer by it.
	ThresholdAlone
)

// QuestPlus is QUEST+ (Watson 2017, J Vision 17(3):10): the posterior over a grid
// of parameters, and the level that lowers its expected entropy most.
//
// The paper minimises EH(x) = Σr p(r|x)·H[posterior after r]. This equals H minus
// the information that an answer at x carries about the parameters,
//
//	EH(x) = H − [h(Σθ p(θ)ψ(x,θ)) − Σθ p(θ)h(ψ(x,θ))],  h the binary entropy,
//
// which needs two sums over the grid for each level and no logarithm in them.
type QuestPlus struct {
	table     *Table
	aim       Aim
	stop      Stop
	posterior []float64
	trials    int
	next      int // index of the proposed level, −1 when not yet chosen
}

// NewQuestPlus starts from the table's prior.
func NewQuestPlus(t *Table, aim Aim, stop Stop) (*QuestPlus, error) {
	if t == nil {
		return nil, errors.New("QUEST+ needs a table")
	}
	if err := stop.validate(); err != nil {
		return nil, err
	}
	return &QuestPlus{table: t, aim: aim, stop: stop, posterior: append([]float64(nil), t.prior...), next: -1}, nil
}

// Next is the level of the smallest expected entropy; of equal ones the lowest.
func (q *QuestPlus) Next() float64 {
	if q.next < 0 {
		best := math.Inf(-1)
		masses := q.marginal()
		for i := range q.table.levels {
			// A gain below rounding error is no gain: equal levels stay equal
			// whatever the order of the sums.
			if g := q.information(i, masses); g > best+1e-12 {
				best, q.next = g, i
			}
		}
	}
	return q.table.levels[q.next]
}

// negligible is the mass of a threshold that is left out of sums over the grid: all
// of them together change no expected entropy by more than rounding does.
const negligible = 1e-14

// information is what one answer at level i is expected to tell, in nats; masses is
// the posterior of the threshold alone.
func (q *QuestPlus) information(i int, masses []float64) float64 {
	psi, entropy := q.table.psi[i], q.table.entropy[i]
	if q.aim == Everything {
		return binaryEntropy(floats.Dot(q.posterior, psi)) - floats.Dot(q.posterior, entropy)
	}
	var yes, noise float64
	for k, mass := range masses {
		if mass < negligible {
			continue
		}
		from, to := k*q.table.nuisance, (k+1)*q.table.nuisance
		mean := floats.Dot(q.posterior[from:to], psi[from:to])
		yes += mean
		noise += mass * binaryEntropy(mean/mass)
	}
	return binaryEntropy(yes) - noise
}

// Take multiplies the posterior by the likelihood of the answer (Bayes' rule).
func (q *QuestPlus) Take(level float64, yes bool) error {
	if err := finite(level); err != nil {
		return err
	}
	q.update(q.column(level), yes)
	q.trials++
	return nil
}

// TakeCatch learns about guesses from a trial in which nothing differed.
func (q *QuestPlus) TakeCatch(yes bool) { q.update(q.table.ofZero, yes) }

func (q *QuestPlus) update(psi []float64, yes bool) {
	updated := make([]float64, len(q.posterior))
	for i, w := range q.posterior {
		p := psi[i]
		if !yes {
			p = 1 - p
		}
		if w > 0 && p > 0 {
			updated[i] = w * p
		}
	}
	// An answer that every point of the grid calls impossible teaches nothing: the
	// grid is then wrong, not the observer.
	if normalise(updated) {
		q.posterior = updated
	}
	q.next = -1
}

// column is ψ at a level, from the table when the level is in it.
func (q *QuestPlus) column(level float64) []float64 {
	for i, x := range q.table.levels {
		if x == level {
			return q.table.psi[i]
		}
	}
	return q.table.column(level)
}

// Trials is the number of answers taken, catch trials apart.
func (q *QuestPlus) Trials() int { return q.trials }

// Done reports whether the largest number of trials has been reached, or the
// posterior is as narrow as asked.
func (q *QuestPlus) Done() bool {
	if q.trials >= q.stop.Trials {
		return true
	}
	if q.trials < q.stop.AtLeast || q.stop.Width == 0 && q.stop.RelativeWidth == 0 {
		return false
	}
	lo, hi := q.Quantile(0.025), q.Quantile(0.975)
	return hi-lo < q.stop.Width || hi-lo < q.stop.RelativeWidth*math.Abs(q.Quantile(0.5))
}

// marginal is the posterior of the threshold alone, over the grid's thresholds.
func (q *QuestPlus) marginal() []float64 {
	m := make([]float64, len(q.table.grid.Thresholds.Values))
	for i := range m {
		for _, w := range q.posterior[i*q.table.nuisance : (i+1)*q.table.nuisance] {
			m[i] += w
		}
	}
	return m
}

// Quantile is the threshold below which a share p of its posterior lies, each
// grid value's mass spread evenly over the cell around it.
func (q *QuestPlus) Quantile(p float64) float64 {
	values, marginal := q.table.grid.Thresholds.Values, q.marginal()
	if len(values) == 1 {
		return values[0]
	}
	var below float64
	for i, w := range marginal {
		if below+w >= p && w > 0 {
			lo, hi := values[i], values[i]
			if i > 0 {
				lo = (values[i-1] + values[i]) / 2
			}
			if i < len(values)-1 {
				hi = (values[i] + values[i+1]) / 2
			}
			return lo + (hi-lo)*(p-below)/w
		}
		below += w
	}
	return values[len(values)-1]
}
