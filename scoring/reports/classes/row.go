package classes

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// Row is one learner in a class review.
type Row struct {
	Learner  scoring.Learner
	Sittings int
	Answers  int
	Last     time.Time // of the latest answer; zero without one
	// Error is the median ΔE00 of practice in the exercise with the most sittings,
	// TrendIn: exercises differ in how hard they are, and a median over several would
	// tell which were practised. Tests are left out: their targets may be tabs.
	Error scoring.Estimate
	// Change is the change of the median ΔE00 a sitting (Theil–Sen) in the exercise
	// with the most sittings, TrendIn; Trend says in a word where it goes.
	Change  scoring.Estimate
	Trend   report.Word
	TrendIn string
	// Level is that of the sittings behind Error and Change, 0 for none, and OtherLevels how
	// many of other levels they leave out.
	Level, OtherLevels int
	// Biases are those of practice along value, chroma and hue.
	Biases [3]scoring.Estimate
	// Sees and Accepts are the newest thresholds that could be computed: of seeing a
	// difference and of accepting one. N is 0 where none was measured.
	Sees, Accepts scoring.Estimate
	// ExamLevel is the level of the latest proficiency test, ExamShare the share
	// right in it.
	ExamLevel  report.Word
	ExamShare  scoring.Estimate
	examDigits int // of the share in %, for its level to be seen
	Flags      []Flag
	growth     float64 // one-sided p of growing errors, NaN where it cannot be told
}

// Flag is a reason to look at somebody.
type Flag struct{ Key, Words string }

func rowOf(h *history.History, who scoring.Learner) Row {
	all := history.WithColours(h.Kinds)
	var coloured []*history.Kind
	for _, k := range all {
		coloured = append(coloured, k.Practice())
	}
	coloured = history.WithColours(coloured)
	r := Row{Learner: who, Sittings: h.Sittings, Answers: h.Attempts, Last: h.Last}
	r.Biases = history.BiasOfKinds(all).Estimates // as in the learner's own progress
	r.growth = math.NaN()
	r.trend(coloured)
	r.Sees = newestThreshold(h, exercises.TaskWhich, exercises.TaskDifferent)
	r.Accepts = newestThreshold(h, exercises.TaskAccept)
	return r
}

// trend looks at the exercise with the most sittings: exercises differ in how
// hard they are, so a change from one to another would look like a trend.
func (r *Row) trend(coloured []*history.Kind) {
	var most *history.Kind
	for _, k := range coloured {
		if most == nil || len(k.Sittings) > len(most.Sittings) {
			most = k
		}
	}
	if most == nil {
		r.Error = scoring.Undefined(0, "no answers that stand for a colour")
		r.Change = r.Error
		r.Trend = history.TrendWord(trend.MannKendall(nil))
		return
	}
	r.Error = history.MedianSize([]*history.Kind{most})
	r.Level, r.OtherLevels = most.Level, most.OtherLevels
	means, _ := history.Typicals(most)
	r.Change = trend.TheilSen(nil, means, history.Level).Slope
	test := trend.MannKendall(means)
	r.Trend, r.TrendIn = history.TrendWord(test), most.Title
	if r.Trend.Key != "unknown" {
		if r.growth = test.P / 2; test.S < 0 {
			r.growth = 1 - test.P/2
		}
	}
}

// newestThreshold is that of the newest sitting of one of the tasks; where that
// gives none, of the newest that gives one.
func newestThreshold(h *history.History, tasks ...string) scoring.Estimate {
	newest := scoring.Undefined(0, "not measured")
	for _, k := range h.Kinds {
		for i := len(k.Sittings) - 1; i >= 0; i-- {
			s := k.Sittings[i]
			if len(s.Raw) == 0 || !slices.Contains(tasks, s.Setup.Task) {
				continue
			}
			for _, m := range history.MeasureThresholds(s.Setup, s.Raw, history.ThresholdDetail{PlainOnly: true, OverallOnly: true}) {
				if m.Threshold.Defined() {
					if m.Direction != history.Overall {
						return m.Threshold.Warn("in " + m.Direction + " only")
					}
					return m.Threshold
				}
				if newest.N == 0 {
					newest = m.Threshold
				}
			}
		}
	}
	return newest
}

// exam takes the latest proficiency test that was taken to its end, and gives it the
// level of its form; broken says that one was begun.
func (r *Row) exam(tests []taken, broken bool, levels map[scoring.SetRef]scoring.Cuts) {
	r.ExamLevel = report.Word{Key: "none", Shown: "not taken"}
	r.ExamShare = scoring.Undefined(0, "no proficiency test taken")
	if len(tests) == 0 {
		if broken {
			r.ExamLevel = report.Word{Key: string(scoring.LevelUnknown), Shown: "broken off"}
		}
		return
	}
	latest := tests[len(tests)-1]
	if latest.altered {
		r.ExamLevel = report.Word{Key: "altered", Shown: "not as it was taken"}
		r.ExamShare = scoring.Undefined(0, `its answers are not as they were given: the list of tests says more`)
		return
	}
	r.ExamShare = latest.share
	cuts := scoring.HouseCuts
	if own, ok := levels[latest.ref]; ok {
		cuts = own
	}
	r.examDigits = cuts.Digits(r.ExamShare.Value)
	level, uncertain := cuts.Classify(r.ExamShare, latest.counted)
	if uncertain != "" && r.ExamShare.Defined() {
		r.ExamShare = r.ExamShare.Warn(uncertain)
	}
	r.ExamLevel = report.Word{Key: string(level), Shown: string(level)}
	if latest.uncompared != "" {
		r.ExamShare = r.ExamShare.Warn("its items were not compared with the form: " + latest.uncompared)
		r.ExamLevel.Shown += ", items not compared"
	}
}

