package psychometric

import (
	"errors"
	"fmt"
	"math"
)

// Sensitivity is what signal detection theory reads from a yes/no experiment.
type Sensitivity struct {
	DPrime    float64 // d′ = z(H) − z(F)
	Criterion float64 // c = −½(z(H) + z(F)); above 0: reluctant to say "different"
	LogBeta   float64 // ln β = ½(z(F)² − z(H)²) = c·d′
}

// errExtremeRate is returned when a rate of exactly 0 or 1 would make d′ infinite.
var errExtremeRate = errors.New("a rate of 0 or 1 has no finite z-score; correct the rates first")

// YesNo gives d′, criterion and ln β of a hit rate and a false-alarm rate, both
// strictly between 0 and 1.
func YesNo(hit, falseAlarm float64) (Sensitivity, error) {
	zh, zf := z(hit), z(falseAlarm)
	if math.IsNaN(zh) || math.IsNaN(zf) {
		return Sensitivity{}, fmt.Errorf("hit rate %v and false-alarm rate %v must lie between 0 and 1", hit, falseAlarm)
	}
	if math.IsInf(zh, 0) || math.IsInf(zf, 0) {
		return Sensitivity{}, errExtremeRate
	}
	return Sensitivity{
		DPrime:    zh - zf,
		Criterion: -(zh + zf) / 2,
		LogBeta:   (zf*zf - zh*zh) / 2,
	}, nil
}

// LogLinear is the log-linear correction of a rate, (k + ½)/(n + 1) (Hautus 1995):
// it keeps z-scores finite and is applied to every rate, not to extreme ones only.
// It is NaN when the count cannot be.
func LogLinear(k, n int) float64 {
	if k < 0 || n < 0 || k > n {
		return math.NaN()
	}
	return (float64(k) + 0.5) / (float64(n) + 1)
}

// DPrimeVariance is the large-sample variance of d′ (Gourevitch & Galanter 1967):
// H(1 − H)/(n_s φ(z_H)²) + F(1 − F)/(n_n φ(z_F)²), for hit and false-alarm rates
// from nSignal and nNoise trials. The criterion's variance is a quarter of it.
// It is +∞ for rates of 0 or 1 and NaN without trials.
func DPrimeVariance(hit, falseAlarm float64, nSignal, nNoise int) float64 {
	one := func(p float64, n int) float64 {
		if n <= 0 {
			return math.NaN()
		}
		d := density(z(p))
		if d == 0 {
			return math.Inf(1)
		}
		return p * (1 - p) / (float64(n) * d * d)
	}
	return one(hit, nSignal) + one(falseAlarm, nNoise)
}

// density is the normal density φ.
func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }
