package agreement

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/scoring"
)

func sane(t *testing.T, what string, e scoring.Estimate) {
	t.Helper()
	switch {
	case !e.Defined() && (len(e.Warnings) == 0 || e.Warnings[0] == ""):
		t.Errorf("%s: undefined without a word", what)
	case e.Level > 0 && (math.IsNaN(e.Lo) || math.IsNaN(e.Hi)):
		t.Errorf("%s: an interval of NaN", what)
	case e.HasInterval() && !(e.Lo <= e.Value+1e-9 && e.Value <= e.Hi+1e-9):
		t.Errorf("%s: %g lies outside %g to %g", what, e.Value, e.Lo, e.Hi)
	case e.Defined() && !e.HasInterval() && len(e.Warnings) == 0:
		t.Errorf("%s: no interval and no word why", what)
	}
}

// column is what one rater said.
func column(r Ratings, j int) []float64 {
	var c []float64
	for _, row := range r {
		c = append(c, row[j])
	}
	return c
}

func everything(r Ratings, level float64) map[string]scoring.Estimate {
	f := FleissKappa(r, level)
	out := map[string]scoring.Estimate{"Fleiss κ": f.Kappa}
	for _, k := range f.Categories {
		out["κ of a category"] = k.Kappa
	}
	for m := Nominal; m <= Ratio; m++ {
		out["α "+m.String()] = KrippendorffAlpha(r, m, level, 60, rng(1))
	}
	out["α of no chance"] = KrippendorffAlpha(r, Nominal, level, 60, nil)
	out["α of no metric"] = KrippendorffAlpha(r, Metric(9), level, 60, rng(1))
	if r.objection(0.95) == "" {
		a, b := column(r, 0), column(r, 1)
		l := BlandAltman(paired(a, b), level)
		out["bias"], out["lower limit"], out["upper limit"], out["SD"] = l.Bias, l.Lower, l.Upper, l.SD
		if x, err := Cross(a, b); err == nil {
			for name, d := range map[string]Disagreement{"κ": Unweighted, "linear κ": Linear, "squared κ": squared} {
				out[name] = x.Kappa(d, level)
			}
		}
	}
	p := Repeatability(r, level)
	out["repeatability"], out["coefficient"] = p.SD, p.Coefficient
	var twice [][][]float64
	for _, row := range r {
		var w [][]float64
		for _, v := range row {
			w = append(w, []float64{v, v + 1})
		}
		twice = append(twice, w)
	}
	for name, data := range map[string][][][]float64{"once ": once(r), "twice ": twice} {
		g := StudyGauge(data, level)
		for part, c := range map[string]Component{"repeatability": g.Repeatability, "operator": g.Operator, "interaction": g.Interaction, "reproducibility": g.Reproducibility, "R&R": g.RR, "item": g.Item} {
			out[name+part] = c.Variance
			out[name+part+" share"] = c.Contribution
			out[name+part+" study variation"] = c.StudyVariation
		}
		out[name+"total"], out[name+"categories"] = g.Total, g.Categories
		out[name+"agreement"], out[name+"consistency"] = g.Agreement, g.Consistency
	}
	return out
}

// Panels that say little, or nonsense: nothing crashes, nothing is NaN without a word.
func TestOddPanels(t *testing.T) {
	n, inf := math.NaN(), math.Inf(1)
	for name, r := range map[string]Ratings{
		"nothing":               {},
		"no raters":             {{}, {}},
		"one answer":            {{3}},
		"one rater":             {{1}, {2}, {3}},
		"one item":              {{1, 2, 3}},
		"two by two":            {{1, 2}, {3, 5}},
		"all the same":          {{4, 4}, {4, 4}, {4, 4}},
		"tenths, all the same":  {{0.1, 0.1, 0.1}, {0.1, 0.1, 0.1}, {0.1, 0.1, 0.1}},
		"complete agreement":    {{1, 1}, {2, 2}, {3, 3}, {4, 4}, {1.1, 1.1}},
		"each rater one answer": {{1, 2}, {1, 2}, {1, 2}, {1, 2}},
		"constant bias":         {{1, 1.3}, {2, 2.3}, {3, 3.3}, {4, 4.3}},
		"reversed":              {{1, 4}, {2, 3}, {3, 2}, {4, 1}},
		"no common item":        {{1, n}, {n, 2}, {3, n}},
		"one common item":       {{1, 2}, {n, 2}, {3, n}},
		"all missing":           {{n, n}, {n, n}},
		"one left early":        {{1, 2, 1}, {2, 2, 3}, {3, 3, n}, {4, 5, n}, {5, 5, n}, {2, 1, n}},
		"negative":              {{-1, -2}, {3, -5}, {0, 1}},
		"zeros on a ratio":      {{0, 0}, {0, 1}, {2, 0}},
		"ragged":                {{1, 2}, {1}, {1, 2, 3}},
		"infinite":              {{1, inf}, {2, 3}, {3, 3}},
		"huge":                  {{1e200, 1}, {2, 3}, {3, 3}},
		"large offset":          {{1e9, 1e9 + 1}, {1e9 + 2, 1e9 + 2}, {1e9 + 5, 1e9 + 4}},
	} {
		for _, level := range []float64{0.95, 0.5, 0, 1, n} {
			for statistic, e := range everything(r, level) {
				sane(t, name+": "+statistic, e)
			}
		}
	}
}

