package recordtest

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// merge: all together or not at all, the same again changes nothing, and the
// transaction sees what it wrote itself.
func merge(t *testing.T, b record.Store) {
	before := Person(t, b, "Ada Finch")
	s0 := Begin(t, b, before, 0)
	must(t, b.Append(ctx, Plain(s0, 0)))
	sheet := Sheet(t)
	newcomer := scoring.Learner{ID: "NEW", Name: "Ben Moor", Role: scoring.RoleLead, RoleAt: Noon, At: Noon}
	s1 := RandomSitting(newcomer.ID, "S1", rand.New(rand.NewPCG(5, 5)))
	s1.Started, s1.Setup.Sheet, s1.Setup.Experience = Noon.Add(time.Hour), sheet, nil
	var random []scoring.Attempt
	for i := range 30 {
		random = append(random, RandomAttempt(s1, i, rand.New(rand.NewPCG(uint64(i), 6))))
	}

	enter := func(m record.Book) error {
		must(t, m.PutSheet(ctx, sheet))
		if _, err := m.Learner(ctx, newcomer.ID); errors.Is(err, record.ErrNotFound) {
			_, err := m.AddLearner(ctx, scoring.Learner{ID: newcomer.ID, Name: "ADA finch", At: Noon})
			wantIs(t, err, record.ErrTaken) // and the transaction goes on
			_, err = m.AddLearner(ctx, newcomer)
			must(t, err)
			must(t, m.StartSitting(ctx, s1))
		}
		for _, a := range random {
			must(t, m.Append(ctx, a))
		}
		wrong := Plain(s0, 0)
		wrong.Answer.Tab = "another"
		wantIs(t, m.Append(ctx, wrong), record.ErrTaken)
		wantIs(t, m.Append(ctx, Plain(scoring.Sitting{ID: "none", Learner: before.ID, Started: Noon, Setup: s0.Setup}, 0)), record.ErrNotFound)
		must(t, m.Append(ctx, Plain(s0, 0)))
		must(t, m.Append(ctx, Plain(s0, 1)))

		// Seen from inside.
		got := 0
		for a, err := range m.Attempts(ctx, record.Filter{Sitting: s1.ID, Silent: true}) {
			must(t, err)
			same(t, "from inside", a, random[a.Trial.Ordinal])
			must(t, m.Append(ctx, Plain(s0, 2+got%3)))
			got++
		}
		same(t, "attempts from inside", got, len(random))
		for a, err := range m.Attempts(ctx, record.Filter{Sitting: s1.ID, Light: true, Silent: true}) {
			must(t, err)
			same(t, "read lightly from inside", a, record.Lighten(random[a.Trial.Ordinal]))
		}
		list, err := m.Sittings(ctx, record.Filter{})
		must(t, err)
		same(t, "sittings from inside", len(list), 2)
		l, err := m.LearnerByName(ctx, "ben moor")
		must(t, err)
		same(t, "learner from inside", l, newcomer)
		people, err := m.Learners(ctx)
		must(t, err)
		same(t, "people from inside", len(people), 2)
		kept, err := m.Sheet(ctx, sheet.Fingerprint())
		must(t, err)
		same(t, "sheet from inside", kept.Fingerprint(), sheet.Fingerprint())
		s, err := m.Sitting(ctx, s1.ID)
		must(t, err)
		same(t, "sitting from inside", s.Setup.SheetID, sheet.Fingerprint())
		must(t, m.EndSitting(ctx, s1.ID, Noon.Add(2*time.Hour), false))
		extra := Plain(s0, 99)
		extra.Sitting, extra.Learner = s1.ID, newcomer.ID
		wantIs(t, m.Append(ctx, extra), record.ErrEnded)
		must(t, m.Append(ctx, random[0]))
		return nil
	}

	untouched := func(when string) {
		t.Helper()
		same(t, when, All(t, b, record.Filter{}), []scoring.Attempt{Plain(s0, 0)})
		people, err := b.Learners(ctx)
		must(t, err)
		same(t, when, people, []scoring.Learner{before})
		_, err = b.Sheet(ctx, sheet.Fingerprint())
		wantIs(t, err, record.ErrNotFound)
	}
	stop := errors.New("stop")
	wantIs(t, b.Merge(ctx, func(m record.Book) error {
		must(t, enter(m))
		return stop
	}), stop)
	untouched("rolled back")
	func() {
		defer func() { _ = recover() }()
		_ = b.Merge(ctx, func(m record.Book) error {
			must(t, m.Append(ctx, Plain(s0, 1)))
			panic("in the middle")
		})
	}()
	untouched("after a panic")

	for range 2 { // the second time adds nothing
		must(t, b.Merge(ctx, enter))
		same(t, "merged", All(t, b, record.Filter{Sitting: s1.ID}), random)
		same(t, "merged into a sitting that was there", len(All(t, b, record.Filter{Sitting: s0.ID})), 5)
		s, err := b.Sitting(ctx, s1.ID)
		must(t, err)
		same(t, "end", s.Ended, Noon.Add(2*time.Hour))
		l, err := b.Learner(ctx, newcomer.ID)
		must(t, err)
		same(t, "newcomer", l, newcomer)
	}
}
