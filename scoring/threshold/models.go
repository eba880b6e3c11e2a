package threshold

import (
	"math"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// The ranges and figures below are house rules, chosen with simulated observers.
const (
	// mostLapses bounds the lapse rate: with more than this an observer is not
	// attending, and a free lapse rate would explain away a threshold out of range.
	mostLapses = 0.06
	// mostGuesses bounds the false-alarm rate that a fit will believe.
	mostGuesses = 0.95
)

// inflation is by how much the likelihood-ratio limit of a profile interval is
// raised when the levels were chosen adaptively.
//
// Why it is needed was found with simulated observers. In the forced choice, answers
// drawn anew at the very levels of an adaptive sitting give intervals that cover as
// often as they should, and so do those of a sitting itself when the slope is known. It
// is the free slope: levels that follow earlier answers make it come out too steep (the
// slope bias of adaptive data, Kaernbach 2001, Percept Psychophys 63:1389, from memory),
// and the interval too narrow, most so where the curve is shallow. In yes/no the slope
// is a part of it only: answers drawn anew need some of the factor too, for their
// guesses and lapses are estimated as well. The mean of the likelihood ratio at the
// true threshold is above 1 by as much as its 95 % point is above that of χ², so a
// factor mends it, as Bartlett's does (1937, Proc R Soc A 160:268). Its two numbers for
// each task are house figures from simulated sittings of another seed than that of the
// table that the package recovery prints.
func inflation(task adaptive.Task) Inflation {
	if task == adaptive.ForcedChoice {
		return Inflation{1.3, 0.4}
	}
	return Inflation{1, 1}
}

// sensitivityInflation is the same for the level at which d′ = 1 in yes/no. It lies off
// the 50 % point about which the levels gather, and rests on the answers to identical
// pairs as much as on the slope; what its intervals need does not fall with the slope.
// House figure: the 95 % point of the likelihood ratio at the true level is 0.94 to 1.30
// times that of χ² over eight observers of signal detection theory (exponents 0.7 to 2.5,
// false alarms 5 to 30 %, thresholds 0.6 to 3; 600 sittings each). With it intervals
// covered in 94.3 to 96.2 % for three of them (1,500 to 2,000 sittings; another 600 with
// 30 % false alarms gave 91 %) and in 95.5 to 97.3 % for four (600); at 5 % false alarms
// d′ = 1 lies so low that a twelfth of the sittings gave no number, and the others covered
// in 99.5 %. All of other seeds than the table's.
const sensitivityInflation = 1.2

// beyond is how many times further than the levels, up and down, a threshold is sought.
const beyond = 3

// span is where thresholds are sought: a good way beyond the levels on both sides,
// so that one outside the tested range is seen to lie there.
func span(counts []psychometric.Count) (Range, bool) {
	lo, hi := math.Inf(1), 0.0
	for _, c := range counts {
		if c.Level > 0 && c.N > 0 {
			lo, hi = min(lo, c.Level), max(hi, c.Level)
		}
	}
	return Range{lo / beyond, hi * beyond}, hi > 0
}

// Kind is what a threshold stands for.
type Kind uint8

const (
	// Plain is the level at which half of all answers are "different", or 75 % are
	// right in a two-alternative forced choice: what the raw answers show.
	Plain Kind = iota + 1
	// Corrected is the level at which the observer sees half of the differences, false
	// alarms and lapses taken away: F = ½ in ψ = γ + (1 − γ − λ)F, with γ estimated
	// jointly from all answers, those to identical pairs among them.
	Corrected
	// Sensitivity is the level at which d′ = 1. It does not depend on how readily the
	// observer says "different". In forced choice that is 76.02 % right.
	Sensitivity
)

// ModelFor is the model that a kind of threshold is fitted with. ok is false when
// the counts have no level above 0.
//
// A forced choice has a guess rate of ½. A yes/no task has one that is estimated
// when identical pairs (level 0) were shown, and taken as 0 when none were.
func ModelFor(task adaptive.Task, kind Kind, counts []psychometric.Count) (m Model, ok bool) {
	m.Threshold, ok = span(counts)
	m.Slope = Range{0.5, 15} // Weibull exponents from almost flat to a step
	m.Lapse = Range{0, mostLapses}
	m.Inflation = inflation(task)
	curve := task.Curve()
	switch {
	case task == adaptive.ForcedChoice:
		m.Guess = fixed(0.5)
	case identicalPairs(counts) > 0:
		m.Guess = Range{0, mostGuesses}
	default:
		m.Guess = fixed(0)
	}
	switch kind {
	case Corrected:
		curve.Target = psychometric.Core(0.5)
	case Sensitivity:
		if task == adaptive.ForcedChoice {
			curve.Target = psychometric.Proportion(psychometric.ForcedChoice(1))
			break
		}
		m.Slope = Range{0.3, 4} // exponent of d′ = (x/t)^m; 1 is proportional
		m.Guess = Range{0.002, mostGuesses}
		m.Inflation = Inflation{Base: sensitivityInflation}
		m.Curve = psychometric.Detector{}
		return m, ok
	}
	m.Curve = curve
	return m, ok
}

// identicalPairs is the number of answers to pairs without a difference.
func identicalPairs(counts []psychometric.Count) (n int) {
	for _, c := range counts {
		if c.Level == 0 {
			n += c.N
		}
	}
	return n
}
