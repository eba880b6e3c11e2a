package record_test

import (
	"fmt"
	"testing"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// A name that looks like another's and is not the same is told, whichever of the two
// has the foreign letters; names that read alike are one, and others look different.
func TestNamesThatLookAlike(t *testing.T) {
	people := func(names ...string) (list []scoring.Learner) {
		for _, n := range names {
			list = append(list, scoring.Learner{Name: n})
		}
		return list
	}
	for _, c := range []struct {
		name, has string
		want      bool
	}{
		{"Аda Finch", "Ada Finch", true}, // Cyrillic А
		{"Ada Finch", "Аda Finch", true},
		{"ΑDΑ FINCH", "ADA Finch", true}, // Greek Α
		{"Сосо Рах", "Coco Pax", true},   // Cyrillic throughout
		{"ada  finch", "Ada Finch", false},
		{"Ada Finch", "Ada Lund", false},
		{"Иван", "Ivan", false},
		{"Иван", "Иван", false},
	} {
		if _, got := record.LooksLike(c.name, people("Ben Moor", c.has)); got != c.want {
			t.Errorf("%q beside %q: looks alike %v, want %v", c.name, c.has, got, c.want)
		}
	}
}

func TestPeopleOfOneNameAreToldApart(t *testing.T) {
	people := []scoring.Learner{{ID: "1", Name: "Ada Finch", Number: "17"}, {ID: "2", Name: "Bo Reed", Number: "18"}, {ID: "3", Name: "ADA  FINCH", Number: "19"}, {ID: "4", Name: "ada finch"}}
	var names []string
	for _, p := range record.ToldApart(people) {
		names = append(names, p.Name)
	}
	if got, want := fmt.Sprintf("%q", names), `["Ada Finch (17)" "Bo Reed" "ADA  FINCH (19)" "ada finch (no number)"]`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if people[0].Name != "Ada Finch" {
		t.Error("the people themselves were changed")
	}
}
