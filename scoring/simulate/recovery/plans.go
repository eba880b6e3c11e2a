package recovery

import (
	"errors"
	"math"
	"slices"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// The length of a simulated sitting is that of one direction in the trainer's
// sitting of 240 trials, three directions interleaved: 80 pairs each in the forced
// choice; in the yes/no tasks 64 pairs each, and the 48 identical pairs that all
// three share.
const (
	choiceTrials = 80
	yesNoTrials  = 64
	catches      = 48
)

const catchShare = float64(catches) / (catches + yesNoTrials)

// Full is the whole table: thresholds from 0.6 to 3 ΔE00, shallow to steep, lapses
// up to 5 %, false alarms up to 30 %, observers of the fitted kind, of other families
// and of signal detection theory; and two with thresholds at the screen's smallest step.
func Full() ([]Condition, error) {
	var all []Condition
	var failures []error
	add := func(c Condition, err error) {
		all, failures = append(all, c), append(failures, err)
	}
	for _, t := range []float64{0.6, 1.2, 3} {
		add(yesNo(t, 3, 0.10, 0.02))
		add(choice(t, 3, 0.02))
		add(yesNo(t, 3, 0.30, 0.05))
	}
	add(yesNo(1.2, 3, 0, 0))
	add(yesNo(1.2, 1.5, 0.10, 0.02))
	add(yesNo(1.2, 5, 0.10, 0.02))
	add(choice(1.2, 1.5, 0.02))
	add(choice(1.2, 5, 0))
	add(choice(1.2, 3, 0.05))
	add(detecting(1.2, 1, 0.15, 0.02))
	add(ofFamily(adaptive.YesNo, psychometric.Logistic, 1.2, 0.25, 0.1, 0.02, yesNoTrials))
	add(ofFamily(adaptive.ForcedChoice, psychometric.Normal, 1.2, 0.4, 0.5, 0.02, choiceTrials))
	add(saturating(adaptive.YesNo))
	add(saturating(adaptive.ForcedChoice))
	return all, errors.Join(failures...)
}

// Compared is the observers with whom methods are compared.
func Compared() ([]Subject, error) {
	o, err := sigmoidal(adaptive.ForcedChoice, psychometric.Weibull, 1.2, 3, 0.5, 0.02)
	return []Subject{o}, err
}

// yesNo, detecting and choice are shorthands of the plans above.
func yesNo(threshold, slope, falseAlarm, lapse float64) (Condition, error) {
	return ofFamily(adaptive.YesNo, psychometric.Weibull, threshold, slope, falseAlarm, lapse, yesNoTrials)
}

func choice(threshold, slope, lapse float64) (Condition, error) {
	return ofFamily(adaptive.ForcedChoice, psychometric.Weibull, threshold, slope, 0.5, lapse, choiceTrials)
}

func detecting(threshold, exponent, falseAlarm, lapse float64) (Condition, error) {
	o, err := detector(adaptive.YesNo, threshold, exponent, falseAlarm, lapse)
	return Condition{Subject: o, FalseAlarms: falseAlarm, Lapse: lapse, Trials: yesNoTrials, CatchShare: catchShare}, err
}

// saturating is somebody who sees the first step of the screen at once: d′ = 3x/(1 + x)
// and 25 % false alarms, half "different" at 0.29 ΔE00, 75 % right at 0.47.
func saturating(task adaptive.Task) (Condition, error) {
	const falseAlarms = 0.25
	o, err := saturated(task, 3, 1, falseAlarms)
	c := Condition{Subject: o, Trials: choiceTrials, Near: true}
	if task == adaptive.YesNo {
		c.FalseAlarms, c.Trials, c.CatchShare = falseAlarms, yesNoTrials, catchShare
	}
	return c, err
}

func ofFamily(task adaptive.Task, family psychometric.Family, threshold, slope, falseAlarm, lapse float64, trials int) (Condition, error) {
	o, err := sigmoidal(task, family, threshold, slope, falseAlarm, lapse)
	c := Condition{Subject: o, Lapse: lapse, Trials: trials}
	if task == adaptive.YesNo {
		c.FalseAlarms, c.CatchShare = falseAlarm, catchShare
	}
	return c, err
}

func meanSD(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sd += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(sd / float64(len(v)-1))
}

func median(v []float64) float64 {
	v = slices.Clone(v)
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}
