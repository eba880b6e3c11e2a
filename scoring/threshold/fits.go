package threshold

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
	"shadedrill/scoring"
)

// noThreshold says why these answers support no threshold, before anything is
// fitted; empty when nothing speaks against one.
func (s *sitting) noThreshold() string {
	choice := s.options.Task == adaptive.ForcedChoice
	switch {
	case s.pairs == 0:
		return "no pair that differs was answered"
	case s.pairs < leastAnswers:
		return fmt.Sprintf("needs at least %d answers to pairs that differ, has %d", leastAnswers, s.pairs)
	case choice && s.oneKey() == s.pairs+s.catches:
		return "the same key was pressed every time"
	case s.hits == s.pairs && choice:
		return fmt.Sprintf("every answer was right: the threshold lies below the smallest difference shown (%.2f)", s.lowest)
	case s.hits == s.pairs && s.catches > 0 && s.false == s.catches, s.hits == 0 && s.catches > 0 && s.false == 0:
		return "the same answer was given every time"
	case s.hits == s.pairs:
		return fmt.Sprintf("every pair was called different: the threshold lies below the smallest difference shown (%.2f), or the answers do not depend on what was shown", s.lowest)
	case s.hits == 0:
		return fmt.Sprintf("no pair was called different: the threshold lies above the largest difference shown (%.2f), or the answers do not depend on what was shown", s.highest)
	}
	return ""
}

// oneKey is how often the commonest key was pressed.
func (s *sitting) oneKey() (most int) {
	pressed := map[string]int{}
	for _, a := range s.answers {
		if a.Key != "" {
			pressed[a.Key]++
			most = max(most, pressed[a.Key])
		}
	}
	return most
}

// fits fills in what needs a curve.
func (s *sitting) fits(r *Result) {
	plain, err := s.fit(Corrected) // the same curve as Plain, without its condition γ < ½
	if err != nil {
		r.undefined(err.Error())
		return
	}
	n := s.pairs + s.catches
	chance := math.NaN()
	if s.options.Task == adaptive.ForcedChoice {
		chance = 0.5
	}
	p := distuv.ChiSquared{K: 2}.Survival(max(0, plain.constantRatio(chance)))
	r.ByChance = scoring.Point(p, n)
	if p > independenceLimit {
		r.undefined("the answers hardly depend on the size of the difference: they may as well have been given at random")
		return
	}
	s.remarks(r)

	switch {
	case s.options.PlainOnly:
		r.Corrected = scoring.Undefined(n, "not asked for")
		r.Sensitivity = r.Corrected
	case s.options.Task == adaptive.ForcedChoice:
		r.Corrected = scoring.Undefined(n, "a forced choice has no false alarms to correct for")
		r.Sensitivity = s.estimate(Sensitivity)
	case s.catches == 0:
		const reason = "no identical pairs were mixed in: false alarms cannot be told from seeing"
		r.Corrected, r.Sensitivity = scoring.Undefined(n, reason), scoring.Undefined(n, reason)
	default:
		r.Corrected, r.Sensitivity = s.estimate(Corrected), s.estimate(Sensitivity)
	}
	if s.options.Task == adaptive.YesNo && (2*s.false >= s.catches && s.catches > 0 || plain.Parameters.Guess >= 0.5) {
		r.Threshold = scoring.Undefined(n, "half or more of the identical pairs were called different: there is no 50 % point")
		r.Bootstrap = r.Threshold
	} else {
		r.Threshold = s.estimate(Plain)
		if half, err := s.fit(Plain); err == nil {
			plain = half
		}
	}
	s.shape(r, plain)
	s.goodness(r, plain)
	if !s.options.PlainOnly {
		top := 1.05 * s.highest
		for i := range curvePoints {
			x := top * float64(i) / (curvePoints - 1)
			r.Curve = append(r.Curve, Point{x, plain.P(x)})
		}
	}
	for _, w := range r.Warnings {
		r.Threshold = r.Threshold.Warn(w)
	}
}

// fit fits one kind of threshold, once.
func (s *sitting) fit(kind Kind) (Fit, error) {
	if f, done := s.fitted[kind]; done {
		return f, nil
	}
	m, _ := ModelFor(s.options.Task, kind, s.counts)
	if could := s.options.Smallest; could > 0 {
		m.Threshold.Lo = min(m.Threshold.Lo, could/beyond)
	}
	fitter, err := newFitter(m, s.counts)
	if err != nil {
		return Fit{}, err
	}
	f, err := fitter.fit(s.begin(kind, fitter), printed)
	if err == nil {
		s.fitted[kind] = f
	}
	return f, err
}

