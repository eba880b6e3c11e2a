package tests_test

import (
	"context"
	"strings"
	"testing"

	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/tests"
)

func TestAnAlteredTestIsNamedAndNotCounted(t *testing.T) {
	memory := record.NewMemory()
	who, within := take(t, memory, "Simulated 01", observer.Observer{BiasL: 3}, 40, 40)
	take(t, memory, "Simulated 02", observer.Observer{}, 40, 40)
	book := recordtest.Altered{Memory: memory, Of: who.ID}
	r, err := tests.Certificate(context.Background(), book, who, within)
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(r.Lead, " ")
	for _, want := range []string{"Not counted, since it is not as it was taken", "answer 5 is not as it was given", "no complete test"} {
		if !strings.Contains(text, want) {
			t.Errorf("the certificate does not say %q: %s", want, text)
		}
	}
	if got := r.Sections[0].Table.Rows[0][2].(report.Word); got.Key != string(scoring.LevelUnknown) {
		t.Errorf("class is %q", got.Key)
	}
	list, err := tests.List(context.Background(), book, everybody(t, book), nil)
	if err != nil {
		t.Fatal(err)
	}
	var classes []string
	for _, row := range list.Sections[0].Table.Rows {
		classes = append(classes, row[8].(report.Word).Shown)
	}
	if got := strings.Join(classes, ", "); got != "not as it was taken, superior" {
		t.Errorf("listed as %s", got)
	}
	if notes := list.Sections[0].Notes; !strings.Contains(notes[0], "Simulated 01, form A: Not counted") {
		t.Errorf("notes %q", notes)
	}
}
