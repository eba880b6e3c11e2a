package main

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Codes are made from identifiers, and two may have the same: then a class means its own,
// and where nobody can know which is meant the numbers are asked for. No grade goes into
// another's column.
func TestTwoAssignmentsOfOneCode(t *testing.T) {
	w := newWorld(t)
	ctx := context.Background()
	book, err := openBook(ctx, w.vars["SHADEDRILL_BOOK"])
	if err != nil {
		t.Fatal(err)
	}
	library, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	kind, _ := exercises.ByID(exercises.ValueFirst)
	noon := time.Date(2025, 2, 1, 12, 0, 0, 0, time.UTC)
	ids, code := ofOneCode()
	err = book.Merge(ctx, func(m record.Book) error {
		for i, name := range []string{"Monday group", "Tuesday group"} {
			class, err := m.AddClass(ctx, scoring.Class{Name: name, At: noon})
			if err != nil {
				return err
			}
			who, err := m.AddLearner(ctx, scoring.Learner{Name: []string{"Ada", "Ben"}[i], At: noon})
			if err != nil {
				return err
			}
			if err := m.Enrol(ctx, class.ID, who.ID, noon); err != nil {
				return err
			}
			given := ids[i : i+1]
			if i == 1 {
				given = ids[1:] // two of one code in one class as well
			}
			for _, id := range given {
				sheet := tabs.NewSheet(library, nil)
				if err := m.PutSheet(ctx, sheet); err != nil {
					return err
				}
				if _, err := m.AddAssignment(ctx, scoring.Assignment{ID: id, Class: class.ID, At: noon, Due: noon.AddDate(1, 0, 0), Pass: scoring.PassMark{Rule: scoring.PassNone},
					Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: 5, Count: 3, Targets: exercises.NaturalTargets, Sheet: sheet}}); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := book.Close(); err != nil {
		t.Fatal(err)
	}
	if exit := w.run("class", "grades", "Monday group", "--assignment", code); exit != 0 || !strings.Contains(w.out.String(), "Assignment 1 ("+code+")") {
		t.Errorf("exit %d: %s%s", exit, w.out.String(), w.err.String())
	}
	for _, args := range [][]string{{"practise", "--learner", "Ben", "--assignment", code}, {"class", "grades", "Tuesday group", "--assignment", code}} {
		if exit := w.run(args...); exit != 1 || !strings.Contains(w.err.String(), "assignments have the code "+code) || !strings.Contains(w.err.String(), "hint: say its number: ") {
			t.Errorf("%q: exit %d: %s", args, exit, w.err.String())
		}
	}
	if exit := w.run("class", "grades", "Tuesday group", "--wide", "--format", "csv"); exit != 0 || !strings.HasPrefix(w.out.String(),
		fmt.Sprintf("id,name,email,\"assignment %s, number 2 (10)\",\"assignment %s, number 3 (10)\"\n", code, code)) {
		t.Errorf("exit %d: %s%s", exit, w.out.String(), w.err.String())
	}
}

// ofOneCode finds three identifiers of one code.
func ofOneCode() (ids []scoring.AssignmentID, code string) {
	of := map[string][]scoring.AssignmentID{}
	for i := 0; ; i++ {
		id := scoring.AssignmentID(fmt.Sprintf("assignment-%d", i))
		code := scoring.Assignment{ID: id}.Code()
		if of[code] = append(of[code], id); len(of[code]) == 3 {
			return of[code], code
		}
	}
}
