package exercises

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/exercises/observer"
)

var examParts = []ExamPart{{Kind: ValueFirst, Count: 16}, {Kind: Thirds, Count: 8}, {Kind: Whitening, Count: 4}}

// Everybody who sits a form sees the same bytes; another form shows others; a
// part keeps its items whatever stands behind it.
func TestExamForms(t *testing.T) {
	sheet := sheetOf(t, "natural")
	form := func(n int, parts []ExamPart) (all [][]Trial) {
		setups, err := ExamForm(n, parts, sheet)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range setups {
			if s.Adaptive || !s.Silent || s.Viewing != DefaultViewing() || s.SheetID != sheet.Fingerprint() || s.Version == 0 {
				t.Errorf("form %d, %s: %+v", n, s.Kind, s)
			}
			trials, _ := play(t, s, observer.Observer{Noise: 1}, uint64(n))
			if len(trials) != s.Count {
				t.Errorf("form %d, %s: %d items of %d", n, s.Kind, len(trials), s.Count)
			}
			all = append(all, trials)
		}
		return all
	}
	one := form(1, examParts)
	if diff := cmp.Diff(one, form(1, examParts)); diff != "" {
		t.Errorf("form 1 is not the same again:\n%s", diff)
	}
	if diff := cmp.Diff(one[:1], form(1, examParts[:1])); diff != "" {
		t.Errorf("a part changed with those behind it:\n%s", diff)
	}
	seen := map[colour.SRGB]int{}
	for n := 1; n <= 20; n++ {
		for _, tr := range form(n, examParts)[0] {
			seen[tr.Target]++
		}
	}
	if len(seen) < 310 {
		t.Errorf("20 forms of 16 items show only %d colours", len(seen))
	}
	if len(one[1]) != 9 {
		t.Errorf("8 thirds make %d items, want whole teeth", len(one[1]))
	}
}

// Forms are parallel: one observer's mean error differs between forms no more
// than chance makes it differ within them.
func TestExamFormsAreParallel(t *testing.T) {
	const forms = 60
	sheet := sheetOf(t, "natural")
	who := observer.Observer{BiasL: 0.5, Noise: 0.8}
	var means []float64
	var within, n float64
	for f := 1; f <= forms; f++ {
		setups, err := ExamForm(f, examParts[:1], sheet)
		if err != nil {
			t.Fatal(err)
		}
		trials, answers := play(t, setups[0], who, uint64(f))
		var sum, square float64
		for i, tr := range trials {
			e := colour.DeltaE00(tr.Target.Lab(), answers[i].Colour.Lab())
			sum += e
			square += e * e
		}
		n = float64(len(trials))
		means = append(means, sum/n)
		within += (square - sum*sum/n) / (n - 1) / forms
	}
	var sum, square float64
	for _, m := range means {
		sum += m
		square += m * m
	}
	between := (square - sum*sum/forms) / (forms - 1) * n
	// F with 59 and 900 degrees of freedom: 0.999 quantile 1.70.
	if ratio := between / within; ratio > 1.7 {
		t.Errorf("between forms the variance is %.2f of that within", ratio)
	}
}

func TestExamRefusesWhatItCannotDo(t *testing.T) {
	sheet := sheetOf(t, "natural")
	for name, err := range map[string]error{
		"form 0":        second(ExamForm(0, examParts, sheet)),
		"no parts":      second(ExamForm(1, nil, sheet)),
		"unknown kind":  second(ExamForm(1, []ExamPart{{Kind: "juggling", Count: 3}}, sheet)),
		"answer driven": second(ExamForm(1, []ExamPart{{Kind: Threshold, Task: TaskWhich, Count: 3}}, sheet)),
		"without tabs":  second(ExamForm(1, examParts, nil)),
		"without items": second(ExamForm(1, []ExamPart{{Kind: ValueFirst}}, sheet)),
	} {
		if err == nil {
			t.Errorf("%s is accepted", name)
		}
	}
}

func second(_ []Setup, err error) error { return err }
