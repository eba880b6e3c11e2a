package threshold

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
	"shadedrill/scoring"
)

// Answer is one trial of a threshold sitting.
type Answer struct {
	Level float64 // ΔE00 that was shown; 0 for an identical pair
	Yes   bool    // "different", "not acceptable"; in forced choice: right
	Key   string  // the key pressed, for whoever presses the same one all the time; may be empty
}

// Options say how the answers came about and what is wanted of them.
type Options struct {
	Task adaptive.Task

	// Smallest is the smallest difference that the screen could show, in ΔE00. No
	// threshold below it is reported. 0: not known.
	Smallest float64
	// Level is the coverage of intervals. 0: 0.95.
	Level float64
	// FalseAlarmLimit is the false-alarm rate above which a warning is given. 0: 0.40.
	FalseAlarmLimit float64
	// Draws is how many bootstrap draws to make with Chance; without either there is
	// no bootstrap. 400 give steady intervals and take about a second.
	Draws  int
	Chance *rand.Rand
	// Brief leaves out the intervals of slope, guess and lapse rate, which take as
	// long as those of the thresholds.
	Brief bool
	// PlainOnly leaves out the corrected threshold, the one at d′ = 1 and the points of
	// the curve as well.
	PlainOnly bool
}

// Figures below are house rules.
const (
	leastAnswers       = 20   // to pairs that differ; fewer give no threshold
	fewAnswers         = 40   // fewer give a warning
	fewCatches         = 10   // likewise, of identical pairs
	falseAlarmLimit    = 0.40 // above the mean of 27 % seen on screens (Lindsey & Wee 2007)
	curvePoints        = 81
	independenceLimit  = 0.01  // p above which answers count as independent of the level
	oneKeyLimit        = 0.001 // p below which a preference for one key is remarked on
	poorFit            = 0.05  // p below which the fit is called poor
	answersPerChiLevel = 5     // fewer per level make the χ² distribution a poor guide
)

// Point is a point of a curve to be drawn.
type Point struct{ Level, P float64 }

// Result is everything that a threshold sitting says.
type Result struct {
	Task    adaptive.Task
	Pairs   int // answers to pairs that differ
	Catches int // answers to identical pairs

	Threshold   scoring.Estimate // see Plain; interval by profile likelihood
	Bootstrap   scoring.Estimate // the same; interval by bootstrap
	Corrected   scoring.Estimate // see Corrected; profile
	Sensitivity scoring.Estimate // ΔE00 at which d′ = 1; profile

	Slope     scoring.Estimate // Weibull exponent
	Guess     scoring.Estimate // γ as fitted
	Lapse     scoring.Estimate // λ as fitted, at most 0.06
	Deviance  scoring.Estimate
	Goodness  scoring.Estimate // probability of so large a deviance when the curve is true
	ByChance  scoring.Estimate // probability of such answers when they do not depend on the level
	CurveName string

	FalseAlarms scoring.Estimate // "different" to identical pairs
	DPrime      scoring.Estimate // over all pairs shown: one impression a pair, a yes/no criterion
	// SameDifferent is the same d′ were each answer a comparison of two impressions.
	SameDifferent scoring.Estimate
	Criterion     scoring.Estimate // above 0: reluctant to say "different"

	Smallest float64              // as in Options
	Counts   []psychometric.Count // answers by level, ascending
	Curve    []Point              // the fitted curve; empty when there is none or it was left out
	Warnings []string             // about the sitting as a whole
}

// Measure computes the result. It fails only when the input is malformed; answers
// that support no threshold give a result that says why.
func Measure(answers []Answer, o Options) (Result, error) {
	o, err := o.filled()
	if err != nil {
		return Result{}, err
	}
	s := sitting{answers: answers, options: o, fitted: map[Kind]Fit{}}
	if err := s.count(); err != nil {
		return Result{}, err
	}
	r := Result{Task: o.Task, Pairs: s.pairs, Catches: s.catches, Smallest: o.Smallest, Counts: s.counts}
	s.falseAlarmFigures(&r)
	if reason := s.noThreshold(); reason != "" {
		r.undefined(reason)
		return r, nil
	}
	s.fits(&r)
	return r, nil
}

