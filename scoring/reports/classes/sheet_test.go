package classes

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"shadedrill/exercises/observer"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

func sheetOf(t testing.TB, c *Review) report.Report {
	t.Helper()
	c.Sort("flag", false)
	r, err := c.Report("flag")
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A class on one sheet: everybody stands either among those who need a look, each with
// a reason and what to do, or among those who are fine, and nobody twice.
func TestEverybodyStandsOnTheSheetOnce(t *testing.T) {
	book, class := classOf(t, 20,
		pupil{name: "Exact", observer: observer.Observer{Noise: 0.4}, sittings: 6},
		pupil{name: "Scattered", observer: observer.Observer{Noise: 2.6}, sittings: 6},
		pupil{name: "Yellow", observer: observer.Observer{Noise: 0.5, BiasH: 2.4}, sittings: 6},
		pupil{name: "Gone", observer: observer.Observer{Noise: 0.5}, sittings: 2},
		pupil{name: "Silent"})
	class.Idle = 5 * 24 * 3600e9
	c := reviewed(t, book, class, record.Filter{})
	r := sheetOf(t, c)
	help, fine := reporttest.Section(t, r, "help"), reporttest.Section(t, r, "fine")
	want := map[string][2]string{
		"Scattered": {"answers scatter: half are more than", "practise with tab targets"},
		"Yellow":    {"bias of 2.", "practise hue alone"},
		"Gone":      {"no answer since", "ask what keeps them away"},
		"Silent":    {"no answers yet", "ask whether they have begun"},
	}
	for row := range help.Rows {
		name := string(reporttest.Cell(t, help, row, "learner").(report.Text))
		why, next := string(reporttest.Cell(t, help, row, "why").(report.Text)), string(reporttest.Cell(t, help, row, "next").(report.Text))
		if w, asked := want[name]; !asked || !strings.HasPrefix(why, w[0]) || next != w[1] {
			t.Errorf("%s: %q, %q", name, why, next)
		}
		delete(want, name)
	}
	if len(want) > 0 {
		t.Errorf("without a look: %v", want)
	}
	if len(fine.Rows) != 1 || reporttest.Cell(t, fine, 0, "learner") != report.Text("Exact") {
		t.Errorf("fine: %v", fine.Rows)
	}
	if !fine.Compact || !r.Landscape || !strings.HasPrefix(r.Lead[0], "4 of 5 need a look") {
		t.Errorf("sheet: %v %v %q", fine.Compact, r.Landscape, r.Lead[0])
	}
}

// Whoever has given four answers is not called fine: it cannot be told yet.
func TestFewAnswersAreNotCalledFine(t *testing.T) {
	book, class := classOf(t, 20, pupil{name: "Exact", observer: observer.Observer{Noise: 0.4}, sittings: 6})
	few, scope := classOf(t, 4, pupil{name: "Begun", observer: observer.Observer{Noise: 4}, sittings: 1})
	for name, c := range map[string]*Review{"fine": reviewed(t, book, class, record.Filter{}), "unclear": reviewed(t, few, scope, record.Filter{})} {
		r := sheetOf(t, c)
		for _, key := range []string{"help", "fine", "unclear"} {
			rows := 0
			for _, s := range r.Sections {
				if s.Key == key {
					rows = len(s.Table.Rows)
				}
			}
			if want := map[bool]int{true: 1}[key == name]; rows != want {
				t.Errorf("of %s the section %s has %d rows, want %d", name, key, rows, want)
			}
		}
	}
}

// A bias that all share is said of the class, with what to teach; biases that cancel
// are not.
func TestTheClassErrsTogether(t *testing.T) {
	class := func(bias func(i int) float64) string {
		var pupils []pupil
		for i := range 10 {
			pupils = append(pupils, pupil{name: fmt.Sprintf("P%d", i), observer: observer.Observer{Noise: 0.8, BiasL: bias(i)}, sittings: 4})
		}
		book, scope := classOf(t, 20, pupils...)
		return sheetOf(t, reviewed(t, book, scope, record.Filter{})).Lead[1]
	}
	if said := class(func(int) float64 { return 1.2 }); !strings.HasPrefix(said, "The class as a whole answers too light, half of it by 1.") || !strings.HasSuffix(said, "Next week: value alone.") {
		t.Error(said)
	}
	if said := class(func(i int) float64 { return 1.2 * float64(1-2*(i%2)) }); !strings.HasPrefix(said, "The class as a whole has no bias worth correcting") {
		t.Error(said)
	}
}

// A column in which nobody has anything is left out for people and stays for machines.
func TestColumnsThatSayNothingAreLeftOut(t *testing.T) {
	book, class := classOf(t, 10, pupil{name: "A", observer: observer.Observer{Noise: 1}, sittings: 2}, pupil{name: "B", observer: observer.Observer{Noise: 1}, sittings: 2})
	r := sheetOf(t, reviewed(t, book, class, record.Filter{}))
	text := reporttest.Text(t, r)
	var csv strings.Builder
	if err := report.Write(&csv, r, report.FormatCSV, report.Layout{}); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(text, "not measured") || strings.Contains(text, "not taken") {
		t.Errorf("columns of nothing are shown:\n%s", text)
	}
	for _, column := range []string{",perceptibility,", ",exam_class,"} {
		if !strings.Contains(csv.String(), column) {
			t.Errorf("machines do not get the column %s", column)
		}
	}
}

// Lines of one scale: a learner with twice the error stands twice as high.
func TestSparksShareAScale(t *testing.T) {
	book, class := classOf(t, 30, pupil{name: "A", observer: observer.Observer{Noise: 0.5}, sittings: 3}, pupil{name: "B", observer: observer.Observer{Noise: 1.5}, sittings: 3})
	c := reviewed(t, book, class, record.Filter{})
	a, b := c.spark(0).(report.Spark), c.spark(1).(report.Spark)
	if a.Top != b.Top || len(a.Values) != 3 || !(b.Values[0] > a.Values[0]) || math.IsNaN(a.Values[0]) {
		t.Errorf("%+v, %+v", a, b)
	}
}