// biasLength is the length of the mean error over the axes on which it is beyond
// chance, in ΔE00: what would be left if somebody's answers had no scatter.
func (r Row) biasLength() float64 {
	sum := 0.0
	for _, e := range r.Biases {
		if history.BiasWord(e, "+", "-") != "" {
			sum += e.Value * e.Value
		}
	}
	return math.Sqrt(sum)
}

// boundAlone says that one of those axes is known as a bound alone: so is the length.
func (r Row) boundAlone() bool {
	for _, e := range r.Biases {
		if e.Open() != 0 && history.BiasWord(e, "+", "-") != "" {
			return true
		}
	}
	return false
}

// biasSize is biasLength in words.
func (r Row) biasSize() string {
	size := scoring.Figure(r.biasLength())
	if r.boundAlone() {
		return "at least " + size
	}
	return size
}

// flags gives the reasons to look at somebody, shown what is known of their displays. House
// rules, each with its numbers in its words.
func (c *Review) flags(r Row, shown history.Displays) []Flag {
	if r.Answers == 0 {
		words := "no answers yet"
		switch {
		case c.Scope.Checked && shown.All > 0:
			return []Flag{{"display", "answered only on a display that failed its check or has none"}}
		case c.narrowed:
			words = "no answers in what was asked for"
		}
		return []Flag{{"no-answers", words}}
	}
	var list []Flag
	if r.Trend.Key == "rising" {
		words := "errors grow"
		if r.Change.Defined() && r.Change.Value >= 0.005 {
			words += fmt.Sprintf(" by %.2f ΔE00 a sitting", r.Change.Value)
		}
		list = append(list, Flag{"rising", words})
	}
	if away := c.last.Sub(r.Last); away > c.Scope.Idle {
		list = append(list, Flag{"stopped", fmt.Sprintf("no answer since %s, while the class went on", r.Last.Local().Format("2 January"))})
	}
	if size := r.biasLength(); size > scoring.Acceptability.Value {
		list = append(list, Flag{"bias", fmt.Sprintf("bias of %s ΔE00, beyond acceptability: %s", r.biasSize(), history.BiasWords(r.Biases, nil))})
	}
	if len(list) == 0 && r.Error.HasInterval() && r.Error.Lo > scoring.Acceptability.Value {
		list = append(list, Flag{"scatter", fmt.Sprintf("answers scatter: half are more than %s ΔE00 off, beyond acceptability", scoring.Figure(r.Error.Value))})
	}
	return list
}

// FlagWords joins the reasons; "" for none.
func (r Row) FlagWords() string {
	var words []string
	for _, f := range r.Flags {
		words = append(words, f.Words)
	}
	return strings.Join(words, "; ")
}

// Order is what the rows of a class are sorted by.
type Order string

// Orders lists the orders, each with its words.
func Orders() []Order {
	return []Order{"flag", "name", "sittings", "active", "error", "trend", "bias", "sees", "exam"}
}

// Words says what stands first.
func (o Order) Words() string {
	switch o {
	case "flag":
		return "flagged first, then the largest error"
	case "name":
		return "by name"
	case "sittings":
		return "fewest sittings first"
	case "active":
		return "longest away first"
	case "error":
		return "largest error first"
	case "trend":
		return "growing errors first"
	case "bias":
		return "strongest bias first"
	case "sees":
		return "largest perceptibility threshold first"
	case "exam":
		return "fewest right in the proficiency test first"
	}
	return ""
}

// ParseOrder reads an order by its name.
func ParseOrder(name string) (Order, bool) {
	o := Order(name)
	return o, slices.Contains(Orders(), o)
}

// Sort puts those first who may need help most by the order, and those of whom
// nothing is known last; backwards turns that round, but for the unknown. Equals
// stand by name.
func (c *Review) Sort(by Order, backwards bool) {
	turn := 1
	if backwards {
		turn = -1
	}
	slices.SortStableFunc(c.Rows, func(a, b Row) int {
		name := cmp.Compare(strings.ToLower(a.Learner.Name), strings.ToLower(b.Learner.Name))
		var d int
		switch by {
		case "name":
			return turn * name
		case "sittings":
			d = turn * cmp.Compare(a.Sittings, b.Sittings)
		case "active":
			d = unknownLast(turn, a.Last, b.Last, time.Time.IsZero, time.Time.Compare)
		case "error":
			d = largestFirst(turn, a.Error, b.Error)
		case "trend":
			d = largestFirst(turn, a.Change, b.Change)
		case "bias":
			d = -turn * cmp.Compare(a.biasLength(), b.biasLength())
		case "sees":
			d = largestFirst(turn, a.Sees, b.Sees)
		case "exam":
			d = largestFirst(-turn, a.ExamShare, b.ExamShare)
		default:
			d = cmp.Or(-turn*cmp.Compare(len(a.Flags), len(b.Flags)), largestFirst(turn, a.Error, b.Error))
		}
		return cmp.Or(d, name)
	})
}

func largestFirst(turn int, a, b scoring.Estimate) int {
	return unknownLast(-turn, a, b, func(e scoring.Estimate) bool { return !e.Defined() },
		func(a, b scoring.Estimate) int { return cmp.Compare(a.Value, b.Value) })
}

func unknownLast[T any](turn int, a, b T, unknown func(T) bool, compare func(a, b T) int) int {
	switch ua, ub := unknown(a), unknown(b); {
	case ua && ub:
		return 0
	case ua:
		return 1
	case ub:
		return -1
	}
	return turn * compare(a, b)
}
