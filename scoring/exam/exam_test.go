package exam_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring/exam"
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

func form(t *testing.T, name string, items int) exam.Form {
	t.Helper()
	f, err := exam.NewForm(name, []exercises.KindID{exercises.ValueFirst}, items)
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
	one := form(t, "A", 16).Setups(sheet)[0]
	same := form(t, "A", 16).Setups(sheet)[0]
	other := form(t, "B", 16).Setups(sheet)[0]
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

// Forms are parallel: over many of them the mean lightness of the targets does
// not depend on the form beyond chance.
func TestFormsAreParallel(t *testing.T) {
	sheet := natural(t)
	var means []float64
	for _, name := range strings.Split("A B C D E F G H J K L M N P Q R", " ") {
		sum := 0.0
		list := targets(t, form(t, name, 50).Setups(sheet)[0])
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
	sheet := natural(t)
	a := exam.Fingerprint(form(t, "A", 16).Setups(sheet))
	if a != exam.Fingerprint(form(t, "A", 16).Setups(natural(t))) {
		t.Error("the same form has two fingerprints")
	}
	if a == exam.Fingerprint(form(t, "A", 20).Setups(sheet)) {
		t.Error("another number of items has the same fingerprint")
	}
}

// Each part of a form of several exercises says enough to make the form again, and
// says it without becoming another form.
func TestAFormIsMadeAgainFromAPart(t *testing.T) {
	sheet := natural(t)
	f, err := exam.NewForm("spring", []exercises.KindID{exercises.Bench, exercises.TryIn}, 12)
	if err != nil {
		t.Fatal(err)
	}
	setups := f.Setups(sheet)
	print := exam.Fingerprint(setups)
	for i, s := range setups {
		again, ok := exam.FormOf("spring", s)
		if diff := cmp.Diff(s, again.Setups(sheet)[i], cmp.Comparer(func(a, b *tabs.Sheet) bool { return a == b })); !ok || diff != "" {
			t.Errorf("from %s: %v %s", s.Kind, ok, diff)
		}
		if s.Options[exam.OptionExercises] != "bench,try-in" {
			t.Errorf("%s says %q", s.Kind, s.Options)
		}
		delete(s.Options, exam.OptionExercises) // as books of before have it
	}
	if got := exam.Fingerprint(setups); got != print {
		t.Errorf("fingerprint %s became %s", print, got)
	}
	if _, ok := exam.FormOf("spring", setups[0]); ok {
		t.Error("a form was made out of nothing")
	}
	usual, err := exam.Standard("A", 16, sheet, sheet)
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := exam.FormOf("A", usual.Setups(sheet)[0]); ok {
		t.Error("the usual form is not made of its exercises alone")
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
		if _, err := exam.NewForm(c.name, c.kinds, c.items); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q %v %d: error %v, want %q", c.name, c.kinds, c.items, err, c.says)
		}
	}
}

func TestWithinAndBack(t *testing.T) {
	within := form(t, "Spring-2", 16).Within(3)
	if name, take, ok := exam.ParseWithin(within); name != "Spring-2" || take != 3 || !ok {
		t.Errorf("%q reads as %q, %d, %v", within, name, take, ok)
	}
	for _, bad := range []string{"", "panel:A:1", "exam:A", "exam:A:", "exam:A:x", "exam:A:0"} {
		if _, _, ok := exam.ParseWithin(bad); ok {
			t.Errorf("%q reads as an exam", bad)
		}
	}
}

// The intervals are those of the worked example: 14, 12 and 10 of 16 right give
// Wilson intervals of 64–97, 51–90 and 39–82 %.
func TestClassesSayWhatTheyCannotSeparate(t *testing.T) {
	for _, c := range []struct {
		right, of int
		class     exam.Class
		says      string
		long      string
	}{
		{14, 16, exam.Superior, "16 items cannot separate superior from average from poor", "with 88 % right, the share in the long run may lie anywhere from 64 to 97 %"},
		{12, 16, exam.Average, "16 items cannot separate superior from average from poor", "with 75 % right, the share in the long run may lie anywhere from 51 to 90 %"},
		{10, 16, exam.Poor, "16 items cannot separate average from poor", "with 62 % right, the share in the long run may lie anywhere from 39 to 82 %"},
		{4, 16, exam.Poor, "", "with 25 % right"},
		{198, 200, exam.Superior, "", "with 99 % right"},
		{160, 200, exam.Average, "200 items cannot separate average from poor", "with 80 % right"},
		{168, 200, exam.Average, "200 items cannot separate superior from average", "with 84 % right"},
		{0, 0, exam.Unknown, "there is no answer to judge", ""},
	} {
		share := trend.Share(c.right, c.of, 0.95)
		class, doubt := exam.HouseCuts.Classify(share, "items")
		if class != c.class || doubt != c.says {
			t.Errorf("%d of %d: %s, %q; want %s, %q", c.right, c.of, class, doubt, c.class, c.says)
		}
		if long := exam.LongRun(share); !strings.HasPrefix(long, c.long) || c.long == "" && long != "" {
			t.Errorf("%d of %d: %q; want %q", c.right, c.of, long, c.long)
		}
	}
}

func TestCutsAreChecked(t *testing.T) {
	for _, bad := range []exam.Cuts{{0.5, 0.6}, {1.2, 0.5}, {0.5, 0}, {0.7, 0.7}} {
		if bad.Check() == nil {
			t.Errorf("cut-offs %v are taken", bad)
		}
	}
	if err := exam.HouseCuts.Check(); err != nil {
		t.Error(err)
	}
}
