package transfer

import (
	"context"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Two machines decide about one assignment: whichever takes in the other's file, and in
// whichever order, both end with the later, and who gives way is told.
func TestTwoMachinesDecideAboutOneAssignment(t *testing.T) {
	ctx := context.Background()
	mine, class := school(t)
	file := exportClass(t, mine, class.Name, false)
	if !strings.HasPrefix(file, `{"record":"format","format":3}`) {
		t.Errorf("a class about which nothing was decided is of another format: %.60s", file)
	}
	theirs := record.NewMemory()
	take(t, theirs, file)
	first := func(b record.Book) scoring.Assignment {
		c, err := b.ClassByName(ctx, class.Name)
		if err != nil {
			t.Fatal(err)
		}
		list, err := b.Assignments(ctx, c.ID)
		if err != nil {
			t.Fatal(err)
		}
		return list[0]
	}
	cy, err := mine.LearnerByName(ctx, "Cy Vale")
	if err != nil {
		t.Fatal(err)
	}
	rule := func(b record.Book, r scoring.Ruling) {
		t.Helper()
		if err := b.PutRuling(ctx, first(b).ID, r); err != nil { // the assignments of school ask nothing that could be asked
			t.Fatal(err)
		}
	}
	due := func(day, minute int) scoring.Ruling {
		return scoring.Ruling{What: scoring.DueMoved, Until: noon.AddDate(0, 0, day), At: noon.Add(time.Duration(minute-90) * time.Minute)}
	}
	rule(mine, due(3, 1))
	rule(theirs, due(8, 2))
	rule(mine, scoring.Ruling{What: scoring.Extended, Learner: cy.ID, Until: noon.AddDate(0, 0, 20), At: noon.Add(-time.Hour), Why: `ill, "really"`})
	rule(theirs, scoring.Ruling{What: scoring.Dropped, Item: 2, At: noon.Add(-time.Hour)})
	rule(theirs, scoring.Ruling{What: scoring.Excused, Learner: cy.ID, At: noon.Add(-time.Hour)})
	rule(theirs, scoring.Ruling{What: scoring.Excused, Learner: cy.ID, At: noon.Add(-time.Minute), Back: true})
	out, back := exportClass(t, mine, class.Name, true), exportClass(t, theirs, class.Name, true)
	if !strings.HasPrefix(out, `{"record":"format","format":4}`) {
		t.Errorf("an older program would read it and grade otherwise: %.60s", out)
	}
	done := take(t, mine, back).Classes[0]
	if len(done.Ruled) != 3 || len(done.RuledNot) != 0 || !done.Changed() {
		t.Errorf("came in: %+v, kept: %+v", done.Ruled, done.RuledNot)
	}
	done = take(t, theirs, out).Classes[0]
	if len(done.Ruled) != 1 || len(done.RuledNot) != 1 || done.RuledNot[0].Ruling.What != scoring.DueMoved {
		t.Errorf("there came in: %+v, kept: %+v", done.Ruled, done.RuledNot)
	}
	a, b := first(mine), first(theirs)
	for _, got := range []scoring.Assignment{a, b} {
		if !got.DueNow().Equal(noon.AddDate(0, 0, 8)) || !got.DueFor(cy.ID).Equal(noon.AddDate(0, 0, 20)) || len(got.Drops()) != 1 || got.Excuses(cy.ID) || len(got.Rulings) != 6 {
			t.Errorf("due %v, for Cy %v, dropped %v, %d rulings", got.DueNow(), got.DueFor(cy.ID), got.Drops(), len(got.Rulings))
		}
	}
	if a.Code() != b.Code() {
		t.Error("the code is another in the other book")
	}
	if done := take(t, theirs, out).Classes[0]; done.Changed() || len(done.Ruled) > 0 {
		t.Errorf("the same file again: %+v", done)
	}
	// Taken back there: it does not come back with an older file, and its answers stay.
	rule(mine, scoring.Ruling{What: scoring.Removed, At: noon.Add(-time.Minute)})
	take(t, theirs, exportClass(t, mine, class.Name, false))
	take(t, theirs, out)
	if first(theirs).Gone().IsZero() {
		t.Error("an older file gives an assignment again that was taken back")
	}
}

// What was changed on the way is refused or cannot count.
func TestRulingsThatWereForgedAreRefused(t *testing.T) {
	mine, class := school(t)
	list, err := mine.Assignments(context.Background(), class.ID)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := record.Rule(context.Background(), mine, list[0], scoring.Ruling{What: scoring.DueMoved, Until: noon, At: noon.Add(-time.Hour)}); err != nil {
		t.Fatal(err)
	}
	file := exportClass(t, mine, class.Name, false)
	at := noon.Add(-time.Hour).UTC().Format(time.RFC3339)
	for what, change := range map[string][2]string{
		"the sum":             {`"what":"due"`, `"what":"removed"`},
		"a time to come":      {`"at":"` + at + `"`, `"at":"2999-01-01T00:00:00Z"`},
		"an unknown decision": {`"what":"due"`, `"what":"forgiven"`},
	} {
		changed := strings.Replace(file, change[0], change[1], 1)
		if changed == file {
			t.Fatalf("%s: nothing to change in %s", what, file)
		}
		book := record.NewMemory()
		if _, err := Import(context.Background(), book, strings.NewReader(changed), JSONLines, Rules{At: noon, Roles: true}); err == nil {
			t.Errorf("taken: %s", what)
		}
	}
}
