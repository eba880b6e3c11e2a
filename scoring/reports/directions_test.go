package reports_test

import (
	"context"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports"
)

// Someone who leans towards more chroma leans so in both exercises, each with a row
// of its own, and the directions are counted.
func TestProgressOfTryInAndHalfway(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	s := &shelf{}
	who := observer.Observer{BiasC: 1.2, Noise: 0.4}
	for range 3 {
		s.drill(t, exercises.Halfway, who, 40, sheet(t), rng)
		s.drill(t, exercises.TryIn, who, 40, sheet(t), rng)
		s.drill(t, exercises.ValueFirst, who, 40, sheet(t), rng)
	}
	r := progress(t, s)
	bias := section(t, r, "bias")
	var order []string
	for row := range bias.Rows {
		name := cell(t, bias, row, "kind").(report.Word).Key
		order = append(order, name)
		words := string(cell(t, bias, row, "lean").(report.Text))
		if words != "too chromatic" {
			t.Errorf("%s leans: %s", name, words)
		}
		if e := number(t, bias, row, "bias_C").Estimate; !(e.Lo < 1.4 && e.Hi > 1) {
			t.Errorf("%s: chroma %.2f (%.2f to %.2f)", name, e.Value, e.Lo, e.Hi)
		}
	}
	if got := strings.Join(order, " "); got != "value-first halfway try-in all" {
		t.Errorf("rows: %s", got)
	}
	told := section(t, r, "directions")
	if len(told.Rows) != 3 {
		t.Fatalf("%d rows of directions", len(told.Rows))
	}
	for row, attribute := range []string{"value", "chroma", "hue"} {
		if cell(t, told, row, "attribute") != report.Cell(report.Text(attribute)) || cell(t, told, row, "answers") != report.Cell(report.Count(120)) {
			t.Errorf("row %d: %+v", row, told.Rows[row])
		}
		// The lean makes more chroma be told where there is none, and nothing else.
		if imagined := number(t, told, row, "false").Value; (imagined > 0.4) != (attribute == "chroma") {
			t.Errorf("%s: told where not there in %.0f %%", attribute, 100*imagined)
		}
	}
}

// A handful of cases tells no lean, and says so.
func TestProgressOfFewTryIns(t *testing.T) {
	s := &shelf{}
	s.drill(t, exercises.TryIn, observer.Observer{Noise: 0.4}, 6, sheet(t), rand.New(rand.NewPCG(4, 2)))
	bias := section(t, progress(t, s), "bias")
	if len(bias.Rows) != 1 || cell(t, bias, 0, "lean") != report.Cell(report.Text("cannot be told yet")) {
		t.Errorf("%+v", bias.Rows)
	}
}

// A certificate of try-ins alone tells the leans behind the directions.
func TestCertificateOfTryIns(t *testing.T) {
	s := &shelf{}
	s.drill(t, exercises.TryIn, observer.Observer{BiasL: -1, Noise: 0.3}, 60, sheet(t), rand.New(rand.NewPCG(4, 2)))
	s.sittings[0].Within = "exam:A:1"
	r, err := reports.Certificate(context.Background(), s, scoring.Learner{ID: "one", Name: "One"}, "exam:A:1", exam.HouseCuts)
	if err != nil {
		t.Fatal(err)
	}
	result := section(t, r, "result")
	for row, want := range []string{2: "too dark", 3: "no lean beyond chance", 4: "no lean beyond chance"} {
		if want == "" {
			continue
		}
		if got := cell(t, result, row, "meaning"); got != report.Cell(report.Text(want)) {
			t.Errorf("row %d: %v instead of %s", row, got, want)
		}
	}
}
