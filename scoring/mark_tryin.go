package scoring

import (
	"fmt"
	"math"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// Asked is four times, value, chroma, hue and verdict, and a teacher marks each of
// four questions. All four together are no fair measure: of 1,800 cases simulated
// observers with noise 0.6, 0.8 and 1.0 ΔE00 had all four right in 53, 37 and 26 %,
// and single judgements in 85, 77 and 70 %. The same observers find 95, 90 and 82 %
// of the tabs of "starter" in value first, so that house cut-offs at 75 and 85 % of
// the single judgements call them much the same. Saying "the same" and "seat it" to
// everything gets 56 % and random answers 34 %: poor.
//
// Source of these and of tryInTogether: own simulation, which tests in
// scoring/reports/history repeat.
func init() {
	register(exercises.TryIn, Rules{Mark: markTryIn, Together: tryInTogether, Singly: true,
		SinglyWords: "In try-in each of the four judgements counts for itself, value, chroma, hue and verdict: even a good eye seldom has all four right. The same is right up to 0.8 ΔE00 along value, chroma or hue: that is a published limit of the whole difference, laid here against its parts (house rule)."})
}

// tryInTogether: value, chroma, hue and verdict of one case; simulated observers show
// 1.0 to 1.1.
const tryInTogether = 1.1

// borderline is how near to perceptibility a part may come for both "the same" and
// its direction to be right: there half of observers see it. Trials of today keep
// off; house rule.
const borderline = 0.25

var tryInVerdicts = []verdict{{exercises.Seat, "seat it"}, {exercises.Adjust, "adjust it"}, {exercises.Remake, "remake it"}}

// markTryIn holds each direction against its signed part of what came back minus
// what was prescribed: the same is right up to perceptibility. The verdict follows
// from the band: seat within acceptability, adjust a mismatch a, remake beyond.
// What the verdict should be in each band is common practice, no source.
func markTryIn(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	delivered, ok := exercises.DeliveredOf(t)
	if !ok {
		return Mark{}
	}
	from, to := t.Target.Lab(), delivered.Lab()
	d := colour.Compare(from, to, colour.Unit)
	var m Mark
	if said := a.Directions; said != nil {
		yellower, redder := HueWords(from, to)
		m.Directions = []Direction{
			{exercises.AttributeValue, d.L, sign(said.Value)}, {exercises.AttributeChroma, d.C, sign(said.Chroma)}, {exercises.AttributeHue, d.H, sign(said.Hue)},
		}
		for i, words := range [][2]string{{"lighter", "darker"}, {"more chromatic", "less chromatic"}, {yellower, redder}} {
			m.Checks = append(m.Checks, m.Directions[i].check(words[0], words[1]))
		}
	}
	if a.Choice != "" {
		check, measures := markVerdict("verdict", tryInVerdicts, a.Choice, restorationVerdict(d.E),
			fmt.Sprintf("the two differ by %s ΔE00, %s", Figure(d.E), BandOf(d.E).Words()))
		m.Checks, m.Measures = append(m.Checks, check), measures
	}
	return m
}

func restorationVerdict(e float64) int {
	switch BandOf(e) {
	case Excellent, Acceptable:
		return 0
	case MismatchA:
		return 1
	}
	return 2
}

// Direction is an answer "more, the same, less" along one attribute.
type Direction struct {
	Attribute string  // [exercises.AttributeValue] and the others
	Part      float64 // the signed part that was shown, in ΔE00
	Said      int     // +1 more, 0 the same, −1 less
}

// Shown is the direction that was there: 0 for a part up to perceptibility.
func (d Direction) Shown() int {
	switch pt := Perceptibility.Value; {
	case d.Part > pt:
		return 1
	case d.Part < -pt:
		return -1
	}
	return 0
}

// Right says whether the answer was right. Close to perceptibility both "the same"
// and the direction are.
func (d Direction) Right() bool {
	if d.Said == d.Shown() {
		return true
	}
	near := math.Abs(math.Abs(d.Part)-Perceptibility.Value) <= borderline
	return near && (d.Said == 0 || float64(d.Said)*d.Part > 0)
}

func (d Direction) check(more, less string) Check {
	word := func(sign int) string {
		switch {
		case sign > 0:
			return more
		case sign < 0:
			return less
		}
		return "the same"
	}
	why := fmt.Sprintf("%.1f %s", math.Abs(d.Part), word(int(math.Copysign(1, d.Part))))
	switch {
	case math.Abs(d.Part) < 0.05:
		why = "the same"
	case d.Shown() == 0:
		why = "the same (" + why + ")"
	}
	if !d.Right() {
		why += ", answered " + word(d.Said)
	}
	return Check{Name: "direction of " + d.Attribute, Right: d.Right(), Why: why}
}

func sign(n int) int { return max(-1, min(1, n)) }
