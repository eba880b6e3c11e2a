package history_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/trend"
)

// Simulated observers whose truth is known: what their marks say of them.

// heavy asks for the full proof: 1,000 drills and a coverage of 93–97 %. (Not a
// variable: what is read before the tests begin does not count as their input, and
// a cached result would stand for the other kind.)
func heavy() bool { return os.Getenv("SHADEDRILL_HEAVY") != "" }

func drillMarks(t *testing.T, s exercises.Setup, who observer.Observer, seed uint64) []scoring.Mark {
	t.Helper()
	kind, err := exercises.ByID(s.Kind)
	if err != nil {
		t.Fatal(err)
	}
	s.Seed = seed
	rng := rand.New(rand.NewPCG(seed, 77))
	var marks []scoring.Mark
	for _, trial := range questions(t, s) {
		marks = append(marks, scoring.MarkOf(scoring.Attempt{Trial: trial, Answer: kind.Simulate(trial, s, who, rng)}, s.Sheet))
	}
	return marks
}

// rightOf counts the right answers to the check of the name, or to all for "".
func rightOf(marks []scoring.Mark, name string) (right, n int) {
	for _, m := range marks {
		for _, c := range m.Checks {
			if name != "" && c.Name != name {
				continue
			}
			n++
			if c.Right {
				right++
			}
		}
	}
	return right, n
}

func measured(marks []scoring.Mark, name string) (list []float64) {
	for _, m := range marks {
		for _, x := range m.Measures {
			if x.Name == name {
				list = append(list, x.Value)
			}
		}
	}
	return list
}

// covers counts in how many drills the interval holds the truth, which is the
// value of one very long drill of the same observer. Without the full proof it
// takes a few drills only, and allows four standard errors.
func covers(t *testing.T, what string, few int, s exercises.Setup, who observer.Observer, estimate func([]scoring.Mark) scoring.Estimate) {
	t.Helper()
	n, lo, hi, long := few, 0.95-4*math.Sqrt(0.95*0.05/float64(few)), 1.0, s
	long.Count = 50 * s.Count
	if heavy() {
		n, lo, hi, long.Count = 1000, 0.93, 0.97, exercises.MostTrials
	}
	truth := estimate(drillMarks(t, long, who, 1<<40)).Value
	held := 0
	for seed := range uint64(n) {
		if estimate(drillMarks(t, s, who, seed)).Covers(truth) {
			held++
		}
	}
	share := float64(held) / float64(n)
	t.Logf("%s: truth %.3f, in the 95 %% interval of %.1f %% of %d drills", what, truth, 100*share, n)
	if share < lo || share > hi {
		t.Errorf("%s: the 95 %% interval holds the truth in %.1f %% of %d drills", what, 100*share, n)
	}
}

// shareRight is the share of right answers to one check, or to all for "".
func shareRight(name string) func([]scoring.Mark) scoring.Estimate {
	return func(marks []scoring.Mark) scoring.Estimate {
		right, n := rightOf(marks, name)
		return trend.Share(right, n, 0.95)
	}
}

func meanOf(name string) func([]scoring.Mark) scoring.Estimate {
	return func(marks []scoring.Mark) scoring.Estimate { return trend.Bias(measured(marks, name), 0.95) }
}

func TestLightingRecovery(t *testing.T) {
	lamps := exercises.Setup{Kind: exercises.Lighting, Count: 180}
	which := exercises.Setup{Kind: exercises.Lighting, Task: exercises.TaskWhich, Count: 30}
	if heavy() { // with few answers the coverage of a share jumps about, which is its nature
		lamps.Count = 600
	}
	who := observer.Observer{Noise: 0.6, Lapse: 0.05}
	// The looks at one pair are not independent, so shares are taken lamp by lamp,
	// as reports do.
	covers(t, "lighting: verdicts under F11", 40, lamps, who, shareRight("verdict under three-band fluorescent (F11)"))
	covers(t, "lighting: verdicts in daylight", 40, lamps, who, shareRight("verdict under average daylight (D65)"))
	covers(t, "lighting: pairs that break", 12, which, who, shareRight(""))

	// Whoever sees and accepts later than most is lenient, and the reverse.
	for _, c := range []struct {
		who  observer.Observer
		sign float64
	}{{observer.Observer{SeenAt: 1.5, AcceptsTo: 3}, -1}, {observer.Observer{SeenAt: 0.4, AcceptsTo: 1}, 1}} {
		if e := meanOf("strictness")(drillMarks(t, lamps, c.who, 3)); !e.HasInterval() || e.Covers(0) || e.Value*c.sign <= 0 {
			t.Errorf("seen at %.1f, accepted to %.1f: strictness %.2f (%.2f … %.2f)", c.who.SeenAt, c.who.AcceptsTo, e.Value, e.Lo, e.Hi)
		}
	}
	// An observer without errors is always right, and no bias changes a comparison of two.
	for _, who := range []observer.Observer{{}, {BiasC: 2}} {
		if right, n := rightOf(drillMarks(t, lamps, who, 4), ""); right != n || n != lamps.Count {
			t.Errorf("%+v: %d of %d verdicts right", who, right, n)
		}
	}
}

