package ask

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/thresholds"
	"shadedrill/trainer/draw"
)

// usualThresholdTrials is three directions with 80 trials each: fewer leave single
// directions without a threshold. A short one is one direction's.
const (
	usualThresholdTrials = 240
	shortThresholdTrials = usualThresholdTrials / 3
)

func init() {
	register(exercises.Threshold, Screen{
		Brief: []string{
			"Pairs of patches, some plainly different, most hard to tell. Answer by the first impression; guess when you cannot tell.",
			"Each next pair is chosen near the limit of what you see, so most are hard, for a trained eye too.",
			"Single answers are not commented on: together they give a threshold. It holds for this screen and room and is no clinical value.",
		},
		Ask:     newThreshold,
		Quiet:   true,
		Trials:  usualThresholdTrials,
		Summary: thresholdSummary,
		Variants: []Variant{
			{"Threshold: short, value alone", "Two pairs, one of them of two values: the smallest difference in value that you can see.",
				exercises.Setup{Task: exercises.TaskWhich, Attribute: exercises.AttributeValue, Count: shortThresholdTrials}, nil},
			{"Threshold: which pair differs", "Two pairs, one of them of two colours: the smallest difference you can see.",
				exercises.Setup{Task: exercises.TaskWhich}, nil},
			{"Threshold: different or the same", "One pair, sometimes of one colour: the difference you see without being pointed to it.",
				exercises.Setup{Task: exercises.TaskDifferent}, nil},
			{"Threshold: leave or change", "One pair: the largest difference that you would leave in the mouth.",
				exercises.Setup{Task: exercises.TaskAccept}, nil},
		},
	})
}

// newThreshold asks one of three questions about pairs: which of two differs,
// whether one differs, whether one would do in the mouth.
func newThreshold(q Question) (Asker, error) {
	if q.Setup.Task == exercises.TaskWhich {
		left, err := pairIn(q.Trial, exercises.Left)
		if err != nil {
			return nil, err
		}
		right, err := pairIn(q.Trial, exercises.Right)
		if err != nil {
			return nil, err
		}
		which := "Which pair consists of two colours?"
		if q.Setup.Attribute != "" { // what is looked for is said, as it is before the drill
			which = "Which pair differs in " + q.Setup.Attribute + "?"
		}
		return &verbal{
			ask:   which,
			words: []word{{"left", "1", "←", "the left pair", exercises.Left}, {"right", "2", "→", "the right pair", exercises.Right}},
			paint: q.paintPairs([][]colour.SRGB{left, right}, nil),
		}, nil
	}
	sample, ok := q.Trial.Patch("sample")
	if !ok {
		return nil, fmt.Errorf("trial %d has no second patch", q.Trial.Ordinal+1)
	}
	a := &verbal{paint: q.paintPair(q.Trial.Target, sample)}
	switch q.Setup.Task {
	case exercises.TaskDifferent:
		a.ask = "Do the two patches differ in " + cmp.Or(q.Setup.Attribute, "colour") + "?"
		a.words = []word{{"s", "1", "s", "the same", exercises.Same}, {"d", "2", "d", "different", exercises.Differ}}
	case exercises.TaskAccept:
		a.ask = "A crown beside a tooth: would you leave it, or change it?"
		a.words = []word{{"l", "1", "l", "leave it", exercises.Leave}, {"c", "2", "c", "change it", exercises.Change}}
	default:
		return nil, fmt.Errorf("the trainer does not know the task %q", q.Setup.Task)
	}
	return a, nil
}

// A curve in the summary is as wide as the narrowest window lets it be.
const curveWidth, curveHeight = 70, 11

// thresholdSummary says what a sitting came to, and draws the curve.
func thresholdSummary(setup exercises.Setup, results []Result) []draw.Line {
	attempts := make([]scoring.Attempt, len(results))
	for i, r := range results {
		attempts[i] = r.Attempt
	}
	measured := history.MeasureThresholds(setup, attempts, history.ThresholdDetail{Brief: true})
	var lines []draw.Line
	add := func(format string, args ...any) {
		lines = append(lines, draw.Line{Text: fmt.Sprintf(format, args...)})
	}
	whole := measured[0]
	lines = append(lines, draw.Line{Text: thresholdWords(setup, whole), Strong: true}, draw.Line{})
	missing := false
	for _, m := range measured {
		words := "no threshold; " + strings.Join(m.Threshold.Warnings, "; ") + "."
		if e := m.Threshold; e.Defined() {
			words = fmt.Sprintf("threshold ΔE00 %.2f", e.Value)
			if e.HasInterval() {
				words += " (" + between(e.Lo, e.Hi) + e.RoughWord() + ")"
			}
			words += ", relative"
		} else {
			missing = true
		}
		add("%s: %s", draw.UpperFirst(m.Direction), words)
	}
	if e := whole.Corrected; e.Defined() {
		add("%s, corrected for false alarms and slips: %.2f (%s)", draw.UpperFirst(whole.Direction), e.Value, between(e.Lo, e.Hi)+e.RoughWord())
	}
	if e := whole.FalseAlarms; e.Defined() {
		said := "different"
		if setup.Task == exercises.TaskAccept {
			said = "\"change it\""
		}
		add("%.0f %% of the %d identical pairs were called %s.", 100*e.Value, whole.Catches, said)
	}
	enough := usualThresholdTrials
	if setup.Attribute != "" {
		enough /= 3
	}
	if missing && len(results) < enough {
		add("%d trials give most people a threshold.", enough)
	}
	lines = append(lines, draw.Line{})
	for _, l := range report.Sketch(thresholds.Plot(setup.Task, whole), curveWidth, curveHeight) {
		lines = append(lines, draw.Line{Text: l, Drawn: true})
	}
	add("")
	return append(lines, draw.Line{Text: "In brackets: the 95 % interval. A threshold is " + history.Relative + ". \"shadedrill threshold --format text\" says more.", Faint: true})
}

// thresholdWords say in the trade's words what was measured.
func thresholdWords(setup exercises.Setup, m history.MeasuredThreshold) string {
	e := m.Threshold
	switch {
	case !e.Defined():
		return "These answers give no threshold yet."
	case setup.Task == exercises.TaskAccept:
		return fmt.Sprintf("You would leave differences up to about %.1f. Half of observers leave %.1f.", e.Value, scoring.Acceptability.Value)
	}
	in := "a difference"
	if setup.Attribute != "" {
		in += " in " + setup.Attribute
	}
	return fmt.Sprintf("You see %s from about %.1f on. Half of observers see %.1f.", in, e.Value, scoring.Perceptibility.Value)
}

// between writes an interval, an open end in words.
func between(lo, hi float64) string {
	if math.IsInf(hi, 0) {
		return fmt.Sprintf("%.2f or more", lo)
	}
	return fmt.Sprintf("%.2f to %.2f", lo, hi)
}
