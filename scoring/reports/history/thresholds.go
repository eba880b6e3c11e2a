package history

import (
	"math/rand/v2"
	"sync"

	"shadedrill/exercises"
	"shadedrill/exercises/adaptive"
	"shadedrill/scoring"
	"shadedrill/scoring/threshold"
)

// Relative stands beside every threshold, for no number of a screen without a
// calibration can be compared with one taken on teeth.
const Relative = "relative to this screen and this room, not a clinical value"

// Overall names the threshold of all directions together.
const Overall = "overall"

var Directions = exercises.AttributeNames()

// MeasuredThreshold is what one direction of a threshold sitting, or all of them
// together, came to.
type MeasuredThreshold struct {
	Direction string // value, chroma, hue or Overall
	threshold.Result
}

// ThresholdDetail says how much of a threshold is to be computed.
type ThresholdDetail struct {
	Draws int    // bootstrap draws; 0: no bootstrap
	Seed  uint64 // decides the draws
	// Brief leaves out the intervals of slope and lapses.
	Brief bool
	// PlainOnly computes the threshold with its interval and nothing else.
	PlainOnly bool
	// OverallOnly leaves out the single directions.
	OverallOnly bool
}

// MeasureThresholds computes the thresholds of one sitting: overall and, where
// several directions were asked, for each. Every number carries the warning
// [Relative]. Identical pairs look the same in every direction, so all of them count
// for each.
func MeasureThresholds(setup exercises.Setup, attempts []scoring.Attempt, d ThresholdDetail) []MeasuredThreshold {
	asked := []string{setup.Attribute}
	switch {
	case setup.Attribute == "" && d.OverallOnly:
		asked = []string{Overall}
	case setup.Attribute == "":
		asked = append([]string{Overall}, Directions...)
	}
	list := make([]MeasuredThreshold, len(asked))
	if len(asked) == 1 {
		list[0] = measureThreshold(setup.Task, asked[0], attempts, d)
		return list
	}
	var wait sync.WaitGroup
	for i, direction := range asked {
		wait.Go(func() { list[i] = measureThreshold(setup.Task, direction, attempts, d) })
	}
	wait.Wait()
	return list
}

func measureThreshold(taskName, direction string, attempts []scoring.Attempt, d ThresholdDetail) MeasuredThreshold {
	m := MeasuredThreshold{Direction: direction}
	task, err := exercises.ThresholdTask(taskName)
	if err == nil {
		options := threshold.Options{Task: task, Smallest: exercises.SmallestStep(direction), Brief: d.Brief || d.PlainOnly, PlainOnly: d.PlainOnly}
		if d.Draws > 0 {
			options.Draws, options.Chance = d.Draws, rand.New(rand.NewPCG(d.Seed, 1))
		}
		err = guarded(func() (err error) {
			m.Result, err = threshold.Measure(answersAlong(direction, attempts), options)
			return err
		})
	}
	if err != nil { // an answer that no trial of ours can have: an imported one
		m.Result = threshold.Unmeasurable(task, err.Error())
	}
	for _, e := range []*scoring.Estimate{&m.Threshold, &m.Bootstrap, &m.Corrected, &m.Sensitivity} {
		if e.Defined() {
			*e = e.Warn(Relative)
		}
	}
	return m
}

func answersAlong(direction string, attempts []scoring.Attempt) []threshold.Answer {
	var list []threshold.Answer
	for _, a := range attempts {
		if direction == Overall || a.Trial.Part == direction || a.Trial.Level == 0 {
			list = append(list, threshold.Answer{Level: a.Trial.Level, Yes: exercises.Passed(a.Trial, a.Answer), Key: a.Answer.Choice})
		}
	}
	return list
}

// Published is the 50:50 % value that a task's threshold is shown beside.
func Published(task string) scoring.Cutoff {
	if task == exercises.TaskAccept {
		return scoring.Acceptability
	}
	return scoring.Perceptibility
}

// Proportion is the share of answers that a task's threshold stands for.
func Proportion(task adaptive.Task) float64 { return task.Curve().Target.P() }