func TestWhiteningRecovery(t *testing.T) {
	s := exercises.Setup{Kind: exercises.Whitening, Count: 30}
	who := observer.Observer{Noise: 0.5, BiasC: 1, Lapse: 0.02}
	covers(t, "whitening: steps off", 50, s, who, meanOf("steps off"))
	covers(t, "whitening: whiteness off", 50, s, observer.Observer{Noise: 0.8}, meanOf("whiteness off"))
	covers(t, "whitening: share within acceptability", 50, s, observer.Observer{Noise: 0.8}, shareRight(""))

	// Both teeth are seen with the same bias, so little of it is left: most for
	// chroma, since a step of ΔE00 is more b* in the darker, stronger tooth.
	s.Count = 1000
	for _, c := range []struct {
		who   observer.Observer
		limit float64
	}{{observer.Observer{}, 0.03}, {observer.Observer{BiasL: 1}, 0.15}, {observer.Observer{BiasC: 1}, 0.35}, {observer.Observer{BiasH: 1}, 0.2}} {
		e := meanOf("steps off")(drillMarks(t, s, c.who, 5))
		t.Logf("%+v: %.3f steps off", c.who, e.Value)
		if math.Abs(e.Value) > c.limit {
			t.Errorf("%+v: %.3f steps off on average", c.who, e.Value)
		}
	}
}

// Drills of rows from a common stock of them, which takes most of the time to make.
// The truth is exact: two patches d apart are laid the wrong way round with
// probability Φ(−d/(σ√2)). Tau-b is a straight line in the inversions where all rows
// have one length, so one of the two will do.
func TestLineUpRecovery(t *testing.T) {
	const noise, rows, each = 1.5, 300, 30
	s := exercises.Setup{Kind: exercises.LineUp, Count: rows, Seed: 8, Attribute: exercises.AttributeValue, Options: map[string]string{exercises.OptionPatches: "5"}}
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	kind, err := exercises.ByID(s.Kind)
	if err != nil {
		t.Fatal(err)
	}
	var stock []exercises.Trial
	truth := 0.0
	for range rows {
		trial, _ := run.Next()
		run.Take(trial, exercises.Answer{})
		stock = append(stock, trial)
		for i, a := range trial.Patches {
			for _, b := range trial.Patches[i+1:] {
				apart := colour.Compare(a.Colour.Lab(), b.Colour.Lab(), colour.Unit).L
				truth += distuv.UnitNormal.CDF(-math.Abs(apart)/(noise*math.Sqrt2)) / rows
			}
		}
	}
	rng := rand.New(rand.NewPCG(8, 9))
	held := 0
	for range runs() {
		var marks []scoring.Mark
		for range each {
			trial := stock[rng.IntN(rows)]
			a := kind.Simulate(trial, s, observer.Observer{Noise: noise}, rng)
			marks = append(marks, scoring.MarkOf(scoring.Attempt{Trial: trial, Answer: a}, nil))
		}
		if meanOf("inversions, value")(marks).Covers(truth) {
			held++
		}
	}
	inRange(t, fmt.Sprintf("line-up: %.3f inversions a row", truth), held, runs())
}

func TestCombinationRecovery(t *testing.T) {
	s := exercises.Setup{Kind: exercises.Combination, Count: 60, Sheet: reporttest.Sheet(t, "natural")}
	who := observer.Observer{Noise: 0.8, BiasC: 1, Lapse: 0.02}
	shares := s
	if heavy() { // see above: shares of few answers
		shares.Count = 150
	}
	covers(t, "combination: nearest tooth", 40, shares, who, shareRight("nearest tooth"))
	covers(t, "combination: verdict", 40, shares, who, shareRight("verdict"))
	covers(t, "combination: strictness", 40, s, who, meanOf("strictness"))
	// It claims no bias, whoever answers.
	for _, who := range []observer.Observer{{BiasC: 1, Noise: 0.7}, {BiasL: -2}} {
		if l, c, h := parts(drillMarks(t, s, who, 8)); len(l)+len(c)+len(h) > 0 {
			t.Errorf("%+v: biases are taken from %d answers", who, len(l)+len(c)+len(h))
		}
	}
}

func TestBenchRecovery(t *testing.T) {
	// Pairs of one round are not independent, rounds are.
	s := exercises.Setup{Kind: exercises.Bench, Count: 12}
	covers(t, "bench: pairs right, mean of rounds", 100, s, observer.Observer{Noise: 1}, meanOf("pairs right"))
	covers(t, "bench: pairs right, a worse eye", 100, s, observer.Observer{Noise: 2}, meanOf("pairs right"))
	// Whoever only guesses finds one pair a round.
	s.Count = 3000
	if e := meanOf("pairs right")(drillMarks(t, s, observer.Observer{Lapse: 1}, 6)); !e.Covers(1) {
		t.Errorf("guessing finds %.3f pairs a round (%.3f … %.3f)", e.Value, e.Lo, e.Hi)
	}
}

func TestHalfwayRecovery(t *testing.T) {
	s := exercises.Setup{Kind: exercises.Halfway, Count: 60, Attribute: exercises.AttributeChroma}
	who := observer.Observer{Noise: 0.7, BiasC: 0.5, Lapse: 0.02}
	covers(t, "halfway: way off", 25, s, who, meanOf("way off, chroma"))
	covers(t, "halfway: place right", 25, s, who, shareRight(""))

	// The two ends change sides by chance: a bias towards more chroma is none
	// towards a side.
	s.Count = 600
	marks := drillMarks(t, s, observer.Observer{Noise: 0.5, BiasC: 1}, 8)
	if e := meanOf("way off, sides")(marks); !e.Covers(0) {
		t.Errorf("towards the right by %.1f %% (%.1f … %.1f)", e.Value, e.Lo, e.Hi)
	}
	if e := meanOf("way off, chroma")(marks); e.Lo < 10 {
		t.Errorf("a bias of 1 in ends 5.6 apart is %.1f %% (%.1f … %.1f)", e.Value, e.Lo, e.Hi)
	}
	// An observer without errors is always right.
	s.Attribute, s.Count = "", 300
	if right, n := rightOf(drillMarks(t, s, observer.Observer{}, 4), ""); right != n || n != s.Count {
		t.Errorf("%d of %d right", right, n)
	}
}
