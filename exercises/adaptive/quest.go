package adaptive

import (
	"fmt"
	"math"
)

// QuestRule says where QUEST puts the next trial.
type QuestRule uint8

const (
	// QuestQuantile is the quantile of the posterior that tells most (Pelli 1987).
	QuestQuantile QuestRule = iota
	// QuestMode is the most probable threshold (Watson & Pelli 1983).
	QuestMode
	// QuestMean is the mean of the posterior (King-Smith et al. 1994).
	QuestMean
)

// QuestConfig describes a QUEST run. Guess and SD are in log10 units of the level.
type QuestConfig struct {
	Levels Levels    // what can be shown; all above 0
	Rule   QuestRule // where to ask next

	Guess float64 // log10 of the threshold expected beforehand
	SD    float64 // of that expectation, log10 units, above 0
	P     float64 // the proportion at threshold, 0.82 as a rule
	Beta  float64 // the Weibull's steepness, 3.5 as a rule
	Delta float64 // the lapse rate δ, 0.01 as a rule
	Gamma float64 // the guess rate γ, 1/m in m-alternative forced choice
	Grain float64 // the grid's step, 0.01 as a rule
	Range float64 // the grid's extent around Guess, 5 as a rule
	Stop  Stop
}

// Quest is QUEST (Watson & Pelli 1983, Percept Psychophys 33:113–120): the
// posterior of the threshold alone, every other parameter taken as known, with
//
//	p(x) = δγ + (1 − δ)(1 − (1 − γ)·exp(−10^(β(x − T + ε)))),  x = log10 level.
type Quest struct {
	config        QuestConfig
	epsilon       float64 // makes p = P at x = T
	quantileOrder float64
	offsets       []float64 // the grid of T − Guess
	posterior     []float64
	trials        int
}

// NewQuest checks the configuration and computes the prior.
func NewQuest(c QuestConfig) (*Quest, error) {
	if err := c.Stop.validate(); err != nil {
		return nil, err
	}
	if len(c.Levels) == 0 || c.Levels.Lowest() <= 0 {
		return nil, fmt.Errorf("QUEST works on a logarithmic axis and needs levels above 0")
	}
	for name, v := range map[string]float64{"SD": c.SD, "beta": c.Beta, "grain": c.Grain} {
		if !(v > 0) || math.IsInf(v, 0) {
			return nil, fmt.Errorf("QUEST: %s must be above 0, got %v", name, v)
		}
	}
	if err := finite(c.Guess); err != nil {
		return nil, fmt.Errorf("QUEST: expected threshold: %w", err)
	}
	if !(c.Gamma >= 0 && c.Delta >= 0 && c.Gamma < c.P && c.P < 1-c.Delta+c.Delta*c.Gamma) {
		return nil, fmt.Errorf("QUEST: the proportion at threshold %v must lie between the guess rate %v and what lapses of %v leave", c.P, c.Gamma, c.Delta)
	}
	half := math.Ceil(c.Range / c.Grain / 2)
	if !(half >= 1 && half <= 50000) {
		return nil, fmt.Errorf("QUEST: a range of %v in steps of %v is no usable grid", c.Range, c.Grain)
	}
	q := &Quest{config: c}
	n := int(half)
	for i := -n; i <= n; i++ {
		x := float64(i) * c.Grain
		q.offsets = append(q.offsets, x)
		q.posterior = append(q.posterior, math.Exp(-0.5*(x/c.SD)*(x/c.SD)))
	}
	normalise(q.posterior)
	if err := q.placeThreshold(2 * n); err != nil {
		return nil, err
	}
	return q, nil
}

// placeThreshold finds ε by linear interpolation on the grid, as the published
// program does (it is within 1e-5 of the exact root at the usual grain), and the
// order of the quantile that tells most from the curve's two ends.
func (q *Quest) placeThreshold(n int) error {
	c := q.config
	found := false
	for i := -n; i < n && !found; i++ {
		x0, x1 := float64(i)*c.Grain, float64(i+1)*c.Grain
		p0, p1 := q.p(x0), q.p(x1)
		if p0 < c.P && c.P <= p1 {
			q.epsilon = x0 + (c.P-p0)*(x1-x0)/(p1-p0)
			found = true
		}
	}
	if !found {
		return fmt.Errorf("QUEST: the curve does not reach %v within a range of %v", c.P, c.Range)
	}
	const tiny = 1e-14 // as in the published program: keeps the logarithms finite
	lo, hi := q.p(-float64(n)*c.Grain), q.p(float64(n)*c.Grain)
	e := hi*math.Log(hi+tiny) - lo*math.Log(lo+tiny) +
		(1-hi+tiny)*math.Log(1-hi+tiny) - (1-lo+tiny)*math.Log(1-lo+tiny)
	e = 1 / (1 + math.Exp(e/(lo-hi)))
	q.quantileOrder = (e - lo) / (hi - lo)
	return nil
}

