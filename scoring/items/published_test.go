package items

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

const level = 0.95

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

// LSAT-6: 1,000 candidates, 5 questions, Bock & Lieberman (1970), Psychometrika
// 35:179–197, as in R's psych (data set bock): pattern of right answers and count.
const lsat6 = `00000 3 00001 6 00010 2 00011 11 00100 1 00101 1 00110 3 00111 4 01000 1 01001 8 01011 16
01101 3 01110 2 01111 15 10000 10 10001 29 10010 14 10011 81 10100 3 10101 28 10110 15 10111 80 11000 16 11001 56
11010 21 11011 173 11100 11 11101 61 11110 28 11111 298`

func patterns(t *testing.T, text string) Scores {
	t.Helper()
	var s Scores
	fields := strings.Fields(text)
	for i := 0; i < len(fields); i += 2 {
		count, err := strconv.Atoi(fields[i+1])
		if err != nil {
			t.Fatal(err)
		}
		for range count {
			var row []float64
			for _, digit := range fields[i] {
				row = append(row, float64(digit-'0'))
			}
			s = append(s, row)
		}
	}
	return s
}

func analyse(t *testing.T, s Scores) Analysis {
	t.Helper()
	a, err := Analyse(s, level)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Values computed with R's psych and by hand from the formulas, which agree.
func TestAnalysisOfLSAT6(t *testing.T) {
	s := patterns(t, lsat6)
	if len(s) != 1000 {
		t.Fatalf("%d candidates", len(s))
	}
	a := analyse(t, s)
	near(t, "KR-20", a.Alpha.Value, .2949971922, 1e-10)
	near(t, "KR-21", a.KR21.Value, .1964411687, 1e-10)
	for i, want := range []struct{ p, total, rest, without float64 }{
		{.924, .3620104, .1128326889, .2753562},
		{.709, .5667721, .1531781201, .2375839},
		{.553, .6184398, .1727789433, .2167995},
		{.763, .5344183, .1444280952, .2459327},
		{.870, .4353664, .1215964025, .2662944},
	} {
		item := a.Items[i]
		near(t, "difficulty", item.Difficulty.Value, want.p, 1e-12)
		near(t, "item–total", item.Total.Value, want.total, 1e-7)
		near(t, "item–rest", item.Rest.Value, want.rest, 1e-10)
		near(t, "α without", item.AlphaWithout.Value, want.without, 1e-7)
	}
}

// Six invented learners and five items of rising difficulty, computed by hand and with
// R's psych; the first item has no variance.
func TestAnalysisOfTinyTest(t *testing.T) {
	a := analyse(t, patterns(t, "11111 1 11110 1 11100 1 11000 1 10000 1 11010 1"))
	near(t, "KR-20", a.Alpha.Value, .6666666667, 1e-10)
	for i, want := range []struct{ p, total, rest float64 }{
		{1, math.NaN(), math.NaN()},
		{5. / 6, .692820323, .488901207},
		{.5, .774596669, .522232968},
		{.5, .774596669, .522232968},
		{1. / 6, .692820323, .488901207},
	} {
		item := a.Items[i]
		near(t, "difficulty", item.Difficulty.Value, want.p, 1e-12)
		if math.IsNaN(want.total) {
			if item.Total.Defined() || item.Rest.Defined() || !strings.Contains(item.Rest.Warnings[0], "everyone scored the same") {
				t.Errorf("an item that all got right correlates: %+v", item.Rest)
			}
			continue
		}
		near(t, "item–total", item.Total.Value, want.total, 1e-9)
		near(t, "item–rest", item.Rest.Value, want.rest, 1e-9)
	}
}
