package agreement

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"

	"gonum.org/v1/gonum/stat/distuv"
)

const level = 0.95

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

func nearInterval(t *testing.T, what string, e scoring.Estimate, lo, hi, tolerance float64) {
	t.Helper()
	if !e.HasInterval() {
		t.Errorf("%s has no interval: %v", what, e.Warnings)
		return
	}
	near(t, what+" lower end", e.Lo, lo, tolerance)
	near(t, what+" upper end", e.Hi, hi, tolerance)
}

func table(categories []float64, counts ...[]float64) CrossTable {
	return CrossTable{Categories: categories, Counts: counts}
}

// Computed with R's vcd and psych, which agree.
func TestKappaOfTwoByTwo(t *testing.T) {
	c := table([]float64{0, 1}, []float64{20, 5}, []float64{10, 15})
	e := c.Kappa(Unweighted, level)
	near(t, "κ", e.Value, 0.4, 1e-12)
	k, why := c.weigh(Unweighted)
	if why != "" {
		t.Fatal(why)
	}
	half := math.Sqrt(k.variance)
	near(t, "standard error", half, .1269961, 1e-6)
	// The symmetric interval those packages print, and ours close to it.
	near(t, "symmetric lower end", k.value()-distuv.UnitNormal.Quantile(0.975)*half, .1510923, 1e-6)
	near(t, "symmetric upper end", k.value()+distuv.UnitNormal.Quantile(0.975)*half, .6489077, 1e-6)
	nearInterval(t, "κ", e, .1510923, .6489077, .04)
}

// squared is the other weight that textbooks print.
func squared(a, b float64) float64 { return (a - b) * (a - b) }

// The example of Cohen (1968), as printed in the help of R's psych::cohen.kappa.
func TestKappaOfCohen1968(t *testing.T) {
	weights := [][]float64{{0, 1, 3}, {1, 0, 6}, {3, 6, 0}}
	c := table([]float64{0, 1, 2}, []float64{88, 14, 18}, []float64{10, 40, 10}, []float64{2, 6, 12})
	near(t, "κ", c.Kappa(Unweighted, level).Value, .4915254237, 1e-10)
	weighted := c.Kappa(func(a, b float64) float64 { return weights[int(a)][int(b)] }, level)
	near(t, "weighted κ", weighted.Value, .3478260870, 1e-10)
}

// Unaided distance vision of both eyes of 7,477 women, Stuart (1953), as in R's irr
// (data set vision); kappas computed with R.
func TestKappaOfVision(t *testing.T) {
	c := table([]float64{1, 2, 3, 4},
		[]float64{1520, 266, 124, 66}, []float64{234, 1512, 432, 78}, []float64{117, 362, 1772, 205}, []float64{36, 82, 179, 492})
	near(t, "unweighted", c.Kappa(Unweighted, level).Value, .5953888281, 1e-10)
	near(t, "linear", c.Kappa(Linear, level).Value, .6523804295, 1e-10)
	near(t, "quadratic", c.Kappa(squared, level).Value, .7023342525, 1e-10)
}

// Invented answers; values computed with NumPy.
func TestTwoRatersOfValueSteps(t *testing.T) {
	a := []float64{1, 2, 3, 3, 2, 4, 5, 1, 2, 4, 3, 5, 2, 3, 4}
	b := []float64{1, 2, 3, 4, 2, 4, 4, 1, 3, 4, 3, 5, 1, 3, 5}
	c, err := Cross(append(a, math.NaN()), append(b, 7))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "κ", c.Kappa(Unweighted, level).Value, .5810055866, 1e-10)
	near(t, "linear", c.Kappa(Linear, level).Value, .7692307692, 1e-10)
	near(t, "quadratic", c.Kappa(squared, level).Value, .8979591837, 1e-10)
	var r Ratings
	for i := range a {
		r = append(r, []float64{a[i], b[i]})
	}
	for m, want := range map[Metric]float64{Nominal: .5915492958, Ordinal: .9116705517, Interval: .9012933969} {
		near(t, "α "+m.String(), KrippendorffAlpha(r, m, level, 100, rng(1)).Value, want, 1e-10)
	}
}

func rng(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 2026)) }

// Psychiatric diagnoses of 30 patients by 6 raters, Fleiss (1971), as in R's irr (data
// set diagnoses): how many raters chose each of five categories.
const diagnoses = "00060 03003 01401 00006 03030 20400 00402 20310 20040 00006 10050 11040 03300 10050 02031 00501 30012 51000 02040 10203 00006 01050 02013 20040 10041 05010 40002 02040 10500 00006"