// p is the probability of a right answer at x log10 units above the threshold.
func (q *Quest) p(x float64) float64 {
	c := q.config
	return c.Delta*c.Gamma + (1-c.Delta)*(1-(1-c.Gamma)*math.Exp(-math.Pow(10, c.Beta*(x+q.epsilon))))
}

// Next is the level that can be shown nearest, on the logarithmic axis, to where
// the rule wants to ask.
func (q *Quest) Next() float64 {
	var x float64
	switch q.config.Rule {
	case QuestMode:
		x = q.mode()
	case QuestMean:
		x, _ = q.mean()
	default:
		x = q.quantile(q.quantileOrder)
	}
	best, distance := q.config.Levels[0], math.Inf(1)
	for _, level := range q.config.Levels {
		if d := math.Abs(math.Log10(level) - x); d < distance {
			best, distance = level, d
		}
	}
	return best
}

// Take multiplies the posterior by the likelihood of the answer. A level of 0 or
// below says nothing about the threshold, yet counts as a trial.
func (q *Quest) Take(level float64, yes bool) error {
	if err := finite(level); err != nil {
		return err
	}
	if level > 0 {
		q.update(math.Log10(level), yes)
	}
	q.trials++
	return nil
}

func (q *Quest) update(x float64, yes bool) {
	updated := make([]float64, len(q.posterior))
	for i, w := range q.posterior {
		p := q.p(x - q.config.Guess - q.offsets[i])
		if !yes {
			p = 1 - p
		}
		updated[i] = w * p
	}
	if normalise(updated) {
		q.posterior = updated
	}
}

// Trials is the number of answers taken.
func (q *Quest) Trials() int { return q.trials }

// Done reports whether the largest number of trials has been reached, or the
// posterior is as narrow as asked.
func (q *Quest) Done() bool {
	if q.trials >= q.config.Stop.Trials {
		return true
	}
	s := q.config.Stop
	if q.trials < s.AtLeast || s.Width == 0 && s.RelativeWidth == 0 {
		return false
	}
	lo, hi := q.Quantile(0.025), q.Quantile(0.975)
	return hi-lo < s.Width || hi-lo < s.RelativeWidth*q.Quantile(0.5)
}

// Threshold is the posterior mean in the unit of the levels (the mean is taken on
// the logarithmic axis), and the posterior SD in log10 units.
func (q *Quest) Threshold() (threshold, sdLog10 float64) {
	mean, sd := q.mean()
	return math.Pow(10, mean), sd
}

// Quantile is the threshold below which a share p of the posterior lies, in the
// unit of the levels.
func (q *Quest) Quantile(p float64) float64 { return math.Pow(10, q.quantile(p)) }

func (q *Quest) mean() (mean, sd float64) {
	var first, second float64
	for i, w := range q.posterior {
		first += w * q.offsets[i]
		second += w * q.offsets[i] * q.offsets[i]
	}
	return q.config.Guess + first, math.Sqrt(max(0, second-first*first))
}

func (q *Quest) mode() float64 {
	best := 0
	for i, w := range q.posterior {
		if w > q.posterior[best] {
			best = i
		}
	}
	return q.config.Guess + q.offsets[best]
}

// quantile interpolates the cumulative posterior between the points of the grid.
func (q *Quest) quantile(p float64) float64 {
	var below float64
	for i, w := range q.posterior {
		if below+w >= p && w > 0 {
			if i == 0 {
				return q.config.Guess + q.offsets[0]
			}
			return q.config.Guess + q.offsets[i-1] + q.config.Grain*(p-below)/w
		}
		below += w
	}
	return q.config.Guess + q.offsets[len(q.offsets)-1]
}
