package learners_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/learners"
)

// shelf is a record in memory, in the order of entry.
type shelf struct {
	sittings []scoring.Sitting
	attempts []scoring.Attempt
	sheets   map[string]*tabs.Sheet
	broken   error
}

func (s *shelf) Sittings(_ context.Context, f record.Filter) ([]scoring.Sitting, error) {
	return s.sittings, nil
}

func (s *shelf) Forms(context.Context) ([]record.Form, error) { return nil, nil }

func (s *shelf) Sheet(_ context.Context, id string) (*tabs.Sheet, error) {
	if sheet, ok := s.sheets[id]; ok {
		return sheet, nil
	}
	return nil, record.ErrNotFound
}

func (s *shelf) Sitting(_ context.Context, id scoring.SittingID) (scoring.Sitting, error) {
	for _, one := range s.sittings {
		if one.ID == id {
			return one, nil
		}
	}
	return scoring.Sitting{}, record.ErrNotFound
}

func (s *shelf) Chains(_ context.Context, f record.Filter) iter.Seq2[record.Chain, error] {
	return func(yield func(record.Chain, error) bool) {
		for _, one := range s.sittings {
			var answers []scoring.Attempt
			for _, a := range s.attempts {
				if a.Sitting == one.ID {
					answers = append(answers, a)
				}
			}
			if (f.Sitting == "" || f.Sitting == one.ID) && !yield(record.ChainOf(one, answers), nil) {
				return
			}
		}
	}
}

func (s *shelf) Attempts(_ context.Context, f record.Filter) iter.Seq2[scoring.Attempt, error] {
	return func(yield func(scoring.Attempt, error) bool) {
		for _, a := range s.attempts {
			if f.Kind != "" && string(a.Trial.Kind) != f.Kind {
				continue
			}
			if f.Light {
				a = record.Lighten(a)
			}
			if !yield(a, nil) {
				return
			}
		}
		if s.broken != nil {
			yield(scoring.Attempt{}, s.broken)
		}
	}
}

var start = time.Date(2024, 3, 1, 9, 0, 0, 0, time.UTC)

// sit lets an observer answer n trials with the colour that was seen.
func (s *shelf) sit(kind exercises.KindID, o observer.Observer, n int, rng *rand.Rand, light string) {
	id := scoring.SittingID(fmt.Sprintf("sitting-%03d", len(s.sittings)))
	began := start.AddDate(0, 0, len(s.sittings))
	s.sittings = append(s.sittings, scoring.Sitting{ID: id, Learner: "one", Started: began,
		Setup: exercises.Setup{Kind: kind, Viewing: exercises.Viewing{Light: light}}})
	for i := range n {
		target, _ := tabs.NaturalTeeth.Sample(rng).SRGB()
		answer, _ := o.Perceive(target.Lab(), rng).SRGB()
		s.attempts = append(s.attempts, scoring.Attempt{Sitting: id, Learner: "one", At: began.Add(time.Duration(i) * 10 * time.Second),
			Trial:  exercises.Trial{Kind: kind, Ordinal: i, Target: target},
			Answer: exercises.Answer{Colour: &answer, Total: 8 * time.Second}})
	}
}

