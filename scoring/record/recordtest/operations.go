package recordtest

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// randomOperations does the same things, drawn by lot, to the book and to one in
// memory: both must say the same, and hold the same in the end. Identifiers are
// drawn from few, so that much is already there, not there yet, or gone.
func randomOperations(t *testing.T, b record.Store) {
	rng := rand.New(rand.NewPCG(11, 1))
	model := record.NewMemory()
	sheet := Sheet(t)
	must(t, b.PutSheet(ctx, sheet))
	must(t, model.PutSheet(ctx, sheet))
	for step := range 600 {
		name, operation := draw(rng, step)
		var got, want any
		var gotErr, wantErr error
		if rng.IntN(10) == 0 {
			// In a transaction, which is sometimes given up.
			give := rng.IntN(2) == 0
			within := func(result *any) func(record.Book) error {
				return func(m record.Book) (err error) {
					if *result, err = operation(m); err == nil && give {
						err = errGivenUp
					}
					return err
				}
			}
			name += " in a transaction"
			gotErr, wantErr = b.Merge(ctx, within(&got)), model.Merge(ctx, within(&want))
		} else {
			got, gotErr = operation(b)
			want, wantErr = operation(model)
		}
		if kindOf(gotErr) != kindOf(wantErr) {
			t.Fatalf("step %d, %s: error %v, in memory %v", step, name, gotErr, wantErr)
		}
		if gotErr != nil && !errors.Is(gotErr, errGivenUp) {
			continue // what comes with an error means nothing
		}
		if same(t, fmt.Sprintf("step %d, %s", step, name), got, want); t.Failed() {
			t.FailNow()
		}
	}
	same(t, "in the end", dump(t, b), dump(t, model))
	found, err := record.Verify(ctx, b, nil)
	must(t, err)
	same(t, "what is wrong with it", len(found.Findings), 0)
	same(t, "answers verified", found.Answers, len(All(t, b, record.Filter{})))
}

var errGivenUp = errors.New("given up")

// kindOf sorts errors into those that a caller tells apart.
func kindOf(err error) string {
	for _, e := range []error{record.ErrNotFound, record.ErrTaken, record.ErrEnded, errGivenUp} {
		if errors.Is(err, e) {
			return e.Error()
		}
	}
	if err != nil {
		return "other"
	}
	return ""
}

type operation func(record.Book) (any, error)

func draw(rng *rand.Rand, step int) (string, operation) {
	at := Noon.Add(time.Duration(step) * time.Second)
	n := rng.IntN(6)
	learner := scoring.LearnerID(fmt.Sprintf("L%d", n))
	class := scoring.ClassID(fmt.Sprintf("C%d", rng.IntN(4)))
	sitting := scoring.SittingID(fmt.Sprintf("S%d", rng.IntN(9)))
	names := []string{"Ada Finch", "ADA finch", "Ben Moor", "Cy Vale", "zoë Quill", "Dee Hart", "\x1b[2J", "Eve Lund"}
	name := names[rng.IntN(len(names))]
	own := rand.New(rand.NewPCG(rng.Uint64(), 2)) // chance is drawn once for both books
	switch rng.IntN(15) {
	case 0, 1:
		return "add learner", func(m record.Book) (any, error) {
			return m.AddLearner(ctx, scoring.Learner{ID: learner, Name: name, At: at})
		}
	case 2:
		role := []scoring.Role{"", scoring.RoleLead, scoring.RoleInstructor, "queen"}[rng.IntN(4)]
		return "set role", func(m record.Book) (any, error) { return nil, m.SetRole(ctx, learner, role, at) }
	case 3:
		return "add class", func(m record.Book) (any, error) {
			return m.AddClass(ctx, scoring.Class{ID: class, Name: name, At: at})
		}
	case 4:
		if rng.IntN(3) > 0 {
			return "class by name", func(m record.Book) (any, error) { return m.ClassByName(ctx, name) }
		}
		return "remove class", func(m record.Book) (any, error) { return nil, m.RemoveClass(ctx, class) }
	case 5, 6, 7:
		return "enrol", func(m record.Book) (any, error) { return nil, m.Enrol(ctx, class, learner, at) }
	case 8:
		return "unenrol", func(m record.Book) (any, error) { return nil, m.Unenrol(ctx, class, learner, at) }
	case 9:
		if rng.IntN(2) == 0 {
			in := scoring.Membership{Learner: learner, At: at.Add(time.Duration(rng.IntN(300)-200) * time.Second), Off: rng.IntN(2) == 0}
			return "put membership", func(m record.Book) (any, error) { return nil, m.PutMembership(ctx, class, in) }
		}
		return "roster", func(m record.Book) (any, error) { return m.Roster(ctx, class) }
	case 10:
		a := RandomAssignment(class, own)
		a.ID = scoring.AssignmentID(fmt.Sprintf("A%d", rng.IntN(40)))
		a.Number = rng.IntN(40) - 5
		return "assign", func(m record.Book) (any, error) { return m.AddAssignment(ctx, a) }
	case 11:
		return "start", func(m record.Book) (any, error) {
			s := scoring.Sitting{ID: sitting, Learner: learner, Started: Noon}
			s.Setup.Kind = "value-first"
			return nil, m.StartSitting(ctx, s)
		}
	case 12:
		if rng.IntN(4) > 0 {
			number := rng.IntN(6)
			return "assignment", func(m record.Book) (any, error) { return m.Assignment(ctx, number) }
		}
		return "end", func(m record.Book) (any, error) { return nil, m.EndSitting(ctx, sitting, at, n == 0) }
	}
	if rng.IntN(2) == 0 {
		r := scoring.Ruling{What: []scoring.RulingKind{scoring.DueMoved, scoring.Extended, scoring.Excused, scoring.Dropped, scoring.Removed, "else"}[rng.IntN(6)],
			At: at.Add(time.Duration(rng.IntN(5)) * -time.Minute), Back: rng.IntN(3) == 0, By: scoring.LearnerID(fmt.Sprintf("L%d", rng.IntN(6)))}
		if r.What == scoring.Extended || r.What == scoring.Excused {
			r.Learner = learner
		}
		if r.What == scoring.Dropped {
			r.Item = rng.IntN(3)
		}
		if !r.Back && (r.What == scoring.DueMoved || r.What == scoring.Extended) {
			r.Until = at.Add(time.Hour)
		}
		id := scoring.AssignmentID(fmt.Sprintf("A%d", rng.IntN(40)))
		return "rule", func(m record.Book) (any, error) { return nil, m.PutRuling(ctx, id, r) }
	}
	ordinal := rng.IntN(4)
	return "append", func(m record.Book) (any, error) {
		s := scoring.Sitting{ID: sitting, Learner: learner, Started: Noon}
		s.Setup.Kind = "value-first"
		return nil, m.Append(ctx, Plain(s, ordinal))
	}
}

// dump is everything that a book holds.
func dump(t *testing.T, b record.Store) []any {
	t.Helper()
	learners, err := b.Learners(ctx)
	must(t, err)
	classes, err := b.Classes(ctx)
	must(t, err)
	given, err := b.Assignments(ctx, "")
	must(t, err)
	sittings, err := b.Sittings(ctx, record.Filter{})
	must(t, err)
	for i := range sittings {
		sittings[i].Origin.Book = "" // each has a name of its own
	}
	all := []any{learners, classes, given, sittings, All(t, b, record.Filter{})}
	for _, c := range classes {
		members, err := b.Memberships(ctx, c.ID)
		must(t, err)
		all = append(all, roster(t, b, c), members)
	}
	return all
}