// begin is where to look for the best curve. The plain and the corrected threshold
// are two points of one and the same curve: the best for the one is the best for
// the other as well, wherever it has both.
func (s *sitting) begin(kind Kind, fitter *fitter) point {
	to, same := fitter.model.Curve.(psychometric.Sigmoid)
	if best, done := s.fitted[Corrected]; done && same && kind == Plain {
		from, _ := best.Model.Curve.(psychometric.Sigmoid)
		moved, ok := from.At(to.Target, best.Parameters)
		if within := fitter.model.Threshold; ok && within.Lo <= moved.Threshold && moved.Threshold <= within.Hi {
			return pointOf(moved)
		}
	}
	return fitter.start(none, 0)
}

// estimate is one kind of threshold with its profile interval, or the words for
// why there is none.
func (s *sitting) estimate(kind Kind) scoring.Estimate {
	n := s.pairs + s.catches
	fit, err := s.fit(kind)
	if err != nil {
		return scoring.Undefined(n, err.Error())
	}
	lo, hi := fit.profile(ofThreshold, s.options.Level)
	return s.within(fit.Parameters.Threshold, lo, hi, n)
}

// within reports a threshold only where differences can be shown. Below the smallest that
// was shown in this sitting it lies between that and an identical pair, whose answers were
// asked for too or, in the forced choice, are known to be guesses: there the curve has
// been told apart from others, and to refuse its lowest values alone would bias the mean of
// those that are left. It is given with a warning, and only where its interval ends among the
// levels that were shown.
//
// Near the smallest step that the screen can show, the number would be the curve's more
// than the answers': somebody who sees faster there than such curves rise is put a third
// too high. There a bound is told, and an interval that reaches there starts at 0.
func (s *sitting) within(value, lo, hi float64, n int) scoring.Estimate {
	atMost := ""
	if hi <= s.highest {
		atMost = fmt.Sprintf("; at most %.2f", max(hi, s.options.Smallest))
	}
	anchored := s.options.Task == adaptive.ForcedChoice || s.catches > 0
	below := value < s.lowest
	near := nearSmallest[s.options.Task] * s.options.Smallest
	switch {
	case value < near:
		return s.bound(hi, n)
	case below && (s.options.Smallest == 0 || !anchored || hi < s.lowest || hi > s.highest):
		return scoring.Undefined(n, fmt.Sprintf("below the smallest difference shown (%.2f)%s", s.lowest, atMost))
	case value > s.highest:
		return scoring.Undefined(n, fmt.Sprintf("above the largest difference shown (%.2f)", s.highest))
	}
	e := scoring.Interval(value, lo, hi, s.options.Level, n)
	if below {
		e = e.Warn(fmt.Sprintf("below the smallest difference shown in this sitting (%.2f)", s.lowest))
	}
	if lo == 0 {
		e = e.Warn("the answers set no lower limit")
	}
	if lo < near {
		e.Lo = 0 // where next to nothing was shown, the lower end is the curve's guess
		e = e.Warn(fmt.Sprintf("the interval reaches the smallest step of this screen (%.2f) and is taken down to 0", s.options.Smallest))
	}
	if math.IsInf(hi, 1) {
		e = e.Warn("the answers set no upper limit")
	} else if hi > s.highest {
		e = e.Warn(fmt.Sprintf("the interval reaches above the largest difference shown (%.2f)", s.highest))
	}
	return e
}

// nearSmallest is how many times the smallest step a threshold must be to be told as a
// number, and the lower end of its interval to be told as such. With 1.3 fewer answers of
// the forced choice hold. House figures by simulation; README.md has what they do.
var nearSmallest = map[adaptive.Task]float64{adaptive.YesNo: 1.3, adaptive.ForcedChoice: 1.5}

// bound is what is said where nothing tells how small the threshold is: an upper limit
// without a number.
func (s *sitting) bound(hi float64, n int) scoring.Estimate {
	if hi > s.highest {
		return scoring.Undefined(n, fmt.Sprintf("the interval reaches below what this screen can show (%.2f) and above the largest difference shown (%.2f)", s.options.Smallest, s.highest))
	}
	hi = max(hi, s.options.Smallest)
	e := scoring.Undefined(n, fmt.Sprintf("below %.2f; how far below, this screen cannot show (its smallest step is %.2f)", hi, s.options.Smallest))
	e.Lo, e.Hi, e.Level = 0, hi, s.options.Level
	return e
}

