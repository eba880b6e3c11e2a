package scoring_test

import (
	"crypto/rand"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

func natural(t *testing.T) *tabs.Sheet {
	t.Helper()
	l, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

func form(t *testing.T, name string, items int) scoring.Set {
	t.Helper()
	f, err := scoring.NewTestOf(name, []exercises.KindID{exercises.ValueFirst}, items, natural(t))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// targets are the colours that a form asks for.
func targets(t *testing.T, s exercises.Setup) []colour.SRGB {
	t.Helper()
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	var list []colour.SRGB
	for {
		trial, ok := run.Next()
		if !ok {
			return list
		}
		list = append(list, trial.Target)
		run.Take(trial, exercises.Answer{})
	}
}

func TestAFormAsksEverybodyTheSame(t *testing.T) {
	sheet := natural(t)
	one := form(t, "A", 16).Parts[0]
	same := form(t, "A", 16).Parts[0]
	other := form(t, "B", 16).Parts[0]
	if diff := cmp.Diff(targets(t, one), targets(t, same)); diff != "" {
		t.Errorf("the same form asks something else: %s", diff)
	}
	if cmp.Equal(targets(t, one), targets(t, other)) {
		t.Error("two forms ask the same")
	}
	if !one.Silent || one.Adaptive || one.Viewing != exercises.DefaultViewing() {
		t.Errorf("a form gives feedback, adapts or leaves the viewing open: %+v", one)
	}
	for _, target := range targets(t, one) {
		if _, e := sheet.Nearest(target.Lab()); e != 0 {
			t.Errorf("target %s is no tab: there is no right answer", target.Hex())
		}
	}
}

// A form that is laid down is taken once, keeps what it asks, and draws each part's items
// for itself; the open form that it was made from stays as it was.
func TestADrawnFormIsTakenOnce(t *testing.T) {
	open, err := scoring.StandardTest("spring", 8)
	if err != nil {
		t.Fatal(err)
	}
	seeds := []uint64{open.Parts[0].Seed, open.Parts[1].Seed}
	drawn, err := open.Drawn(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if drawn.Again || drawn.Stated || !open.Again || !open.Stated {
		t.Errorf("laid down: again %v, stated %v; open: again %v, stated %v", drawn.Again, drawn.Stated, open.Again, open.Stated)
	}
	if open.Parts[0].Seed != seeds[0] || open.Parts[1].Seed != seeds[1] || open.Parts[0].Stream != "" {
		t.Error("laying a form down changed the open one")
	}
	for i, part := range drawn.Parts {
		if part.Stream != exercises.TestStream || part.Seed == 0 || part.Seed == open.Parts[i].Seed {
			t.Errorf("part %d has the seed %d of the stream %q", i+1, part.Seed, part.Stream)
		}
	}
	if drawn.Parts[0].Seed == drawn.Parts[1].Seed {
		t.Error("both parts have one seed")
	}
	if _, err := open.Drawn(strings.NewReader("too short")); err == nil {
		t.Error("a form is laid down without chance")
	}
}

// Forms are parallel: over many of them the mean lightness of the targets does
// not depend on the form beyond chance.
func TestFormsAreParallel(t *testing.T) {
	var means []float64
	for _, name := range strings.Split("A B C D E F G H J K L M N P Q R", " ") {
		sum := 0.0
		list := targets(t, form(t, name, 50).Parts[0])
		for _, c := range list {
			sum += c.Lab().L
		}
		means = append(means, sum/float64(len(list)))
	}
	// L* of the tabs spreads with a standard deviation of about 10; that of a
	// mean of 50 is about 1.4, and 16 such means stay within ±4 of theirs.
	centre := trend.Bias(means, 0.95).Value
	for i, m := range means {
		if m < centre-4 || m > centre+4 {
			t.Errorf("form %d has a mean L* of %.1f, all together %.1f", i, m, centre)
		}
	}
}

func TestFingerprintTellsFormsOfOneNameApart(t *testing.T) {
	a := scoring.Fingerprint(form(t, "A", 16).Parts)
	if a != scoring.Fingerprint(form(t, "A", 16).Parts) {
		t.Error("the same form has two fingerprints")
	}
	if a == scoring.Fingerprint(form(t, "A", 20).Parts) {
		t.Error("another number of items has the same fingerprint")
	}
}

// The name of a form goes on to mean the items that it meant when it was first
// taken. The numbers are those of the first edition of each form with the built-in
// library as it is: with other tabs a name means other items, and another fingerprint.
func TestFormsKeepTheirItems(t *testing.T) {
	usual := earlierUsual(t)
	several, err := scoring.NewTestOf("spring", []exercises.KindID{exercises.Bench, exercises.TryIn}, 12, natural(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		test  scoring.Set
		print string
		seeds [2]uint64
	}{
		{usual, "f53f5a91", [2]uint64{8957548076361889389, 12821687967152106549}},
		{several, "fb2b22d1", [2]uint64{11175005832322536751, 11513978851289253235}},
	} {
		if got := scoring.Fingerprint(c.test.Parts); got != c.print || c.test.Parts[0].Seed != c.seeds[0] || c.test.Parts[1].Seed != c.seeds[1] {
			t.Errorf("%s has the fingerprint %s and the seeds %d and %d", c.test.Name(), got, c.test.Parts[0].Seed, c.test.Parts[1].Seed)
		}
	}
}

// earlierUsual is the usual form as open forms had it.
func earlierUsual(t *testing.T) scoring.Set {
	t.Helper()
	starter, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	f, err := scoring.NewTest("A", scoring.TestPart{Kind: exercises.ValueFirst, Items: 16, Sheet: tabs.NewSheet(starter, nil)},
		scoring.TestPart{Kind: exercises.ValueFirst, Items: 16, Free: true, Sheet: natural(t)})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// In the usual form right is an acceptable match, whatever tab is nearest; a form that
// was laid down before that keeps what right meant in it.
func TestRightBelongsToTheForm(t *testing.T) {
	usual, err := scoring.StandardTest("A", 16)
	if err != nil {
		t.Fatal(err)
	}
	if cuts := scoring.UsualCuts(usual); !slices.Equal(cuts, scoring.MatchCuts) {
		t.Errorf("the usual form has the levels %v", cuts)
	}
	earlier := earlierUsual(t)
	if cuts := scoring.UsualCuts(earlier); !slices.Equal(cuts, scoring.HouseCuts) {
		t.Errorf("the earlier form has the levels %v", cuts)
	}
	judged := func(set scoring.Set, part int, m scoring.Mark) (right []bool) {
		s := scoring.Sitting{Setup: set.Parts[part], Within: "exam:A.0f2a"}
		for c := range s.Judgements(m, exercises.ValueFirst) {
			right = append(right, c.Right)
		}
		return right
	}
	// The nearest tab, but no acceptable match; an acceptable match, but not the nearest.
	far := scoring.Mark{HasColour: true, HasSheet: true, Nearest: true, Difference: colour.Difference{E: 1.9}, Band: scoring.BandOf(1.9)}
	near := scoring.Mark{HasColour: true, HasSheet: true, Difference: colour.Difference{E: 1.8}, Band: scoring.BandOf(1.8)}
	for _, c := range []struct {
		set       scoring.Set
		part      int
		far, near []bool
	}{
		{usual, 0, []bool{false}, []bool{true}}, {usual, 1, []bool{false}, []bool{true}},
		{earlier, 0, []bool{true}, []bool{false}}, {earlier, 1, nil, nil},
	} {
		if f, n := judged(c.set, c.part, far), judged(c.set, c.part, near); !slices.Equal(f, c.far) || !slices.Equal(n, c.near) {
			t.Errorf("part %d: %v and %v", c.part+1, f, n)
		}
	}
}

// Each part of a form says enough to make the form again, and says it without
// becoming another form.
func TestAFormIsMadeAgainFromAPart(t *testing.T) {
	sheet := natural(t)
	several, err := scoring.NewTestOf("spring", []exercises.KindID{exercises.Bench, exercises.TryIn}, 12, sheet)
	if err != nil {
		t.Fatal(err)
	}
	usual := earlierUsual(t)
	for _, f := range []scoring.Set{several, usual, form(t, "B", 20)} {
		for i, s := range f.Parts {
			again, ok := scoring.TestOf(f.Ref.Name, s, s.Sheet)
			if !ok || len(again.Parts) != len(f.Parts) || !scoring.Asks(s, again.Parts[i]) {
				t.Errorf("%s from part %d: %v %+v", f.Name(), i+1, ok, again)
			}
			other := s
			other.Seed++
			if _, ok := scoring.TestOf(f.Ref.Name, other, s.Sheet); ok {
				t.Errorf("%s was made from other items", f.Name())
			}
		}
	}
	print := scoring.Fingerprint(several.Parts)
	for _, s := range several.Parts {
		if s.Options[scoring.OptionExercises] != "bench,try-in" {
			t.Errorf("%s says %q", s.Kind, s.Options)
		}
		delete(s.Options, scoring.OptionExercises) // as books of before have it
	}
	if got := scoring.Fingerprint(several.Parts); got != print {
		t.Errorf("fingerprint %s became %s", print, got)
	}
	if _, ok := scoring.TestOf("spring", several.Parts[0], sheet); ok {
		t.Error("a form was made out of nothing")
	}
}

func TestFormsAreChecked(t *testing.T) {
	for _, c := range []struct {
		name  string
		kinds []exercises.KindID
		items int
		says  string
	}{
		{"", []exercises.KindID{exercises.ValueFirst}, 16, "a form is named by"},
		{"a:b", []exercises.KindID{exercises.ValueFirst}, 16, "a form is named by"},
		{"A", nil, 16, "needs an exercise"},
		{"A", []exercises.KindID{"nonsense"}, 16, "unknown exercise"},
		{"A", []exercises.KindID{exercises.ValueFirst}, 3, "number of items is 3"},
		{"A", []exercises.KindID{exercises.ValueFirst}, 201, "number of items is 201"},
		{"A", []exercises.KindID{exercises.Threshold}, 16, "chooses its trials by the answers"},
		{"A", []exercises.KindID{exercises.ValueFirst, exercises.ValueFirst}, 16, "named twice"},
	} {
		if _, err := scoring.NewTestOf(c.name, c.kinds, c.items, nil); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q %v %d: error %v, want %q", c.name, c.kinds, c.items, err, c.says)
		}
	}
}
