package threshold

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/exercises/psychometric"
)

// Link is the link of a binomial regression.
type Link uint8

const (
	Logit Link = iota + 1
	Probit
	CLogLog
)

// String is the link's usual name.
func (l Link) String() string {
	switch l {
	case Logit:
		return "logit"
	case Probit:
		return "probit"
	case CLogLog:
		return "complementary log-log"
	}
	return fmt.Sprintf("unknown link %d", uint8(l))
}

// mean is the proportion p at the linear predictor η, and dp/dη.
func (l Link) mean(eta float64) (p, slope float64) {
	switch l {
	case Logit:
		p = 1 / (1 + math.Exp(-eta))
		return p, p * (1 - p)
	case Probit:
		return distuv.UnitNormal.CDF(eta), distuv.UnitNormal.Prob(eta)
	case CLogLog:
		e := math.Exp(eta)
		return -math.Expm1(-e), e * math.Exp(-e)
	}
	return math.NaN(), math.NaN()
}

// predictor is the linear predictor of a proportion.
func (l Link) predictor(p float64) float64 {
	switch l {
	case Logit:
		return math.Log(p / (1 - p))
	case Probit:
		return mathext.NormalQuantile(p)
	case CLogLog:
		return math.Log(-math.Log1p(-p))
	}
	return math.NaN()
}

// Regression is a straight line in the scale of the link, link(p) = B0 + B1·x,
// fitted by maximum likelihood: the classical dose–response fit, without guesses
// and lapses, as much of the literature on colour thresholds uses it.
type Regression struct {
	Link           Link
	B0, B1         float64
	SE0, SE1       float64
	Covariance     float64 // of B0 and B1
	Deviance       float64
	NullDeviance   float64 // of one proportion for all levels
	PearsonX2      float64
	LogLikelihood  float64 // with the binomial constant
	AIC            float64
	DegreesFreedom int
	Levels         int
	N              int
}

// Regress fits the line by iteratively reweighted least squares. It fails when
// the levels are all the same and when the answers are separated (all negative up to
// some level, all positive above): the slope is then without bound.
func Regress(link Link, counts []psychometric.Count) (Regression, error) {
	if link < Logit || link > CLogLog {
		return Regression{}, fmt.Errorf("no regression with an %v", link)
	}
	for _, c := range counts {
		if err := c.Validate(); err != nil {
			return Regression{}, err
		}
	}
	counts = psychometric.Pool(counts)
	if len(counts) < 2 {
		return Regression{}, errors.New("a line needs at least two levels")
	}
	r := Regression{Link: link, Levels: len(counts), DegreesFreedom: len(counts) - 2}
	eta := make([]float64, len(counts))
	var yes int
	for i, c := range counts {
		eta[i] = link.predictor(psychometric.LogLinear(c.Yes, c.N))
		yes += c.Yes
		r.N += c.N
	}
	if yes == 0 || yes == r.N {
		return Regression{}, errors.New("all answers are the same: no line can be fitted")
	}
	var information mat.SymDense
	converged := false
	for range 100 {
		information = *mat.NewSymDense(2, nil)
		target := mat.NewVecDense(2, nil)
		for i, c := range counts {
			p, slope := link.mean(eta[i])
			n, x := float64(c.N), c.Level
			w := n * slope * slope / (p * (1 - p))
			working := eta[i] + (float64(c.Yes)/n-p)/slope
			information.SetSym(0, 0, information.At(0, 0)+w)
			information.SetSym(0, 1, information.At(0, 1)+w*x)
			information.SetSym(1, 1, information.At(1, 1)+w*x*x)
			target.SetVec(0, target.AtVec(0)+w*working)
			target.SetVec(1, target.AtVec(1)+w*x*working)
		}
		var b mat.VecDense
		if err := b.SolveVec(&information, target); err != nil || math.IsNaN(b.AtVec(0)+b.AtVec(1)) {
			return Regression{}, errors.New("the answers are separated by level: the slope has no bound")
		}
		change := math.Abs(b.AtVec(0)-r.B0) + math.Abs(b.AtVec(1)-r.B1)
		r.B0, r.B1 = b.AtVec(0), b.AtVec(1)
		for i, c := range counts {
			eta[i] = r.B0 + r.B1*c.Level
		}
		if change < 1e-12*(1+math.Abs(r.B0)+math.Abs(r.B1)) {
			converged = true
			break
		}
	}
	if !converged {
		return Regression{}, errors.New("the answers are separated by level: the slope has no bound")
	}
	var inverse mat.Dense
	if err := inverse.Inverse(&information); err != nil {
		return Regression{}, errors.New("the answers are separated by level: the slope has no bound")
	}
	r.SE0, r.SE1, r.Covariance = math.Sqrt(inverse.At(0, 0)), math.Sqrt(inverse.At(1, 1)), inverse.At(0, 1)
	rate := float64(yes) / float64(r.N)
	r.Deviance = psychometric.Deviance(r.P, counts)
	r.NullDeviance = psychometric.Deviance(func(float64) float64 { return rate }, counts)
	r.PearsonX2 = psychometric.PearsonX2(r.P, counts)
	r.LogLikelihood = psychometric.LogLikelihood(r.P, counts) + psychometric.BinomialConstant(counts)
	r.AIC = 4 - 2*r.LogLikelihood
	return r, nil
}

