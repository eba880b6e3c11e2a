package ask

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// A drill has few answers, so its summary counts, takes the middle one, and speaks of a
// bias only where chance alone would hardly make it. What can be concluded from many
// drills is for the tables of progress.

// Score is what a drill came to as one number: how far the middle answer lay from the
// target, where answers are colours, or else how many judgements were right.
type Score struct {
	Distance float64 // in ΔE00
	Right    int
	Of       int  // 0 where the score is a distance
	Several  bool // judgements a trial
	Known    bool
}

// ScoreOf scores marks.
func ScoreOf(marks []scoring.Mark) Score {
	var es []float64
	right, of := 0, 0
	for _, m := range marks {
		if m.HasColour && !m.Sparse {
			es = append(es, m.Difference.E)
		}
		for _, c := range m.Checks {
			of++
			if c.Right {
				right++
			}
		}
	}
	if len(es) > 0 {
		e := trend.Median(es, 0.95)
		return Score{Distance: e.Value, Known: e.Defined()}
	}
	return Score{Right: right, Of: of, Several: of > len(marks), Known: of > 0}
}

// Better reports whether a score is better than another of its kind.
func (s Score) Better(than Score) bool {
	if s.Of > 0 && than.Of > 0 {
		return s.Right*than.Of > than.Right*s.Of
	}
	return s.Distance < than.Distance
}

// Words say a score.
func (s Score) Words() string {
	if s.Several {
		return fmt.Sprintf("%d of %d judgements right", s.Right, s.Of)
	}
	if s.Of > 0 {
		return fmt.Sprintf("%d of %d right", s.Right, s.Of)
	}
	return scoring.Figure(s.Distance)
}

// Like says whether the scores of two drills can stand beside each other: the same
// question, about the same colours, looked at in the same light.
func Like(a, b exercises.Setup) bool {
	return a.Kind == b.Kind && a.LevelNow() == b.LevelNow() && len(a.Again) == 0 && len(b.Again) == 0 && a.Task == b.Task && a.Attribute == b.Attribute && a.Targets == b.Targets &&
		a.SheetID == b.SheetID && a.Viewing.Light == b.Viewing.Light && a.Viewing.Gap == b.Viewing.Gap && fmt.Sprint(a.Options) == fmt.Sprint(b.Options)
}

// Sum is what a summary says of the answers of one drill.
type Sum struct {
	Bias  string   // the largest bias, in words
	Parts []string // the parts of the exercise, a line each
	Weak  string   // the attribute that went worst, or another word of nextWords
	Fine  bool     // nothing went badly
}

// SumOf gathers it from the marks, whatever their kind.
func SumOf(sheet *tabs.Sheet, results []Result) Sum {
	var s Sum
	s.Bias, s.Weak = biasOf(sheet, results)
	s.parts(results)
	return s
}

// share is a count of one part of an exercise.
type share struct {
	name      string
	right, of int
}

// partNames are the names of checks as a learner reads them.
var partNames = map[string]string{"nearest tooth": "nearest tooth", "verdict": "verdict", "pair that breaks": "pair that breaks", "steps whiter": "steps whiter"}

func partName(check string) string {
	for prefix, name := range map[string]string{"direction of ": "", "order of ": "order of ", "place between two, ": "place by ", "gradient of ": "neck to edge in ", "verdict under ": "under "} {
		if rest, ok := strings.CutPrefix(check, prefix); ok {
			return name + rest
		}
	}
	return cmp.Or(partNames[check], check)
}

