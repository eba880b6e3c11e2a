package recovery

import (
	"errors"
	"math"
	"slices"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// The length of the simulated sittings: three tracks of so many pairs take about
// ten minutes at 2.5 s a pair.
const (
	YesNoTrials  = 80
	CatchShare   = 0.2
	ChoiceTrials = 80
)

// Full is the whole table: thresholds from 0.6 to 3 ΔE00, shallow to steep, lapses
// up to 5 %, false alarms up to 30 %, observers of the fitted kind, of another family
// and of signal detection theory.
func Full() ([]Condition, error) {
	var all []Condition
	var failures []error
	add := func(c Condition, err error) {
		all, failures = append(all, c), append(failures, err)
	}
	for _, t := range []float64{0.6, 1.2, 3} {
		add(yesNo(t, 1.5, 0.10, 0.02))
		add(yesNo(t, 3, 0, 0))
		add(yesNo(t, 3, 0.10, 0.02))
		add(yesNo(t, 3, 0.20, 0.05))
		add(yesNo(t, 3, 0.30, 0.05))
		add(yesNo(t, 5, 0.10, 0.02))
		add(detecting(t, 1, 0.05, 0.02))
		add(detecting(t, 1, 0.15, 0.02))
		add(detecting(t, 1, 0.30, 0.02))
		add(choice(t, 1.5, 0.02))
		add(choice(t, 3, 0))
		add(choice(t, 3, 0.05))
		add(choice(t, 5, 0.02))
	}
	add(ofFamily(adaptive.YesNo, psychometric.Logistic, 1.2, 0.25, 0.1, 0.02, YesNoTrials))
	add(ofFamily(adaptive.YesNo, psychometric.Normal, 1.2, 0.4, 0.1, 0.02, YesNoTrials))
	add(ofFamily(adaptive.ForcedChoice, psychometric.Normal, 1.2, 0.4, 0.5, 0.02, ChoiceTrials))
	sdt, err := Detecting(adaptive.ForcedChoice, 1.2, 1.3, 0, 0.02)
	add(Condition{Observer: sdt, Lapse: 0.02, Trials: ChoiceTrials}, err)
	return all, errors.Join(failures...)
}

// Small is a handful of conditions for every day.
func Small() ([]Condition, error) {
	a, err1 := yesNo(1.2, 3, 0.10, 0.02)
	b, err2 := detecting(1.2, 1, 0.15, 0.02)
	c, err3 := choice(1.2, 3, 0.02)
	return []Condition{a, b, c}, errors.Join(err1, err2, err3)
}

func ofFamily(task adaptive.Task, family psychometric.Family, threshold, slope, falseAlarm, lapse float64, trials int) (Condition, error) {
	o, err := Sigmoidal(task, family, threshold, slope, falseAlarm, lapse)
	c := Condition{Observer: o, Lapse: lapse, Trials: trials}
	if task == adaptive.YesNo {
		c.FalseAlarms, c.CatchShare = falseAlarm, CatchShare
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
