package learners_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

// Someone biased towards more chroma is so in both exercises, each with a row
// of its own, and the directions are counted.
func TestProgressOfTryInAndHalfway(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	s := &shelf{}
	who := observer.Observer{BiasC: 1.2, Noise: 0.4}
	for range 3 {
		s.drill(t, exercises.Halfway, who, 40, reporttest.Sheet(t, "natural"), rng)
		s.drill(t, exercises.TryIn, who, 40, reporttest.Sheet(t, "natural"), rng)
		s.drill(t, exercises.ValueFirst, who, 40, reporttest.Sheet(t, "natural"), rng)
	}
	r := progress(t, s)
	bias := reporttest.Section(t, r, "bias")
	var order []string
	for row := range bias.Rows {
		name := reporttest.Cell(t, bias, row, "kind").(report.Word).Key
		order = append(order, name)
		words := string(reporttest.Cell(t, bias, row, "bias").(report.Text))
		if words != "too chromatic" {
			t.Errorf("%s is biased: %s", name, words)
		}
		if e := reporttest.Estimate(t, bias, row, "bias_C"); !(e.Lo < 1.4 && e.Hi > 1) {
			t.Errorf("%s: chroma %.2f (%.2f to %.2f)", name, e.Value, e.Lo, e.Hi)
		}
	}
	if got := strings.Join(order, " "); got != "value-first halfway try-in all" {
		t.Errorf("rows: %s", got)
	}
	told := reporttest.Section(t, r, "directions")
	if len(told.Rows) != 3 {
		t.Fatalf("%d rows of directions", len(told.Rows))
	}
	for row, attribute := range []string{"value", "chroma", "hue"} {
		if reporttest.Cell(t, told, row, "attribute") != report.Cell(report.Text(attribute)) || reporttest.Cell(t, told, row, "answers") != report.Cell(report.Count(120)) {
			t.Errorf("row %d: %+v", row, told.Rows[row])
		}
		// The bias makes more chroma be told where there is none, and nothing else.
		if imagined := reporttest.Estimate(t, told, row, "false").Value; (imagined > 0.4) != (attribute == "chroma") {
			t.Errorf("%s: told where not there in %.0f %%", attribute, 100*imagined)
		}
	}
}

// A handful of cases tells no bias, and says so.
func TestProgressOfFewTryIns(t *testing.T) {
	s := &shelf{}
	s.drill(t, exercises.TryIn, observer.Observer{Noise: 0.4}, 6, reporttest.Sheet(t, "natural"), rand.New(rand.NewPCG(4, 2)))
	bias := reporttest.Section(t, progress(t, s), "bias")
	if len(bias.Rows) != 1 || reporttest.Cell(t, bias, 0, "bias") != report.Cell(report.Text("cannot be told yet")) {
		t.Errorf("%+v", bias.Rows)
	}
}