func progress(t testing.TB, s *shelf) report.Report {
	t.Helper()
	r, err := learners.Progress(context.Background(), s, scoring.Learner{ID: "one", Name: "Simulated 01", Simulated: true}, record.Filter{}, time.Now(), false)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const seed = 11

func TestProgressFindsTheBiasAndNoOther(t *testing.T) {
	rng := rand.New(rand.NewPCG(seed, 1))
	s := &shelf{}
	for range 10 {
		s.sit(exercises.ValueFirst, observer.Observer{BiasC: 1.2, Noise: 0.6}, 20, rng, "")
	}
	bias := reporttest.Section(t, progress(t, s), "bias")
	if e := reporttest.Estimate(t, bias, 0, "bias_C"); !e.Covers(1.2) {
		t.Errorf("chroma bias %+v does not cover 1.2 (seed %d)", e, seed)
	}
	for _, key := range []string{"bias_L", "bias_H"} {
		if e := reporttest.Estimate(t, bias, 0, key); !e.Covers(0) {
			t.Errorf("%s %+v does not cover 0 (seed %d)", key, e, seed)
		}
	}
	if got := reporttest.Cell(t, bias, 0, "bias"); got != report.Text("too chromatic") {
		t.Errorf("bias is %q", got)
	}
}

func TestProgressSeesErrorsShrinkAndOnlyThen(t *testing.T) {
	rng := rand.New(rand.NewPCG(seed, 2))
	better, same := &shelf{}, &shelf{}
	for i := range 16 {
		better.sit(exercises.ValueFirst, observer.Observer{Noise: 2 * math.Pow(float64(i+1), -0.5)}, 20, rng, "")
		same.sit(exercises.ValueFirst, observer.Observer{Noise: 1}, 20, rng, "")
	}
	table := reporttest.Section(t, progress(t, better), "trend")
	if got := reporttest.Cell(t, table, 0, "trend").(report.Word); got.Key != "falling" {
		t.Errorf("an error that halves every four doublings' course is %q", got.Key)
	}
	// An exponent of one half leaves 2^(−½) = 71 % at each doubling; answers come in the
	// steps of the library, so that late errors shrink a little less.
	const steps = 0.02
	if e := reporttest.Estimate(t, table, 0, "per_doubling"); e.Lo > math.Sqrt(0.5)+steps || e.Hi < math.Sqrt(0.5) {
		t.Errorf("left per doubling %+v does not cover 0.71 (seed %d)", e, seed)
	}
	if got := reporttest.Cell(t, reporttest.Section(t, progress(t, same), "trend"), 0, "trend").(report.Word); got.Key != "none" {
		t.Errorf("a steady learner's course is %q (seed %d)", got.Key, seed)
	}
}

func TestProgressCountsWithinTheLimits(t *testing.T) {
	s := &shelf{}
	rng := rand.New(rand.NewPCG(seed, 3))
	s.sit("first", observer.Observer{}, 20, rng, "")                // exact but for rounding to bytes
	s.sit("second", observer.Observer{BiasL: 3}, 10, rng, "")       // never acceptable
	s.sit(exercises.Threshold, observer.Observer{}, 0, rng, "")     // nothing answered
	s.attempts[0].Answer.Colour = nil                               // an answer without a colour
	s.attempts[1].Answer.Colour = &colour.SRGB{R: 10, G: 20, B: 30} // a mismatch
	table := reporttest.Section(t, progress(t, s), "accuracy")
	if len(table.Rows) != 2 {
		t.Fatalf("%d rows, want two exercises and no number over both", len(table.Rows))
	}
	for row, want := range []float64{18.0 / 19, 0} {
		if e := reporttest.Estimate(t, table, row, "within_acceptability"); math.Abs(e.Value-want) > 1e-9 {
			t.Errorf("row %d: share within acceptability %v, want %v", row, e.Value, want)
		}
	}
}

func TestProgressFindsTheWeakRegionFirst(t *testing.T) {
	s := &shelf{}
	rng := rand.New(rand.NewPCG(seed, 4))
	s.sit(exercises.ValueFirst, observer.Observer{Noise: 0.3}, 400, rng, "")
	for i, a := range s.attempts {
		if l := a.Trial.Target.Lab(); l.L >= 79 && l.L < 86 && l.Chroma() >= 16 && l.Chroma() < 22 {
			wrong, _ := observer.Shift(l, -3, 0, 0).SRGB()
			s.attempts[i].Answer.Colour = &wrong
		}
	}
	table := reporttest.Section(t, progress(t, s), "regions")
	if l, c, bias := reporttest.Cell(t, table, 0, "lightness"), reporttest.Cell(t, table, 0, "chroma"), reporttest.Cell(t, table, 0, "bias"); l != report.Text("79 to 86") || c != report.Text("16 to 22") || bias != report.Text("too dark") {
		t.Errorf("the first region is %v %v, %v", l, c, bias)
	}
}

func TestProgressComparesLightsOnlyWhereThereAreSeveral(t *testing.T) {
	s := &shelf{}
	rng := rand.New(rand.NewPCG(seed, 5))
	s.sit(exercises.ValueFirst, observer.Observer{Noise: 0.5}, 20, rng, "")
	for _, x := range progress(t, s).Sections {
		if x.Key == "lights" {
			t.Error("one light is compared with nothing")
		}
	}
	s.sit(exercises.ValueFirst, observer.Observer{BiasH: -2, Noise: 0.5}, 20, rng, "a")
	table := reporttest.Section(t, progress(t, s), "lights")
	if got := reporttest.Estimate(t, table, 1, "bias_H"); !got.Covers(-2) {
		t.Errorf("hue bias under lamp A is %+v", got)
	}
}

func TestAdviceOnColourVision(t *testing.T) {
	for _, c := range []struct {
		name string
		o    func(rng *rand.Rand) observer.Observer
		want bool
	}{
		{"a strong bias in hue", func(*rand.Rand) observer.Observer { return observer.Observer{BiasH: -1.5, Noise: 0.6} }, true},
		{"hue errors both ways", func(rng *rand.Rand) observer.Observer {
			return observer.Observer{BiasH: []float64{-2.5, 2.5}[rng.IntN(2)], Noise: 0.4}
		}, true},
		{"a strong bias in value", func(*rand.Rand) observer.Observer { return observer.Observer{BiasL: -2, Noise: 0.6} }, false},
		{"noise alone", func(*rand.Rand) observer.Observer { return observer.Observer{Noise: 1.2} }, false},
		{"a small bias in hue", func(*rand.Rand) observer.Observer { return observer.Observer{BiasH: 0.4, Noise: 0.6} }, false},
	} {
		s := &shelf{}
		rng := rand.New(rand.NewPCG(seed, 6))
		for range 40 {
			s.sit(exercises.ValueFirst, c.o(rng), 5, rng, "")
		}
		var notes string
		for _, x := range progress(t, s).Sections {
			if x.Key == "vision" {
				notes = strings.Join(x.Notes, " ")
			}
		}
		if got := notes != ""; got != c.want {
			t.Errorf("%s: advice %q (seed %d)", c.name, notes, seed)
		}
		if c.want && (!strings.Contains(notes, "Nothing was diagnosed") || !strings.Contains(notes, "professional")) {
			t.Errorf("%s: the advice does not say what it is: %q", c.name, notes)
		}
	}
}

// Nothing answered, one answer, three answers: every number is either there or
// said to be missing in words.
func TestProgressOfBeginners(t *testing.T) {
	for _, n := range []int{0, 1, 3} {
		s := &shelf{}
		s.sit(exercises.ValueFirst, observer.Observer{Noise: 1}, n, rand.New(rand.NewPCG(seed, 7)), "")
		r := progress(t, s)
		for _, f := range report.Formats() {
			var b bytes.Buffer
			if err := report.Write(&b, r, f, report.Layout{Width: 80}); err != nil {
				t.Fatal(err)
			}
			if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
				t.Errorf("%d answers as %s:\n%s", n, f, b.String())
			}
			if f == report.FormatText && !strings.Contains(b.String(), "diagnoses nothing") {
				t.Errorf("the cautions are missing:\n%s", b.String())
			}
		}
		if n == 0 && r.Lead[0] != "No answers yet." {
			t.Errorf("lead is %q", r.Lead)
		}
	}
}

