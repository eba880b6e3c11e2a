// Package threshold measures how small a difference an observer sees, or how large
// a one they accept, from recorded answers: fits with intervals, false alarms and
// sensitivity, goodness of fit, and what must be said beside the number.
//
// It takes plain numbers (levels in ΔE00, answers yes or no) and returns
// scoring.Estimate values.
package threshold

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/optimize"

	"shadedrill/exercises/psychometric"
)

// Range bounds a parameter, ends included. Equal ends fix it.
type Range struct{ Lo, Hi float64 }

// fixed is the range of a parameter that is known.
func fixed(v float64) Range { return Range{v, v} }

func (r Range) fixed() bool { return r.Lo == r.Hi }

// Model is a curve and what its parameters may be.
type Model struct {
	Curve                          psychometric.Curve
	Threshold, Slope, Guess, Lapse Range

	// SlopePrior, when its SD is above 0, is a normal prior of the slope's natural
	// logarithm: its log density is added to the log-likelihood, so that a few
	// answers that happen to fall in order do not make the curve a cliff. Deviances
	// are reported without it.
	SlopePrior Prior

	// Inflation widens profile intervals: the χ² quantile of the likelihood ratio is
	// multiplied by it. The zero value is right for levels fixed beforehand.
	Inflation Inflation
}

// Inflation is the factor Base + Shallow/slope, the slope being the fitted one, and
// never below 1. Shallow must not be below 0.
type Inflation struct{ Base, Shallow float64 }

func (i Inflation) at(slope float64) float64 { return max(1, i.Base+i.Shallow/slope) }

// Prior is a normal distribution of a logarithm.
type Prior struct{ Mean, SD float64 }

func (m Model) validate() error {
	if m.Curve == nil {
		return errors.New("a fit needs a curve")
	}
	for _, r := range []struct {
		name string
		Range
		lo, hi float64
	}{
		{"threshold", m.Threshold, math.Inf(-1), math.Inf(1)},
		{"slope", m.Slope, math.SmallestNonzeroFloat64, math.MaxFloat64},
		{"guess rate", m.Guess, 0, 1},
		{"lapse rate", m.Lapse, 0, 1},
	} {
		if !(r.Lo <= r.Hi && r.lo <= r.Lo && r.Hi <= r.hi) || math.IsInf(r.Lo, 0) || math.IsInf(r.Hi, 0) {
			return fmt.Errorf("the %s cannot range from %v to %v", r.name, r.Lo, r.Hi)
		}
	}
	if i := m.Inflation; !(i.Base >= 0 && i.Base < 100 && i.Shallow >= 0 && i.Shallow < 100) {
		return fmt.Errorf("an inflation of %v + %v/slope cannot be meant", i.Base, i.Shallow)
	}
	return nil
}

// axis carries a bounded parameter to the whole real line and back: by sin², which
// reaches both ends, after a logarithm where only ratios matter.
type axis struct {
	Range
	log bool
}

func (a axis) value(u float64) float64 {
	if a.fixed() {
		return a.Lo
	}
	s := math.Sin(u)
	if a.log {
		return math.Exp(math.Log(a.Lo) + math.Log(a.Hi/a.Lo)*s*s)
	}
	return a.Lo + (a.Hi-a.Lo)*s*s
}

func (a axis) coordinate(v float64) float64 {
	if a.fixed() {
		return 0
	}
	share := (v - a.Lo) / (a.Hi - a.Lo)
	if a.log {
		share = math.Log(v/a.Lo) / math.Log(a.Hi/a.Lo)
	}
	return math.Asin(math.Sqrt(min(max(share, 0), 1)))
}

// fitter maximises the likelihood of one set of counts.
type fitter struct {
	model  Model
	counts []psychometric.Count
	logs   []float64 // of the levels
	axes   [4]axis   // threshold, slope, guess, lapse

	// The curve looked at last, without guesses and lapses: 1 − F at every level. For
	// its sake a fitter, and so a Fit, is one goroutine's at a time.
	location, slope float64
	survivals       []float64
	looks           []look // of the hill looked at last
}

func newFitter(m Model, counts []psychometric.Count) (*fitter, error) {
	if err := m.validate(); err != nil {
		return nil, err
	}
	for _, c := range counts {
		if err := c.Validate(); err != nil {
			return nil, err
		}
	}
	counts = psychometric.Pool(counts)
	if len(counts) == 0 {
		return nil, errors.New("there are no answers to fit")
	}
	logs := make([]float64, len(counts))
	for i, c := range counts {
		logs[i] = math.Log(c.Level)
	}
	return &fitter{model: m, counts: counts, logs: logs, axes: [4]axis{
		{m.Threshold, m.Threshold.Lo > 0}, {m.Slope, true}, {m.Guess, false}, {m.Lapse, false},
	}}, nil
}

// objective is the log-likelihood, with the slope's prior where there is one; −∞
// where the parameters make no curve or an answer impossible.
func (f *fitter) objective(p psychometric.Parameters) float64 {
	return f.objectiveAbove(p, math.Inf(-1))
}

// objectiveAbove is the objective where that is above a value; elsewhere it may be −∞,
// found sooner.
func (f *fitter) objectiveAbove(p psychometric.Parameters, above float64) float64 {
	v := f.logLikelihood(p, above)
	if math.IsNaN(v) {
		return math.Inf(-1)
	}
	if f.model.SlopePrior.SD > 0 {
		d := (math.Log(p.Slope) - f.model.SlopePrior.Mean) / f.model.SlopePrior.SD
		v -= d * d / 2
	}
	return v
}