// parts counts what was right, part by part, thirds by third, and value groups.
func (s *Sum) parts(results []Result) {
	var list []share
	count := func(name string, right bool) {
		i := slices.IndexFunc(list, func(p share) bool { return p.name == name })
		if i < 0 {
			i, list = len(list), append(list, share{name: name})
		}
		list[i].of++
		if right {
			list[i].right++
		}
	}
	thirds := map[string][]float64{}
	var tooLight, tooDark, tooStrict, tooLenient, tooMany, tooFew int
	var off []float64
	coloured := false
	for _, r := range results {
		coloured = coloured || r.Mark.HasColour
		for _, x := range r.Mark.Measures {
			switch right, known := r.Mark.Right(); {
			case x.Name == "strictness" && x.Value > 0:
				tooStrict++
			case x.Name == "strictness" && x.Value < 0:
				tooLenient++
			case x.Name == "steps off":
				off = append(off, math.Abs(x.Value))
				if known && !right && x.Value > 0 {
					tooMany++
				} else if known && !right {
					tooFew++
				}
			}
		}
		for _, c := range r.Mark.Checks {
			count(partName(c.Name), c.Right)
		}
		m := r.Mark
		if m.HasGroup {
			count("value group", m.GroupSteps == 0)
			if m.GroupSteps > 0 {
				tooLight++
			} else if m.GroupSteps < 0 {
				tooDark++
			}
		}
		if m.HasSheet && !m.Sparse {
			count("best tab there was", m.Excess < 0.005)
		}
		if r.Attempt.Trial.Kind == exercises.Thirds && m.HasColour {
			_, third := cutThird(r.Attempt.Trial.Part)
			thirds[third] = append(thirds[third], m.Difference.E)
		}
	}
	var words []string
	s.Fine = len(list) > 0
	for _, p := range list {
		words = append(words, fmt.Sprintf("%s %d of %d", p.name, p.right, p.of))
		if p.right*5 < p.of*4 { // a part is fine at four of five; house rule
			s.Fine = false
		}
	}
	if len(words) > 1 || len(words) > 0 && coloured { // otherwise the score says it already
		s.Parts = append(s.Parts, "Right: "+strings.Join(words, ", ")+".")
	}
	if tooStrict+tooLenient > 0 {
		s.Parts = append(s.Parts, fmt.Sprintf("Verdicts: %d too strict, %d too lenient.", tooStrict, tooLenient))
	}
	if tooMany+tooFew > 0 {
		s.Parts = append(s.Parts, fmt.Sprintf("Steps: %d too many, %d too few; half of the answers were less than %.1f off.", tooMany, tooFew, trend.Median(off, 0.95).Value))
	}
	if tooLight+tooDark > 0 {
		s.Parts = append(s.Parts, fmt.Sprintf("Value groups: %d too light, %d too dark.", tooLight, tooDark))
	}
	var by []string
	for _, third := range []string{exercises.Cervical, exercises.Middle, exercises.Incisal} {
		if es := thirds[third]; len(es) > 0 {
			by = append(by, fmt.Sprintf("%s %.1f", third, trend.Median(es, 0.95).Value))
		}
	}
	if len(by) > 0 {
		s.Parts = append(s.Parts, "By third, half of the answers were nearer than: "+strings.Join(by, ", ")+".")
	}
	if s.Weak == "" {
		s.Weak = weakOf(list)
	}
}

// weakOf is what is worth practising by itself: the attribute in which most was missed,
// value before all else, or the verdicts. "" where no part went badly.
func weakOf(list []share) (weak string) {
	worst := 0.8
	for _, p := range list {
		part := float64(p.right) / float64(p.of)
		if p.name == "value group" && part < 0.8 {
			return exercises.AttributeValue
		}
		for _, a := range exercises.AttributeNames() {
			if strings.HasSuffix(p.name, a) && part < worst {
				weak, worst = a, part
			}
		}
	}
	for _, p := range list {
		if weak == "" && (p.name == "verdict" || strings.HasPrefix(p.name, "under ")) && p.right*5 < p.of*4 {
			weak = ruleVerdict
		}
	}
	return weak
}