func fromCounts(counts string) Ratings {
	var r Ratings
	for _, c := range strings.Fields(counts) {
		var row []float64
		for k, digit := range c {
			for range digit - '0' {
				row = append(row, float64(k+1))
			}
		}
		r = append(r, row)
	}
	return r
}

func TestFleissOfDiagnoses(t *testing.T) {
	f := FleissKappa(fromCounts(diagnoses), level)
	near(t, "κ", f.Kappa.Value, .43024452006, 1e-10)
	near(t, "z", f.Z, 17.65183058, 1e-7)
	shares := []float64{.1444444, .1444444, .1666667, .3055556, .2388889}
	kappas := []float64{.245, .245, .520, .471, .566}
	for i, c := range f.Categories {
		near(t, "share", c.Share, shares[i], 1e-7)
		near(t, "κ of a category", c.Kappa.Value, kappas[i], 5e-4)
	}
}

// Four observers and twelve units of Krippendorff's example with missing answers, as in
// the help of R's irr::kripp.alpha and the tests of Python's krippendorff.
func TestAlphaOfFourObservers(t *testing.T) {
	n := math.NaN()
	observers := [][]float64{
		{1, 2, 3, 3, 2, 1, 4, 1, 2, n, n, n},
		{1, 2, 3, 3, 2, 2, 4, 1, 2, 5, n, n},
		{n, 3, 3, 3, 2, 3, 4, 2, 2, 5, 1, 3},
		{1, 2, 3, 3, 2, 4, 4, 1, 2, 5, 1, n},
	}
	var r Ratings
	for u := range 12 {
		var row []float64
		for _, o := range observers {
			row = append(row, o[u])
		}
		r = append(r, row)
	}
	for m, want := range map[Metric]float64{Nominal: .7434210526, Ordinal: .8153875038, Interval: .8491071429, Ratio: .7974027747} {
		e := KrippendorffAlpha(r, m, level, 500, rng(1))
		near(t, "α "+m.String(), e.Value, want, 1e-10)
		if !e.HasInterval() || e.N != 11 || !strings.Contains(strings.Join(e.Warnings, "; "), "1 of 12 items") {
			t.Errorf("%v: %+v", m, e)
		}
	}
}

// Shrout & Fleiss (1979), Psychol Bull 86:420–428, table 2: six targets, four judges.
var shroutFleiss = Ratings{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}}

// once is a panel in which everybody saw every item once.
func once(r Ratings) [][][]float64 {
	var data [][][]float64
	for _, row := range r {
		var cells [][]float64
		for _, v := range row {
			cells = append(cells, []float64{v})
		}
		data = append(data, cells)
	}
	return data
}

// The mean squares and the correlations of a single answer as the paper prints them, to
// the digits of R's psych and Python's pingouin.
func TestGaugeOfShroutAndFleiss(t *testing.T) {
	a := twoWay(shroutFleiss)
	near(t, "BMS", a.items, 11.2416667, 1e-6)
	near(t, "JMS", a.raters, 32.4861111, 1e-6)
	near(t, "EMS", a.residual, 1.0194444, 1e-6)
	g := StudyGauge(once(shroutFleiss), level)
	for _, e := range []struct {
		name          string
		got           scoring.Estimate
		want, printed float64
	}{
		{"ICC(2,1)", g.Agreement, .2897637795, .29}, {"ICC(3,1)", g.Consistency, .7148407148, .71},
		{"share of items", g.Item.Contribution, .2897637795, .29},
	} {
		near(t, e.name, e.got.Value, e.want, 1e-10)
		near(t, e.name+" as printed in the paper", e.got.Value, e.printed, .005)
	}
	// With two mean squares the modified large-sample limits are the exact ones by F.
	nearInterval(t, "ICC(3,1)", g.Consistency, .3424648, .9458583, 1e-6)
	if !g.RR.Variance.HasInterval() || g.Interaction.Variance.Defined() {
		t.Errorf("R&R %+v, interaction %+v", g.RR.Variance, g.Interaction.Variance)
	}
}