// Whole numbers at random, small, with holes: the same.
func TestRandomPanels(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for range 300 {
		items, raters := 1+r.IntN(6), 1+r.IntN(5)
		data := make(Ratings, items)
		for i := range data {
			for range raters {
				v := float64(r.IntN(4))
				if r.IntN(5) == 0 {
					v = math.NaN()
				}
				data[i] = append(data[i], v)
			}
		}
		for statistic, e := range everything(data, 0.95) {
			sane(t, statistic, e)
		}
		if t.Failed() {
			t.Fatalf("with %v", data)
		}
	}
}

// One of three leaves half way: two thirds of the answers stay, not half of the items.
func TestWhoeverLeavesDoesNotCostTheOthersTheirItems(t *testing.T) {
	n := math.NaN()
	r := Ratings{{1, 2, 1}, {2, 2, 3}, {3, 3, n}, {4, 5, n}, {5, 5, n}, {2, 1, n}}
	g := StudyGauge(once(r), level)
	if g.Items != 6 || g.Raters != 2 {
		t.Errorf("%d items and %d raters took part, want 6 and 2", g.Items, g.Raters)
	}
	if w := strings.Join(g.Agreement.Warnings, ";"); !strings.Contains(w, "1 of 3 raters left out") {
		t.Errorf("warnings %q", w)
	}
	r[3][2], r[4][2], r[5][2] = 4, 4, 2
	g = StudyGauge(once(r), level)
	if g.Items != 5 || g.Raters != 3 {
		t.Errorf("%d items and %d raters took part, want 5 and 3", g.Items, g.Raters)
	}
}

func TestUndefinedIsSaidInWords(t *testing.T) {
	for want, e := range map[string]scoring.Estimate{
		"one rater":        StudyGauge(once(Ratings{{1}, {2}}), level).Agreement,
		"one item":         StudyGauge(once(Ratings{{1, 2}}), level).Agreement,
		"no variance":      StudyGauge(once(Ratings{{1, 1}, {1, 1}}), level).Agreement,
		"one and the same": KrippendorffAlpha(Ratings{{1, 1}, {1, 1}}, Nominal, level, 100, rng(1)),
		"at least 2 items": BlandAltman([][]float64{{-1}}, level).Lower,
		"answered twice":   Repeatability([][]float64{{1}, {2}}, level).SD,
		"cannot be told":   StudyGauge([][][]float64{{{1}, {2}}, {{3}, {5}}, {{4}, {4}}}, level).Repeatability.Variance,
		"every answer":     StudyGauge([][][]float64{{{1, 1}, {1, 1}}, {{1, 1}, {1, 1}}}, level).RR.Variance,
		"by both":          BlandAltman([][]float64{nil}, level).Bias,
		"be computed with": BlandAltman([][]float64{{1}, {math.NaN()}}, level).Bias,
	} {
		if e.Defined() || !strings.Contains(strings.Join(e.Warnings, ";"), want) {
			t.Errorf("want %q: %+v", want, e)
		}
	}
}

// Missing repeats are said; an empty cell costs a row or a column.
func TestUnbalancedGauge(t *testing.T) {
	data := gaugeData(t)
	data[2][1] = data[2][1][:1]
	g := StudyGauge(data, level)
	if !strings.Contains(strings.Join(g.Warnings, ";"), "1 to 3 times") || g.ErrorSource.DF != 58 {
		t.Errorf("warnings %q, error on %g", g.Warnings, g.ErrorSource.DF)
	}
	near(t, "R&R hardly changes", g.RR.Variance.Value, 1.8037037, 0.1)
	data[5][0] = []float64{math.NaN()}
	g = StudyGauge(data, level)
	if g.Items != 9 || g.Raters != 3 || !strings.Contains(strings.Join(g.RR.Variance.Warnings, ";"), "1 of 10 items left out") {
		t.Errorf("%d items, %d raters, %q", g.Items, g.Raters, g.RR.Variance.Warnings)
	}
}

func BenchmarkAlphaOfFifty(b *testing.B) {
	r := chooser(rng(1), 40, 50, 8, 0.7)
	for b.Loop() {
		KrippendorffAlpha(r, Nominal, level, 1000, rng(2))
	}
}

func BenchmarkGaugeOfFifty(b *testing.B) {
	data := study(rng(1), 20, 50, [4]float64{2, 1, .5, 1}, func(*rand.Rand) int { return 2 })
	for b.Loop() {
		StudyGauge(data, level)
	}
}
