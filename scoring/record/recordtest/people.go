package recordtest

import (
	"errors"
	"slices"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

func enter(t *testing.T, b record.Book, l scoring.Learner) scoring.Learner {
	t.Helper()
	l.At = Noon
	l, err := b.AddLearner(ctx, l)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// answered begins a sitting, takes n answers and leaves it open.
func answered(t *testing.T, b record.Book, l scoring.Learner, minutes, n int) scoring.Sitting {
	t.Helper()
	s := Begin(t, b, l, minutes)
	for i := range n {
		if err := b.Append(ctx, Plain(s, i)); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func attemptsOf(t *testing.T, b record.Book, f record.Filter) (list []scoring.Attempt) {
	t.Helper()
	for a, err := range b.Attempts(ctx, f) {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, a)
	}
	return list
}

// sound asks the whole book for what is wrong with it.
func sound(t *testing.T, b record.Book) {
	t.Helper()
	found, err := record.Verify(ctx, b, nil)
	if err != nil || !found.Sound() {
		t.Errorf("the book is not sound: %v, %v", found.Findings, err)
	}
}

// alike: names that read alike are one name, however they are typed; two people of
// one name need numbers that differ, and are then told apart by them.
func alike(t *testing.T, b record.Store) {
	for _, names := range [][]string{
		{"José", "Jose\u0301", "JOSÉ", "ＪＯＳＥ\u0301", "Jo\u00adsé"},
		{"Groß", "GROSS", "gross", "Groẞ"},
		{"ﬁnch", "finch", "Finch"},
		{"Ada  Finch", "ada finch", "ＡＤＡ　Ｆｉｎｃｈ"},
	} {
		first := enter(t, b, scoring.Learner{Name: names[0]})
		for _, name := range names[1:] {
			if l, err := b.LearnerByName(ctx, name); err != nil || l.ID != first.ID {
				t.Errorf("%+q is %v (%v), want %+q", name, l, err, names[0])
			}
			if _, err := b.AddLearner(ctx, scoring.Learner{Name: name, At: Noon}); !errors.Is(err, record.ErrTaken) {
				t.Errorf("%+q beside %+q: %v", name, names[0], err)
			}
		}
	}
	one := enter(t, b, scoring.Learner{Name: "Ben Moor", Number: "k1", Email: "ben@example.org"})
	if _, err := b.AddLearner(ctx, scoring.Learner{Name: "ben moor", At: Noon}); !errors.Is(err, record.ErrTaken) {
		t.Errorf("a second one without a number: %v", err)
	}
	if _, err := b.AddLearner(ctx, scoring.Learner{Name: "Cy Vale", Number: "K1", At: Noon}); !errors.Is(err, record.ErrTaken) {
		t.Errorf("another's number: %v", err)
	}
	two := enter(t, b, scoring.Learner{Name: "BEN MOOR", Number: "4711"})
	if _, err := b.LearnerByName(ctx, "Ben Moor"); !errors.Is(err, record.ErrAmbiguous) {
		t.Errorf("a name of two people: %v", err)
	}
	for number, want := range map[string]scoring.Learner{"k1": one, " K1 ": one, "４７１１": two} {
		if l, err := b.LearnerByName(ctx, number); err != nil || l != want {
			t.Errorf("%q is %v (%v), want %v", number, l, err, want)
		}
	}
	two.Number = ""
	if _, err := b.ChangeLearner(ctx, two, Noon); !errors.Is(err, record.ErrTaken) {
		t.Errorf("one of two of a name loses the number: %v", err)
	}
	two.Number, two.Email = "4711", "no address"
	if _, err := b.ChangeLearner(ctx, two, Noon); err == nil {
		t.Error("an address that is none is taken")
	}
	// A name that is another's number means the one who has the name.
	name := enter(t, b, scoring.Learner{Name: "4711"})
	if l, err := b.LearnerByName(ctx, "4711"); err != nil || l.ID != name.ID {
		t.Errorf("a name that is somebody's number: %v, %v", l, err)
	}
	sound(t, b)
}

// renaming: a person is the same under another name; names with escapes come in
// clean; a pseudonym keeps the answers.
func renaming(t *testing.T, b record.Store) {
	ada, ben := enter(t, b, scoring.Learner{Name: "Ada Finch", Number: "1", Email: "ada@example.org"}), enter(t, b, scoring.Learner{Name: "Ben Moor"})
	answered(t, b, ada, 0, 3)
	ada.Name = "\x1b[31mAda\u202e Lund\x07"
	got, err := b.ChangeLearner(ctx, ada, Noon)
	if err != nil || got.Name != "Ada Lund" {
		t.Errorf("renamed to %+q, %v", got.Name, err)
	}
	if _, err := b.LearnerByName(ctx, "Ada Finch"); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("the old name still finds somebody: %v", err)
	}
	ben.Name = "ada  lund"
	if _, err := b.ChangeLearner(ctx, ben, Noon); !errors.Is(err, record.ErrTaken) {
		t.Errorf("a name that is taken: %v", err)
	}
	if _, err := b.ChangeLearner(ctx, scoring.Learner{ID: "nobody", Name: "X"}, Noon); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("nobody renamed: %v", err)
	}
	got.Name, got.Number, got.Email, got.Pseudonym = "Person k2", "", "", true
	if _, err := b.ChangeLearner(ctx, got, Noon); err != nil {
		t.Fatal(err)
	}
	got.Name, got.Pseudonym = "Ada Lund", false
	if _, err := b.ChangeLearner(ctx, got, Noon); err != nil {
		t.Fatal(err)
	}
	deeds, err := b.Deeds(ctx)
	var kinds []record.DeedKind
	for _, d := range deeds {
		kinds = append(kinds, d.What)
	}
	if want := []record.DeedKind{record.DeedRenamed, record.DeedPseudonymised, record.DeedRenamed}; err != nil || !slices.Equal(kinds, want) {
		t.Errorf("written down: %v (%v), want %v", kinds, err, want)
	}
	if n := len(attemptsOf(t, b, record.Filter{Learner: ada.ID})); n != 3 {
		t.Errorf("%d answers after renaming, want 3", n)
	}
	sound(t, b)
}

// joining: one person of two, with all that both had; the identifier that was given
// up goes on finding them, in a sitting that is open as well; chains hold.
func joining(t *testing.T, b record.Store) {
	ada, adah := enter(t, b, scoring.Learner{Name: "Ada Finch"}), enter(t, b, scoring.Learner{Name: "Adah Finch", Role: scoring.RoleLead, Number: "7"})
	other := enter(t, b, scoring.Learner{Name: "Ben Moor"})
	answered(t, b, ada, 0, 2)
	open := answered(t, b, adah, 1, 2)
	answered(t, b, other, 2, 1)
	both, err := b.AddClass(ctx, scoring.Class{Name: "Both", At: Noon})
	if err != nil {
		t.Fatal(err)
	}
	hers, err := b.AddClass(ctx, scoring.Class{Name: "Hers", At: Noon})
	if err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{b.Enrol(ctx, both.ID, ada.ID, Noon), b.Enrol(ctx, both.ID, adah.ID, Noon), b.Unenrol(ctx, both.ID, ada.ID, Noon),
		b.Enrol(ctx, hers.ID, adah.ID, Noon)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.AddPanel(ctx, somePanel("Round", adah.ID)); err != nil {
		t.Fatal(err)
	}

	if _, err := b.JoinLearners(ctx, ada.ID, ada.ID, Noon); err == nil {
		t.Error("a person is joined with herself")
	}
	if _, err := b.JoinLearners(ctx, Person(t, b, "Simon").ID, ada.ID, Noon); err == nil {
		t.Error("a simulated person is joined with a real one")
	}
	got, err := b.JoinLearners(ctx, adah.ID, ada.ID, Noon)
	if err != nil {
		t.Fatal(err)
	}
	if got.ID != ada.ID || got.Name != "Ada Finch" || got.Role != scoring.RoleLead || got.Number != "7" {
		t.Errorf("joined: %+v", got)
	}
	if l, err := b.Learner(ctx, adah.ID); err != nil || l != got {
		t.Errorf("the identifier that was given up finds %v, %v", l, err)
	}
	if _, err := b.JoinLearners(ctx, adah.ID, ada.ID, Noon); err == nil {
		t.Error("joined a second time")
	}
	if _, err := b.AddLearner(ctx, adah); !errors.Is(err, record.ErrTaken) {
		t.Errorf("entered again under the identifier that was given up: %v", err)
	}
	// The one who sits there knows nothing of it.
	for i := 2; i < 4; i++ {
		if err := b.Append(ctx, Plain(open, i)); err != nil {
			t.Errorf("an answer in a sitting that was open: %v", err)
		}
	}
	if err := b.Append(ctx, Plain(open, 3)); err != nil {
		t.Errorf("the same answer again: %v", err)
	}
	answered(t, b, adah, 5, 1) // a next drill of the same window
	foreign := Plain(open, 9)
	foreign.Learner = other.ID
	if err := b.Append(ctx, foreign); err == nil {
		t.Error("somebody else answers")
	}
	for _, id := range []scoring.LearnerID{ada.ID, adah.ID} {
		list := attemptsOf(t, b, record.Filter{Learner: id})
		if len(list) != 7 {
			t.Errorf("%d answers, want 7", len(list))
		}
		for _, a := range list {
			if a.Learner != ada.ID {
				t.Errorf("answer %s is that of %s", a.ID(), a.Learner)
			}
		}
	}
	for _, class := range []scoring.ClassID{both.ID, hers.ID} {
		if list, err := b.Roster(ctx, class); err != nil || len(list) != 1 || list[0].ID != ada.ID {
			t.Errorf("roster: %v, %v", list, err)
		}
	}
	if err := b.Unenrol(ctx, hers.ID, adah.ID, Noon.Add(time.Hour)); err != nil {
		t.Errorf("off a roster under the identifier that was given up: %v", err)
	}
	if p, err := b.PanelByName(ctx, "Round"); err != nil || p.By != ada.ID {
		t.Errorf("the session's lead is %v, %v", p.By, err)
	}
	sound(t, b)
}

// erasing: nothing of the person is left but the identifier, which nothing enters
// again; the others keep all they have.
func erasing(t *testing.T, b record.Store) {
	ada, adah, ben := enter(t, b, scoring.Learner{Name: "Ada Finch"}), enter(t, b, scoring.Learner{Name: "Adah Finch"}), enter(t, b, scoring.Learner{Name: "Ben Moor"})
	open := answered(t, b, ada, 0, 2)
	answered(t, b, adah, 1, 3)
	answered(t, b, ben, 2, 4)
	class, err := b.AddClass(ctx, scoring.Class{Name: "Monday", At: Noon})
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []scoring.LearnerID{ada.ID, ben.ID} {
		if err := b.Enrol(ctx, class.ID, id, Noon); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.AddPanel(ctx, somePanel("Round", ada.ID)); err != nil {
		t.Fatal(err)
	}
	if _, err := b.JoinLearners(ctx, adah.ID, ada.ID, Noon); err != nil {
		t.Fatal(err)
	}
	// All or nothing.
	boom := errors.New("boom")
	if err := b.Merge(ctx, func(m record.Book) error {
		if err := m.EraseLearner(ctx, ada.ID, Noon); err != nil {
			return err
		}
		return boom
	}); !errors.Is(err, boom) {
		t.Fatal(err)
	}
	if n := len(attemptsOf(t, b, record.Filter{Learner: ada.ID})); n != 5 {
		t.Fatalf("%d answers after an erasure that was taken back, want 5", n)
	}
	if err := b.EraseLearner(ctx, adah.ID, Noon); err != nil { // by the identifier that was given up
		t.Fatal(err)
	}
	for _, id := range []scoring.LearnerID{ada.ID, adah.ID} {
		if _, err := b.Learner(ctx, id); !errors.Is(err, record.ErrErased) || !errors.Is(err, record.ErrNotFound) {
			t.Errorf("the erased one is found: %v", err)
		}
		if err := b.EraseLearner(ctx, id, Noon); !errors.Is(err, record.ErrErased) {
			t.Errorf("erased twice: %v", err)
		}
		if _, err := b.AddLearner(ctx, scoring.Learner{ID: id, Name: "Ada Finch", At: Noon}); !errors.Is(err, record.ErrErased) {
			t.Errorf("entered again: %v", err)
		}
		if err := b.Enrol(ctx, class.ID, id, Noon); !errors.Is(err, record.ErrNotFound) {
			t.Errorf("enrolled again: %v", err)
		}
		s := scoring.Sitting{ID: record.NewSittingID(Noon), Learner: id, Started: Noon, Setup: open.Setup}
		if err := b.StartSitting(ctx, s); !errors.Is(err, record.ErrNotFound) {
			t.Errorf("a further sitting: %v", err)
		}
		if _, err := b.JoinLearners(ctx, id, ben.ID, Noon); !errors.Is(err, record.ErrErased) {
			t.Errorf("joined: %v", err)
		}
	}
	if err := b.Append(ctx, Plain(open, 2)); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("an answer in the sitting that was open: %v", err)
	}
	if n := len(attemptsOf(t, b, record.Filter{})); n != 4 {
		t.Errorf("%d answers left, want the 4 of the other one", n)
	}
	if list, err := b.Memberships(ctx, class.ID); err != nil || len(list) != 1 || list[0].Learner != ben.ID {
		t.Errorf("in the class: %v, %v", list, err)
	}
	if p, err := b.PanelByName(ctx, "Round"); err != nil || p.By != "" {
		t.Errorf("the session's lead is %v, %v", p.By, err)
	}
	deeds, err := b.Deeds(ctx)
	if err != nil || len(deeds) != 2 || deeds[1].What != record.DeedErased || deeds[1].Sittings != 2 || deeds[1].Answers != 5 || deeds[1].Wiped {
		t.Errorf("written down: %+v, %v", deeds, err)
	}
	if err := b.Wipe(ctx); err != nil {
		t.Fatal(err)
	}
	if deeds, err := b.Deeds(ctx); err != nil || !deeds[1].Wiped {
		t.Errorf("after the wiping: %+v, %v", deeds, err)
	}
	// The name is free for somebody else, and what comes later is whole.
	answered(t, b, enter(t, b, scoring.Learner{Name: "Ada Finch"}), 6, 3)
	if n := len(attemptsOf(t, b, record.Filter{})); n != 7 {
		t.Errorf("%d answers, want 7", n)
	}
	sound(t, b)
}

// labels are the same each time, another for each thing, and not the thing itself.
func labels(t *testing.T, b record.Store) {
	seen := map[string]bool{}
	for _, of := range [][2]string{{"person", "a"}, {"person", "b"}, {"sitting", "a"}, {"", "persona"}} {
		one, err := b.Label(ctx, of[0], of[1])
		if err != nil || len(one) != 12 || seen[one] {
			t.Errorf("label of %v: %q, %v", of, one, err)
		}
		if two, err := b.Label(ctx, of[0], of[1]); err != nil || one != two {
			t.Errorf("label of %v: %q, then %q (%v)", of, one, two, err)
		}
		seen[one] = true
	}
}

func somePanel(name string, by scoring.LearnerID) record.Panel {
	return record.Panel{Name: name, At: Noon, By: by, Setup: exercises.Setup{Kind: exercises.ValueFirst, Seed: 1, Count: 1, Repeats: 1}}
}
