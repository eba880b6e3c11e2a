package scoring

import (
	"fmt"
	"strings"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

func init() { register(exercises.Lighting, Rules{Mark: markLighting, Together: lightingTogether}) }

// lightingTogether: a pair that is easy under one lamp is mostly easy under the next.
// Simulated observers show 1.0 to 1.3 for six lamps; source: own simulation, which a
// test in scoring/reports/history repeats.
const lightingTogether = 1.2

// verdicts of the lighting exercise, from the best.
var lightingVerdicts = []verdict{{exercises.Match, "they match"}, {exercises.Acceptable, "it may stay"}, {exercises.Mismatch, "it may not stay"}}

// verdict is one of the words that an exercise takes for its verdict, and the same
// in a sentence: "better to redo the crown".
type verdict struct{ word, sentence string }

// verdictOf grades a difference in three: within perceptibility 0, within
// acceptability 1, beyond 2.
func verdictOf(e float64) int { return min(int(BandOf(e))-int(Excellent), 2) }

// markVerdict marks a verdict from a list, the mildest first, of which one is right.
// Strictness is 0 where it is right, +1 or +2 for a verdict that was too strict, −1
// or −2 for one too lenient.
func markVerdict(name string, list []verdict, said string, right int, why string) (Check, []Measure) {
	c := Check{Name: name, Right: said == list[right].word, Why: why + ": " + list[right].sentence}
	for i, v := range list {
		if v.word == said {
			if i != right {
				c.Why += "; you said " + v.sentence
			}
			return c, []Measure{{Name: "strictness", Value: float64(i - right), Unit: "verdicts, + too strict"}}
		}
	}
	return c, nil
}

// markLighting marks verdicts by the bands of the pair as shown under each lamp.
func markLighting(t exercises.Trial, a exercises.Answer, _ *tabs.Sheet) Mark {
	lamp := lampName(t.Part)
	if t.Key != "" {
		return markBreaking(t, a, lamp)
	}
	sample, ok := t.Patch("sample")
	if !ok {
		return Mark{}
	}
	e := colour.DeltaE00(t.Target.Lab(), sample.Lab())
	check, measures := markVerdict("verdict under "+lamp, lightingVerdicts, a.Choice, verdictOf(e),
		fmt.Sprintf("under %s the two differ by %s ΔE00, %s", lamp, Figure(e), BandOf(e).Words()))
	// The daylight look is a match by construction: its verdict is a check
	// against false alarms and has no index.
	if index, ok := shownIndex(t.PatchesOf("daylight"), t.Target, sample); ok && t.Part != colour.D65().ID {
		measures = append(measures, index)
	}
	return Mark{Checks: []Check{check}, Measures: measures}
}

func markBreaking(t exercises.Trial, a exercises.Answer, lamp string) Mark {
	var sizes []string
	for i := 1; ; i++ {
		pair := t.PatchesOf(fmt.Sprintf("under-%d", i))
		if len(pair) != 2 {
			break
		}
		sizes = append(sizes, fmt.Sprintf("pair %d by %.1f", i, colour.DeltaE00(pair[0].Lab(), pair[1].Lab())))
	}
	m := Mark{Checks: []Check{{Name: "pair that breaks", Right: a.Choice == t.Key,
		Why: fmt.Sprintf("pair %s breaks under %s; in ΔE00 they differ there: %s", t.Key, lamp, strings.Join(sizes, ", "))}}}
	if under := t.PatchesOf("under-" + t.Key); len(under) == 2 {
		if index, ok := shownIndex(t.PatchesOf("pair-"+t.Key), under[0], under[1]); ok {
			m.Measures = append(m.Measures, index)
		}
	}
	return m
}

// shownIndex is the index of metamerism of the colours as shown: their ΔE*ab
// under the test lamp after the additive correction in CIELAB for what already
// separates them in daylight (ISO 18314-4:2024). It belongs to the pair, not to
// the person; from the spectra themselves it is [colour.MetamerismIndex].
func shownIndex(daylight []colour.SRGB, standard, sample colour.SRGB) (Measure, bool) {
	if len(daylight) != 2 {
		return Measure{}, false
	}
	corrected := colour.CorrectAdditive(sample.Lab(), daylight[1].Lab(), daylight[0].Lab())
	return Measure{Name: "index of metamerism of the pairs", Value: colour.DeltaEab(standard.Lab(), corrected), Unit: "ΔE*ab"}, true
}

// lampName is what people call a lamp; an unknown one, from a newer program, keeps
// its ID.
func lampName(id string) string {
	light, err := colour.LightByID(id)
	if err != nil {
		return id
	}
	return light.Name
}