// shape fills in the curve's other parameters.
func (s *sitting) shape(r *Result, fit Fit) {
	r.CurveName = fit.Model.Curve.Name()
	for _, f := range []struct {
		to    *scoring.Estimate
		of    parameter
		value float64
	}{{&r.Slope, ofSlope, fit.Parameters.Slope}, {&r.Guess, ofGuess, fit.Parameters.Guess}, {&r.Lapse, ofLapse, fit.Parameters.Lapse}} {
		if s.options.Brief {
			*f.to = scoring.Point(f.value, fit.N)
			continue
		}
		lo, hi := fit.profile(f.of, s.options.Level)
		if math.IsNaN(lo) {
			*f.to = scoring.Point(f.value, fit.N, "given by the task, not estimated")
			continue
		}
		*f.to = scoring.Interval(f.value, lo, hi, s.options.Level, fit.N)
		if b := fit.Model.Slope; f.of == ofSlope && (lo <= b.Lo || hi >= b.Hi) {
			*f.to = f.to.Warn(fmt.Sprintf("the interval ends where slopes end that a fit may have (%.1f to %.0f)", b.Lo, b.Hi))
		}
	}
	if b := fit.Model.Slope; fit.Parameters.Slope > 0.98*b.Hi {
		r.Slope = r.Slope.Warn("as steep as a fit may be: the answers change from one level to the next")
	}
	if fit.Parameters.Lapse > 0.98*mostLapses {
		r.Lapse = r.Lapse.Warn("as many lapses as a fit may assume: clear differences were missed")
	}
}

// goodness compares the fit with the answers and fills in the bootstrap.
func (s *sitting) goodness(r *Result, fit Fit) {
	r.Deviance = scoring.Point(fit.Deviance, fit.N)
	wanted := s.options.Draws > 0
	if wanted {
		b, err := fit.bootstrap(s.options.Draws, s.options.Chance)
		if err != nil {
			r.Bootstrap = scoring.Undefined(fit.N, err.Error())
		} else {
			r.Goodness = scoring.Point(b.goodness(fit.Deviance), fit.N, "by simulation from the fitted curve")
			if r.Threshold.Defined() {
				r.Bootstrap = s.bootstrapInterval(b, fit)
			} else if len(r.Bootstrap.Warnings) == 0 {
				r.Bootstrap = r.Threshold
			}
		}
	} else {
		if len(r.Bootstrap.Warnings) == 0 {
			r.Bootstrap = scoring.Undefined(fit.N, "no bootstrap was asked for")
		}
		p, df, ok := fit.goodnessByChiSquared()
		if !ok {
			r.Goodness = scoring.Undefined(fit.N, "too few levels to judge the fit")
			return
		}
		r.Goodness = scoring.Point(p, fit.N, fmt.Sprintf("χ² with %d degrees of freedom", df))
		if fit.N < answersPerChiLevel*fit.Levels {
			r.Goodness = r.Goodness.Warn("few answers at each level: the χ² distribution is a rough guide")
			return // not worth a warning of its own
		}
	}
	if r.Goodness.Defined() && r.Goodness.Value < poorFit {
		r.warn(fmt.Sprintf("the curve fits the answers poorly (p = %.3f)", r.Goodness.Value))
	}
}

func (s *sitting) bootstrapInterval(b bootstrap, fit Fit) scoring.Estimate {
	lo, hi := percentiles(b.Thresholds, fit.Parameters.Threshold, s.options.Level, fit.Model.Inflation.at(fit.Parameters.Slope))
	if math.IsNaN(lo) {
		return scoring.Undefined(fit.N, fmt.Sprintf("needs at least 40 bootstrap draws, has %d", len(b.Thresholds)))
	}
	e := s.within(fit.Parameters.Threshold, lo, hi, fit.N)
	if failed := b.Draws - len(b.Thresholds); failed > 0 {
		e = e.Warn(fmt.Sprintf("%d of %d draws could not be fitted", failed, b.Draws))
	}
	return e
}

// remarks adds the warnings that leave the number standing.
func (s *sitting) remarks(r *Result) {
	if s.pairs < fewAnswers {
		r.warn(fmt.Sprintf("few answers (%d to pairs that differ): the interval is wide and less sure to hold", s.pairs))
	}
	if s.options.Task != adaptive.ForcedChoice {
		return
	}
	var keyed int
	for _, a := range s.answers {
		if a.Key != "" {
			keyed++
		}
	}
	if most := s.oneKey(); keyed >= leastAnswers {
		tail := distuv.Binomial{N: float64(keyed), P: 0.5}.Survival(float64(most) - 0.5)
		if 2*tail < oneKeyLimit {
			r.warn(fmt.Sprintf("one key was pressed in %.0f %% of the trials", 100*float64(most)/float64(keyed)))
		}
	}
}