// An exercise whose answers hold more than a light reading gives is read whole, once.
func TestProgressReadsWholeWhatALightReadingLeavesOut(t *testing.T) {
	s := &shelf{}
	rng := rand.New(rand.NewPCG(seed, 10))
	s.sit("first", observer.Observer{Noise: 1}, 10, rng, "")
	s.sit("second", observer.Observer{Noise: 1}, 10, rng, "")
	s.sit("first", observer.Observer{Noise: 1}, 10, rng, "")
	before := progress(t, s)
	for i, a := range s.attempts {
		if a.Trial.Kind == "first" && a.Trial.Ordinal >= 3 {
			s.attempts[i].Trial.Patches = []exercises.Patch{{Role: "other", Colour: a.Trial.Target}}
		}
	}
	if diff := cmp.Diff(before.Sections, progress(t, s).Sections, cmpopts.EquateNaNs()); diff != "" {
		t.Errorf("the tables differ: %s", diff)
	}
}

func TestProgressPassesOnErrors(t *testing.T) {
	s := &shelf{broken: errors.New("disk on fire")}
	if _, err := learners.Progress(context.Background(), s, scoring.Learner{}, record.Filter{}, time.Now(), false); !errors.Is(err, s.broken) {
		t.Errorf("error is %v", err)
	}
	s = &shelf{}
	s.sit(exercises.ValueFirst, observer.Observer{}, 1, rand.New(rand.NewPCG(seed, 8)), "")
	s.sittings[0].Setup.SheetID = "gone"
	if _, err := learners.Progress(context.Background(), s, scoring.Learner{}, record.Filter{}, time.Now(), false); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("a missing sheet gives %v", err)
	}
}