// biasOf says the largest bias that chance alone would hardly make: of the colours
// answered, or of verdicts, steps and directions.
func biasOf(sheet *tabs.Sheet, results []Result) (words, attribute string) {
	var judged []history.Judged
	said := map[string][]float64{}
	var strict, steps []float64
	for _, r := range results {
		m := r.Mark
		if m.HasColour && !m.Sparse {
			judged = append(judged, history.Judge(r.Attempt, m, sheet))
		}
		for _, d := range m.Directions {
			said[d.Attribute] = append(said[d.Attribute], float64(d.Said-d.Shown()))
		}
		for _, x := range m.Measures {
			switch x.Name {
			case "strictness":
				strict = append(strict, x.Value)
			case "steps off":
				steps = append(steps, x.Value)
			}
		}
	}
	size := 0.0
	consider := func(name string, e scoring.Estimate, tell func(more bool, size float64) string) {
		// Fewer than six that are all alike come about by chance (2·½⁵ is more than 1/20).
		if e.N < 3 || e.Lo == e.Hi && e.N < 6 || !e.HasInterval() || e.Covers(0) || e.Open() != 0 && float64(e.Open())*e.Value < 0 || math.Abs(e.Value) <= size {
			return
		}
		size, attribute = math.Abs(e.Value), name
		words = "Bias: " + tell(e.Value > 0, size)
	}
	colours := history.BiasOf([][]history.Judged{judged}) // as the tables have it
	bias := func(values []float64) scoring.Estimate { return trend.Bias(values, 0.95) }
	for i, a := range []struct{ name, more, less, said, saidLess string }{
		{exercises.AttributeValue, "too light", "too dark", "lighter", "darker"},
		{exercises.AttributeChroma, "too strong in chroma", "too weak in chroma", "stronger in chroma", "weaker in chroma"},
		{exercises.AttributeHue, "too yellow", "too red", "yellower", "redder"},
	} {
		consider(a.name, colours.Estimates[i], func(more bool, size float64) string {
			if colours.Estimates[i].Open() != 0 {
				return fmt.Sprintf("your answers were %s, by at least %.1f (the library ends there).", either(more, a.more, a.less), size)
			}
			return fmt.Sprintf("your answers were %s, by about %.1f.", either(more, a.more, a.less), size)
		})
		consider(a.name, bias(said[a.name]), func(more bool, _ float64) string {
			return fmt.Sprintf("you said \"%s\" more often than it was.", either(more, a.said, a.saidLess))
		})
	}
	consider("steps", bias(steps), func(more bool, size float64) string {
		return fmt.Sprintf("you said too %s steps, by about %.1f.", either(more, "many", "few"), size)
	})
	consider(ruleVerdict, bias(strict), func(more bool, _ float64) string {
		return "your verdicts were too " + either(more, "strict", "lenient") + "."
	})
	if n := len(judged) + len(steps) + len(strict) + len(said[exercises.AttributeValue]); words == "" && n >= 6 {
		words = "No bias shows in so few answers."
	}
	return words, attribute
}

func either(first bool, one, other string) string {
	if first {
		return one
	}
	return other
}

// Worst are up to n results that are worth another look, the worst first.
func Worst(results []Result, n int) []Result {
	badness := func(r Result) float64 {
		bad := 0.0
		if r.Mark.HasColour {
			bad = r.Mark.Difference.E
		}
		for _, c := range r.Mark.Checks {
			if !c.Right {
				bad += 10
			}
		}
		return bad
	}
	list := slices.Clone(results)
	slices.SortStableFunc(list, func(a, b Result) int { return cmp.Compare(badness(b), badness(a)) })
	list = slices.DeleteFunc(list, func(r Result) bool { return badness(r) <= scoring.Perceptibility.Value })
	return list[:min(n, len(list))]
}

// NextWords say what to practise next.
func NextWords(kind exercises.Kind, s Sum) string {
	if slices.Contains(exercises.AttributeNames(), s.Weak) {
		return fmt.Sprintf("Next: %s, %s alone, to see that one attribute by itself.", history.KindTitle(exercises.SeenAlone(s.Weak)), s.Weak)
	}
	if s.Weak == ruleVerdict && kind.ID() != exercises.TryIn {
		return "Next: Try-in, where each verdict follows from value, chroma and hue."
	}
	if s.Fine {
		list := exercises.Kinds()
		for i, k := range list {
			if k.ID() == kind.ID() && i+1 < len(list) && !list[i+1].Traits().OffPlan() {
				return "Next: " + list[i+1].Title() + ", " + list[i+1].Trains() + "."
			}
		}
	}
	return "Next: the same again tomorrow; a short drill a day teaches more than a long one a week."
}