func (o Options) filled() (Options, error) {
	if o.Level == 0 {
		o.Level = 0.95
	}
	if o.FalseAlarmLimit == 0 {
		o.FalseAlarmLimit = falseAlarmLimit
	}
	switch {
	case o.Task != adaptive.YesNo && o.Task != adaptive.ForcedChoice:
		return o, fmt.Errorf("a threshold cannot be measured by an %v", o.Task)
	case !(o.Level > 0 && o.Level < 1):
		return o, fmt.Errorf("an interval cannot cover in a share of %v", o.Level)
	case !(o.FalseAlarmLimit > 0 && o.FalseAlarmLimit <= 1):
		return o, fmt.Errorf("a limit of %v for false alarms is no proportion", o.FalseAlarmLimit)
	case !(o.Smallest >= 0) || math.IsInf(o.Smallest, 0):
		return o, fmt.Errorf("the smallest difference shown cannot be %v", o.Smallest)
	case o.Draws < 0 || o.Draws > 0 && o.Chance == nil:
		return o, errors.New("a bootstrap needs a number of draws and a source of chance")
	}
	return o, nil
}

// sitting is the answers, counted.
type sitting struct {
	answers                     []Answer
	options                     Options
	counts                      []psychometric.Count
	pairs, hits, catches, false int
	lowest, highest             float64 // levels shown above 0
	fitted                      map[Kind]Fit
}

func (s *sitting) count() error {
	s.lowest = math.Inf(1)
	for i, a := range s.answers {
		if !(a.Level >= 0) || math.IsInf(a.Level, 0) {
			return fmt.Errorf("answer %d: a difference of %v ΔE00 cannot have been shown", i+1, a.Level)
		}
		c := psychometric.Count{Level: a.Level, N: 1}
		if a.Yes {
			c.Yes = 1
		}
		s.counts = append(s.counts, c)
		if a.Level == 0 {
			s.catches, s.false = s.catches+1, s.false+c.Yes
			continue
		}
		s.pairs, s.hits = s.pairs+1, s.hits+c.Yes
		s.lowest, s.highest = min(s.lowest, a.Level), max(s.highest, a.Level)
	}
	s.counts = psychometric.Pool(s.counts)
	return nil
}

// falseAlarmFigures fills in what needs no curve.
func (s *sitting) falseAlarmFigures(r *Result) {
	if s.options.Task == adaptive.ForcedChoice {
		const reason = "a forced choice has no false alarms and no criterion"
		r.FalseAlarms = scoring.Undefined(s.catches, reason)
		r.DPrime, r.SameDifferent, r.Criterion = r.FalseAlarms, r.FalseAlarms, r.FalseAlarms
		return
	}
	r.FalseAlarms = Proportion(s.false, s.catches, s.options.Level)
	if s.catches == 0 {
		r.FalseAlarms = scoring.Undefined(0, "no identical pairs were mixed in")
		r.warn("no identical pairs were mixed in: false alarms are unknown and taken as none")
	} else {
		if s.catches < fewCatches {
			r.FalseAlarms = r.FalseAlarms.Warn(fmt.Sprintf("only %d identical pairs", s.catches))
		}
		if rate := float64(s.false) / float64(s.catches); rate > s.options.FalseAlarmLimit {
			r.warn(fmt.Sprintf("%.0f %% of identical pairs were called different: the plain threshold says more about readiness to answer than about seeing", 100*rate))
		}
	}
	r.DPrime, r.Criterion = detection(s.hits, s.pairs, s.false, s.catches, s.options.Level)
	r.SameDifferent = sameDifferent(s.hits, s.pairs, s.false, s.catches)
	if r.DPrime.Defined() {
		r.DPrime = r.DPrime.Warn("over all pairs shown: it depends on which they were")
	}
}

// Unmeasurable is the result of answers that cannot be measured, with the reason in
// every place.
func Unmeasurable(task adaptive.Task, reason string) Result {
	r := Result{Task: task}
	r.undefined(reason)
	r.FalseAlarms, r.DPrime, r.SameDifferent, r.Criterion = r.Threshold, r.Threshold, r.Threshold, r.Threshold
	return r
}

func (r *Result) warn(w string) { r.Warnings = append(r.Warnings, w) }

// undefined gives every fitted figure the same reason for not being there.
func (r *Result) undefined(reason string) {
	n := r.Pairs + r.Catches
	for _, e := range []*scoring.Estimate{&r.Threshold, &r.Bootstrap, &r.Corrected, &r.Sensitivity,
		&r.Slope, &r.Guess, &r.Lapse, &r.Deviance, &r.Goodness} {
		*e = scoring.Undefined(n, reason)
	}
	if r.ByChance.N == 0 {
		r.ByChance = scoring.Undefined(n, reason)
	}
	if !slices.Contains(r.Warnings, reason) {
		r.warn(reason)
	}
}
