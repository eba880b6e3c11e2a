package classes

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

// A class review judges a try-in as grades and tests do: each of its four
// judgements is an item, and the mean over items is the mean of the grades.
func TestClassItemsOfATryIn(t *testing.T) {
	const trials = 10
	ctx := context.Background()
	var pupils []pupil
	for i := range 9 {
		pupils = append(pupils, pupil{name: fmt.Sprintf("P%d", i), observer: observer.Observer{Noise: 0.3 + 0.2*float64(i)}})
	}
	book, class := classOf(t, 10, pupils...)
	entered, err := book.AddClass(ctx, scoring.Class{Name: "Spring", At: classStart})
	if err != nil {
		t.Fatal(err)
	}
	kind, err := exercises.ByID(exercises.TryIn)
	if err != nil {
		t.Fatal(err)
	}
	given, err := book.AddAssignment(ctx, scoring.Assignment{Class: entered.ID, At: classStart, Due: classStart.AddDate(1, 0, 0),
		Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: trials, Targets: exercises.NaturalTargets}})
	if err != nil {
		t.Fatal(err)
	}
	for i, who := range class.People {
		if err := book.Enrol(ctx, entered.ID, who.ID, classStart); err != nil {
			t.Fatal(err)
		}
		sit(t, book, who, classStart.AddDate(0, 1, 0), given.Setup, given.Set().Ref.String(), pupils[i].observer, rand.New(rand.NewPCG(2, uint64(i))))
	}
	r, err := Report(ctx, book, class, record.Filter{}, "name", false)
	if err != nil {
		t.Fatal(err)
	}
	list, err := grades(ctx, book, given, class.People, classStart.AddDate(0, 2, 0), false)
	if err != nil {
		t.Fatal(err)
	}
	mean := 0.0
	for _, g := range list {
		mean += g.right.Value / float64(len(list))
	}
	if got := reporttest.Estimate(t, reporttest.Section(t, r, "items"), 0, "difficulty").Value; math.Abs(got-mean) > 1e-12 || mean < 0.5 || mean > 0.99 {
		t.Errorf("the mean over items is %.4f, that of the grades %.4f", got, mean)
	}
	var items, words []string
	for _, s := range r.Sections {
		words = append(words, s.Notes...)
		if s.Key != "item" {
			continue
		}
		for _, row := range s.Table.Rows {
			items = append(items, string(row[1].(report.Text)))
		}
	}
	if len(items) != 4*trials || items[0] != "001 direction of chroma" || items[3] != "001 verdict" {
		t.Errorf("items are %q", items)
	}
	if !strings.Contains(strings.Join(words, "\n"), "each counts for itself, as in a test and for a pass mark") {
		t.Errorf("it is not said: %q", words)
	}
}

// In the free part of a test nothing is right or wrong, even where somebody took
// it before the other part.
func TestTheFreePartOfATestHasNoItems(t *testing.T) {
	book, class := classOf(t, 10, pupil{name: "A", observer: observer.Observer{Noise: 1}})
	form, err := scoring.NewTest("A", scoring.TestPart{Kind: exercises.ValueFirst, Items: 12, Sheet: reporttest.Sheet(t, "natural")},
		scoring.TestPart{Kind: exercises.ValueFirst, Items: 12, Free: true, Sheet: reporttest.Sheet(t, "natural")})
	if err != nil {
		t.Fatal(err)
	}
	setups := form.Parts
	sit(t, book, class.People[0], classStart, setups[1], form.Take(1).String(), observer.Observer{}, rand.New(rand.NewPCG(1, 1)))
	counted := func() (right float64, n int) {
		for _, set := range reviewed(t, book, class, record.Filter{}).learners[0].seen.sets {
			for _, x := range set {
				right, n = right+x.sum, n+x.n
			}
		}
		return right, n
	}
	if _, n := counted(); n != 0 {
		t.Errorf("%d answers of the free part are items", n)
	}
	sit(t, book, class.People[0], classStart.AddDate(0, 0, 1), setups[0], form.Take(1).String(), observer.Observer{}, rand.New(rand.NewPCG(1, 1)))
	if right, n := counted(); n != 12 || right != 12 {
		t.Errorf("%v of %d items right, want all of 12", right, n)
	}
}
