package adaptive

import (
	"math"
	"testing"
)

func published() QuestConfig {
	return QuestConfig{Levels: Levels{0.01, 0.1, 1}, Guess: -1, SD: 2, P: 0.82, Beta: 3.5, Delta: 0.01, Gamma: 0.5,
		Grain: 0.01, Range: 5, Stop: Stop{Trials: 7}}
}

// Values computed by running the published program (psychopy's contrib/quest.py,
// a port of the original).
func TestQuestSequence(t *testing.T) {
	q, err := NewQuest(published())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ε", q.epsilon, 0.00484354347, 5e-12)
	near(t, "order of the quantile", q.quantileOrder, 0.589792467, 5e-10)
	mean, sd := q.mean()
	near(t, "prior mean", mean, -1, 1e-9)
	near(t, "prior sd", sd, 1.299792902, 5e-10)
	near(t, "first quantile", q.quantile(q.quantileOrder), -0.647661147, 5e-10)
	near(t, "p(−.2)", q.p(-0.2), 0.592743820, 5e-10)
	near(t, "p(0)", q.p(0), 0.820006022, 5e-10)
	near(t, "p(.2)", q.p(0.2), 0.992300189, 5e-10)
	for _, row := range []struct {
		x              float64
		yes            bool
		mean, mode, sd float64
	}{
		{-1, true, -1.356631705, -1.22, 1.241629197},
		{-1.3, true, -1.672227466, -1.50, 1.141538334},
		{-1.6, false, -0.571427029, -1.36, 0.898008813},
		{-1.4, true, -0.739380043, -1.43, 0.898768471},
		{-1.5, true, -0.894446131, -1.48, 0.890535041},
		{-1.6, true, -1.031827711, -1.52, 0.885507191},
		{-1.7, false, -0.848780250, -1.48, 0.837758174},
	} {
		if err := q.Take(math.Pow(10, row.x), row.yes); err != nil {
			t.Fatal(err)
		}
		mean, sd := q.mean()
		near(t, "mean", mean, row.mean, 5e-9)
		near(t, "mode", q.mode(), row.mode, 1e-9)
		near(t, "sd", sd, row.sd, 5e-9)
	}
	if !q.Done() {
		t.Error("not done after its seven trials")
	}
	threshold, _ := q.Threshold()
	near(t, "threshold", threshold, math.Pow(10, -0.848780250), 1e-8)
}

func TestQuestProposesOnlyWhatCanBeShown(t *testing.T) {
	c := published()
	c.Levels = Levels{0.3, 0.4, 0.7, 1.1, 2.5, 4}
	c.Guess, c.SD = 0, 0.5
	c.Stop = Stop{Trials: 200, RelativeWidth: 0.4}
	for _, rule := range []QuestRule{QuestQuantile, QuestMode, QuestMean} {
		c.Rule = rule
		q, err := NewQuest(c)
		if err != nil {
			t.Fatal(err)
		}
		for !q.Done() {
			x := q.Next()
			if c.Levels.Nearest(x) != x {
				t.Fatalf("%v cannot be shown", x)
			}
			if err := q.Take(x, x >= 0.7 || q.Trials()%2 == 0); err != nil {
				t.Fatal(err)
			}
		}
		if threshold, _ := q.Threshold(); threshold < 0.3 || threshold > 1.1 || q.Trials() >= 200 {
			t.Errorf("rule %v: threshold %v after %d trials", rule, threshold, q.Trials())
		}
	}
}

func TestMalformedQuest(t *testing.T) {
	for name, spoil := range map[string]func(*QuestConfig){
		"levels":  func(c *QuestConfig) { c.Levels = Levels{0, 1} },
		"nothing": func(c *QuestConfig) { c.Levels = nil },
		"endless": func(c *QuestConfig) { c.Stop.Trials = 0 },
		"sd":      func(c *QuestConfig) { c.SD = 0 },
		"beta":    func(c *QuestConfig) { c.Beta = math.NaN() },
		"guess":   func(c *QuestConfig) { c.Guess = math.Inf(1) },
		"p":       func(c *QuestConfig) { c.P = 0.5 },
		"p high":  func(c *QuestConfig) { c.P = 0.999 },
		"grain":   func(c *QuestConfig) { c.Grain = 1e-9 },
		"range":   func(c *QuestConfig) { c.Range = math.NaN() },
	} {
		c := published()
		spoil(&c)
		if _, err := NewQuest(c); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	q, err := NewQuest(published())
	if err != nil {
		t.Fatal(err)
	}
	before, _ := q.mean()
	if err := q.Take(0, true); err != nil || q.Trials() != 1 {
		t.Errorf("a trial without a difference: %v", err)
	}
	if after, _ := q.mean(); after != before {
		t.Error("a trial without a difference moved the threshold")
	}
	if q.Take(math.Inf(1), true) == nil {
		t.Error("an endless level is taken")
	}
}