// 100,000 answers in 5,000 sittings.
func BenchmarkProgress(b *testing.B) {
	s := &shelf{}
	rng := rand.New(rand.NewPCG(seed, 9))
	for range 5000 {
		s.sit(exercises.ValueFirst, observer.Observer{BiasL: 0.3, Noise: 1}, 20, rng, "")
	}
	b.ReportAllocs()
	for b.Loop() {
		progress(b, s)
	}
}

// drill lets an observer answer a whole drill of a kind, from a library.
func (s *shelf) drill(tb testing.TB, kind exercises.KindID, o observer.Observer, n int, sheet *tabs.Sheet, rng *rand.Rand) {
	tb.Helper()
	k, err := exercises.ByID(kind)
	if err != nil {
		tb.Fatal(err)
	}
	id := scoring.SittingID(fmt.Sprintf("sitting-%05d", len(s.sittings)))
	began := start.AddDate(0, 0, len(s.sittings))
	setup := exercises.Setup{Kind: kind, Seed: rng.Uint64(), Count: n, Sheet: sheet, SheetID: sheet.Fingerprint()}
	if s.sheets == nil {
		s.sheets = map[string]*tabs.Sheet{}
	}
	s.sheets[setup.SheetID] = sheet
	run, err := exercises.NewRun(setup)
	if err != nil {
		tb.Fatal(err)
	}
	s.sittings = append(s.sittings, scoring.Sitting{ID: id, Learner: "one", Started: began, Setup: setup})
	for t, ok := run.Next(); ok; t, ok = run.Next() {
		a := k.Simulate(t, setup, o, rng)
		a.Total = 8 * time.Second
		run.Take(t, a)
		s.attempts = append(s.attempts, scoring.Attempt{Sitting: id, Learner: "one", At: began.Add(time.Duration(t.Ordinal) * 10 * time.Second), Trial: t, Answer: a})
	}
}

// 100,000 answers in 5,000 drills of value first.
func BenchmarkProgressValueFirst(b *testing.B) {
	s := &shelf{}
	rng := rand.New(rand.NewPCG(seed, 9))
	natural := reporttest.Sheet(b, "natural")
	for range 5000 {
		s.drill(b, exercises.ValueFirst, observer.Observer{BiasL: 0.3, Noise: 1}, 20, natural, rng)
	}
	b.ReportAllocs()
	for b.Loop() {
		progress(b, s)
	}
}