// P is the fitted proportion at a level.
func (r Regression) P(level float64) float64 {
	p, _ := r.Link.mean(r.B0 + r.B1*level)
	return p
}

// Level is where the line reaches the proportion p, and its standard error by the
// delta method.
func (r Regression) Level(p float64) (x, se float64) {
	x = (r.Link.predictor(p) - r.B0) / r.B1
	return x, math.Sqrt(r.SE0*r.SE0+2*x*r.Covariance+x*x*r.SE1*r.SE1) / math.Abs(r.B1)
}

// Fieller is the interval of the level at which the line reaches p, by Fieller's
// theorem: all x for which (B0 + B1x − η)² ≤ z²·Var(B0 + B1x). g = z²·Var(B1)/B1²
// says how uncertain the slope is; ok is false when it is 1 or more, for the
// interval then has no bounds.
func (r Regression) Fieller(p, level float64) (lo, hi, g float64, ok bool) {
	z := mathext.NormalQuantile(0.5 + level/2)
	c0 := r.B0 - r.Link.predictor(p)
	g = z * z * r.SE1 * r.SE1 / (r.B1 * r.B1)
	if !(g < 1) {
		return math.NaN(), math.NaN(), g, false
	}
	a := r.B1*r.B1 - z*z*r.SE1*r.SE1
	b := c0*r.B1 - z*z*r.Covariance
	c := c0*c0 - z*z*r.SE0*r.SE0
	root := math.Sqrt(max(0, b*b-a*c))
	return (-b - root) / a, (-b + root) / a, g, true
}

// SCurve is the S-shaped regression of the dental literature, y = exp(B0 + B1/x)
// (PMID 33069771), fitted by ordinary least squares of ln y on 1/x. It has no
// standard error of its own and cannot use proportions of 0; prefer [Maximise].
type SCurve struct{ B0, B1 float64 }

// FitSCurve fits proportions y at levels x. Points with x or y not above 0 cannot
// be used and make it fail.
func FitSCurve(x, y []float64) (SCurve, error) {
	if len(x) != len(y) || len(x) < 2 {
		return SCurve{}, fmt.Errorf("an S-curve needs at least two levels with a proportion each, got %d and %d", len(x), len(y))
	}
	var mx, my float64
	for i := range x {
		if !(x[i] > 0) || !(y[i] > 0 && y[i] <= 1) || math.IsInf(x[i], 0) {
			return SCurve{}, fmt.Errorf("an S-curve cannot pass through proportion %v at level %v: both must be above 0", y[i], x[i])
		}
		mx += 1 / x[i] / float64(len(x))
		my += math.Log(y[i]) / float64(len(x))
	}
	var sxx, sxy float64
	for i := range x {
		d := 1/x[i] - mx
		sxx += d * d
		sxy += d * (math.Log(y[i]) - my)
	}
	if sxx == 0 {
		return SCurve{}, errors.New("an S-curve needs two different levels")
	}
	b1 := sxy / sxx
	return SCurve{B0: my - b1*mx, B1: b1}, nil
}

// P is the fitted proportion at a level above 0.
func (s SCurve) P(level float64) float64 { return math.Exp(s.B0 + s.B1/level) }

// Level is where the curve reaches the proportion p: B1/(ln p − B0). ok is false
// when it never does.
func (s SCurve) Level(p float64) (x float64, ok bool) {
	x = s.B1 / (math.Log(p) - s.B0)
	return x, x > 0 && !math.IsInf(x, 0)
}