// parameter is one of a curve's four.
type parameter int

const (
	ofThreshold parameter = iota
	ofSlope
	ofGuess
	ofLapse

	none parameter = -1
)

// point is parameters as an array, in the order of the axes.
type point [4]float64

func (v point) parameters() psychometric.Parameters {
	return psychometric.Parameters{Threshold: v[0], Slope: v[1], Guess: v[2], Lapse: v[3]}
}

func pointOf(p psychometric.Parameters) point {
	return point{p.Threshold, p.Slope, p.Guess, p.Lapse}
}

// start is the best point of a coarse grid, the held parameter kept at the value at.
func (f *fitter) start(hold parameter, at float64) point {
	spread := func(a axis, n int) []float64 {
		if a.fixed() {
			return []float64{a.Lo}
		}
		values := make([]float64, n)
		for i := range values {
			values[i] = a.value(math.Asin(math.Sqrt((float64(i) + 0.5) / float64(n))))
		}
		return values
	}
	var values [4][]float64
	for i, n := range [4]int{12, 4, 3, 1} {
		if values[i] = spread(f.axes[i], n); parameter(i) == hold {
			values[i] = []float64{at}
		}
	}
	var best point
	for i := range best {
		best[i] = values[i][len(values[i])/2]
	}
	highest := f.objective(best.parameters())
	for _, t := range values[0] {
		for _, s := range values[1] {
			for _, g := range values[2] {
				for _, l := range values[3] {
					v := point{t, s, g, l}
					if o := f.objectiveAbove(v.parameters(), highest); o > highest {
						best, highest = v, o
					}
				}
			}
		}
	}
	return best
}

// maximise finds the top near a point, one parameter held or none; near the best of a
// coarse grid where no curve has that point and the held parameter.
func (f *fitter) maximise(from point, hold parameter, precision float64) (point, float64) {
	top, height, arrived := f.climb(from, hold, precision)
	if math.IsInf(height, -1) && hold != none {
		top, height, arrived = f.climb(f.start(hold, from[hold]), hold, precision)
	}
	if arrived {
		return top, height
	}
	return f.simplex(top, hold, precision)
}

// simplex climbs from a point without derivatives.
func (f *fitter) simplex(from point, hold parameter, precision float64) (point, float64) {
	var free []int
	for i, a := range f.axes {
		if !a.fixed() && parameter(i) != hold {
			free = append(free, i)
		}
	}
	value := func(u []float64) point {
		v := from
		for j, i := range free {
			v[i] = f.axes[i].value(u[j])
		}
		return v
	}
	if len(free) == 0 {
		return from, f.objective(from.parameters())
	}
	best, highest := from, f.objective(from.parameters())
	problem := optimize.Problem{Func: func(u []float64) float64 {
		v := f.objective(value(u).parameters())
		if math.IsInf(v, -1) {
			return math.MaxFloat64
		}
		return -v
	}}
	// The simplex is started anew from its result until that no longer helps: it can
	// collapse before the top, above all beside a bound.
	size := 0.15
	for range 8 {
		u := make([]float64, len(free))
		for j, i := range free {
			u[j] = f.axes[i].coordinate(best[i])
		}
		result, err := optimize.Minimize(problem, u, &optimize.Settings{
			MajorIterations: 2000, FuncEvaluations: 2000,
			Converger: &optimize.FunctionConverge{Absolute: precision, Iterations: 10 + 5*len(free)},
		}, &optimize.NelderMead{SimplexSize: size})
		if err != nil && result == nil {
			break
		}
		gain := -result.F - highest
		if gain > 0 || math.IsInf(highest, -1) {
			best, highest = value(result.X), -result.F
		}
		if !(gain > 10*precision) {
			break
		}
		size /= 2
	}
	return best, highest
}

// Fit is a curve fitted by maximum likelihood.
type Fit struct {
	Model         Model
	Parameters    psychometric.Parameters
	LogLikelihood float64 // without the binomial constant
	Deviance      float64
	Levels        int // how many different levels were shown
	Free          int // how many parameters were estimated
	N             int // answers

	fitter *fitter
	top    float64 // the objective at its maximum
}

// Precision of the log-likelihood at which a search stops: of a fit that is held
// against published digits, of one whose threshold is printed, and of the many within
// an interval.
const (
	fine    = 1e-13
	printed = 1e-9
	coarse  = 1e-6
)

// Maximise fits the model to the counts. It fails when there is nothing to fit or
// when no parameters within the ranges make the answers possible.
func Maximise(m Model, counts []psychometric.Count) (Fit, error) {
	f, err := newFitter(m, counts)
	if err != nil {
		return Fit{}, err
	}
	return f.fit(f.start(none, 0), fine)
}

func (f *fitter) fit(from point, precision float64) (Fit, error) {
	v, top := f.maximise(from, none, precision)
	if math.IsInf(top, -1) {
		return Fit{}, errors.New("no curve within the ranges makes these answers possible")
	}
	p := v.parameters()
	fit := Fit{Model: f.model, Parameters: p, LogLikelihood: f.logLikelihood(p, math.Inf(-1)), Levels: len(f.counts), fitter: f, top: top}
	fit.Deviance = psychometric.Deviance(fit.P, f.counts)
	for _, a := range f.axes {
		if !a.fixed() {
			fit.Free++
		}
	}
	for _, c := range f.counts {
		fit.N += c.N
	}
	return fit, nil
}

// P is the fitted probability at a level.
func (f Fit) P(level float64) float64 { return f.Model.Curve.P(level, f.Parameters) }