// Ten parts, three operators, three repeats: Houf & Berman (1988), as in the SAS sample
// library (varcex2). Components computed with R's anova; lme4's REML agrees.
const houfBerman = `
37 38 37 41 41 40 41 42 41
42 41 43 42 42 42 43 42 43
30 31 31 31 31 31 29 30 28
42 43 42 43 43 43 42 42 42
28 30 29 29 30 29 31 29 29
42 42 43 45 45 45 44 46 45
25 26 27 28 28 30 29 27 27
40 40 40 43 42 42 43 43 41
25 25 25 27 29 28 26 26 26
35 34 34 35 35 34 35 34 35`

func gaugeData(t *testing.T) [][][]float64 {
	t.Helper()
	var data [][][]float64
	for line := range strings.Lines(strings.TrimSpace(houfBerman)) {
		var row [][]float64
		for i, field := range strings.Fields(line) {
			v, err := strconv.ParseFloat(field, 64)
			if err != nil {
				t.Fatal(err)
			}
			if i%3 == 0 {
				row = append(row, nil)
			}
			row[i/3] = append(row[i/3], v)
		}
		data = append(data, row)
	}
	return data
}

func TestGaugeOfHoufAndBerman(t *testing.T) {
	g := StudyGauge(gaugeData(t), level)
	for _, s := range []struct {
		name   string
		got    Source
		ms, df float64
	}{
		{"part", g.ItemSource, 437.3284, 9}, {"operator", g.OperatorSource, 19.6333333, 2},
		{"interaction", g.InteractionSource, 2.6950617, 18}, {"error", g.ErrorSource, .5111111, 60},
	} {
		near(t, "mean square of "+s.name, s.got.MeanSquare, s.ms, 1e-4)
		near(t, "degrees of freedom of "+s.name, s.got.DF, s.df, 0)
	}
	for _, c := range []struct {
		name     string
		got      Component
		variance float64
	}{
		{"repeatability", g.Repeatability, .5111111}, {"interaction", g.Interaction, .7279835}, {"operator", g.Operator, .5646091},
		{"part", g.Item, 48.2925926}, {"reproducibility", g.Reproducibility, 1.2925926}, {"R&R", g.RR, 1.8037037},
	} {
		near(t, c.name, c.got.Variance.Value, c.variance, 1e-6)
	}
	near(t, "total", g.Total.Value, 50.0962963, 1e-6)
	near(t, "contribution of R&R", g.RR.Contribution.Value, .036004731, 1e-8)
	near(t, "contribution of parts", g.Item.Contribution.Value, .963995268, 1e-8)
	near(t, "study variation of repeatability", g.Repeatability.StudyVariation.Value, .101007786, 1e-8)
	near(t, "study variation of reproducibility", g.Reproducibility.StudyVariation.Value, .160630504, 1e-8)
	near(t, "study variation of R&R", g.RR.StudyVariation.Value, .189749128, 1e-8)
	near(t, "study variation of parts", g.Item.StudyVariation.Value, .981832607, 1e-8)
	near(t, "distinct categories", g.Categories.Value, 7.3177, 1e-4)
	// χ² by R: 60*0.5111111/qchisq(c(.975, .025), 60).
	nearInterval(t, "repeatability", g.Repeatability.Variance, .368157527, .757543028, 1e-6)
	if len(g.Warnings) != 0 {
		t.Errorf("a complete study is warned about: %v", g.Warnings)
	}
}

// paired are the differences of two people's answers, one an item.
func paired(a, b []float64) [][]float64 {
	d := make([][]float64, len(a))
	for i := range d {
		d[i] = []float64{a[i] - b[i]}
	}
	return d
}

// Peak flow by two meters, Bland & Altman (1986), Lancet 327:307–310.
func TestBlandAltmanOfPeakFlow(t *testing.T) {
	a := []float64{494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427}
	b := []float64{512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451}
	l := BlandAltman(paired(a, b), level)
	near(t, "bias", l.Bias.Value, -2.1176470588, 1e-9)
	nearInterval(t, "bias", l.Bias, -22.0488377, 17.8135436, 1e-6)
	near(t, "SD", l.SD.Value, 38.7651298736, 1e-9)
	near(t, "lower limit", l.Lower.Value, -78.0973016, 1e-6)
	near(t, "upper limit", l.Upper.Value, 73.8620075, 1e-6)
	// The 1986 paper's symmetric interval of the lower limit, t·√(3s²/n), for comparison.
	half := trend.StudentQuantile(level, 16) * math.Sqrt(3*sq(l.SD.Value)/17)
	near(t, "lower end in the paper's way", l.Lower.Value-half, -112.6191365, 1e-6)
	near(t, "upper end in the paper's way", l.Lower.Value+half, -43.5754668, 1e-6)
}
