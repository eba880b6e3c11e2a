package tests_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/tests"
)

const seed = 11

var start = time.Date(2024, 3, 1, 9, 0, 0, 0, time.UTC)

// take lets an observer take a form, up to the given number of answers.
func take(t *testing.T, book record.Book, name string, o observer.Observer, items, answers int) (scoring.Learner, string) {
	t.Helper()
	return takeForm(t, book, name, o, exercises.ValueFirst, items, answers)
}

func takeForm(t *testing.T, book record.Book, name string, o observer.Observer, kind exercises.KindID, items, answers int) (scoring.Learner, string) {
	t.Helper()
	return sit(t, book, name, o, recordtest.Form(t, "A", 2, items, reporttest.Sheet(t, "natural"), kind), answers)
}

// sit lays a form down, where the book has it not, and lets an observer take it, up to
// the given number of answers of each part.
func sit(t *testing.T, book record.Book, name string, o observer.Observer, form record.Form, answers int) (scoring.Learner, string) {
	t.Helper()
	ctx := context.Background()
	who, err := book.AddLearner(ctx, scoring.Learner{Name: name, At: start, Simulated: true})
	if err != nil {
		t.Fatal(err)
	}
	f := form.Set()
	if _, err := record.LayDown(ctx, book, form); err != nil && !errors.Is(err, record.ErrTaken) {
		t.Fatal(err)
	}
	now := start
	clock := func() time.Time { now = now.Add(10 * time.Second); return now }
	rng := rand.New(rand.NewPCG(seed, 22))
	for _, setup := range f.Parts {
		drill, err := record.Begin(ctx, book, scoring.Sitting{Learner: who.ID, Setup: setup, Within: f.Ref.String()}, clock)
		if err != nil {
			t.Fatal(err)
		}
		kind, err := exercises.ByID(setup.Kind)
		if err != nil {
			t.Fatal(err)
		}
		for range answers {
			trial, ok := drill.Trial()
			if !ok {
				break
			}
			if _, _, err := drill.Answer(ctx, kind.Simulate(trial, setup, o, rng)); err != nil {
				t.Fatal(err)
			}
		}
		if answers >= setup.Items() {
			if err := drill.End(ctx, false); err != nil {
				t.Fatal(err)
			}
		}
	}
	return who, f.Ref.String()
}

func everybody(t *testing.T, book tests.Book) []scoring.Learner {
	t.Helper()
	people, err := book.Learners(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return people
}

func certificate(t *testing.T, book tests.Book, who scoring.Learner, within string) (report.Report, string) {
	t.Helper()
	r, err := tests.Certificate(context.Background(), book, who, within)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := report.Write(&b, r, report.FormatText, report.Layout{Width: 100}); err != nil {
		t.Fatal(err)
	}
	return r, b.String()
}

func TestCertificateOfAPerfectEye(t *testing.T) {
	book := record.NewMemory()
	who, within := take(t, book, "Simulated 01", observer.Observer{}, 40, 40)
	r, text := certificate(t, book, who, within)
	result := reporttest.Section(t, r, "result")
	if e := reporttest.Estimate(t, result, 0, "result"); e.Value != 1 || e.N != 40 {
		t.Errorf("share right is %v of %d, want all of 40\n%s", e.Value, e.N, text)
	}
	if got := reporttest.Cell(t, result, 0, "meaning").(report.Word); got.Key != "superior" {
		t.Errorf("class is %q", got.Key)
	}
	for _, want := range []string{"form A", "from memory", "can set others", "fingerprint", "none before the end", "not checked", "diagnoses nothing", "(simulated)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the certificate does not say %q:\n%s", want, text)
		}
	}
	for _, standard := range []string{"ISO", "28642", "ASTM"} {
		if strings.Contains(text, standard) {
			t.Errorf("the certificate bears the name of a standard, %q", standard)
		}
	}
}

// A try-in is graded by its single judgements: an observer that is average in the usual
// test is not poor in this one, and the certificate says what was counted.
func TestCertificateOfATryIn(t *testing.T) {
	book := record.NewMemory()
	who, within := takeForm(t, book, "Simulated 01", observer.Observer{Noise: 0.7}, exercises.TryIn, 40, 40)
	r, text := certificate(t, book, who, within)
	e := reporttest.Estimate(t, reporttest.Section(t, r, "result"), 0, "result")
	if e.N != 160 || e.Value < 0.75 {
		t.Errorf("%.2f of %d judgements right", e.Value, e.N)
	}
	if got := reporttest.Cell(t, reporttest.Section(t, r, "result"), 0, "meaning").(report.Word); got.Key == "poor" {
		t.Errorf("class is %q", got.Key)
	}
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range []string{"each of the four judgements counts for itself", "160 judgements cannot separate", "40 of try-in"} {
		if !strings.Contains(flat, want) {
			t.Errorf("the certificate does not say %q:\n%s", want, text)
		}
	}
}

func TestCertificateSaysWhatItCannotSeparate(t *testing.T) {
	book := record.NewMemory()
	who, within := take(t, book, "Simulated 01", observer.Observer{Noise: 0.9}, 16, 16)
	_, text := certificate(t, book, who, within)
	if !strings.Contains(text, "16 items cannot separate") {
		t.Errorf("16 items separate everything:\n%s", text)
	}
}

func TestCertificateOfABiasedObserver(t *testing.T) {
	book := record.NewMemory()
	test, err := scoring.StandardTest("A", 60)
	if err != nil {
		t.Fatal(err)
	}
	who, within := sit(t, book, "Simulated 01", observer.Observer{BiasL: 3, Noise: 0.3}, recordtest.DrawnForm(t, test, 1), 60)
	r, _ := certificate(t, book, who, within)
	result := reporttest.Section(t, r, "result")
	if got := reporttest.Cell(t, result, 0, "meaning").(report.Word); got.Key != "poor" {
		t.Errorf("class is %q", got.Key)
	}
	if got := reporttest.Cell(t, result, 2, "meaning"); got != report.Text("too light") {
		t.Errorf("the bias in value is %q", got)
	}
}

func TestCertificateOfABrokenOffTest(t *testing.T) {
	book := record.NewMemory()
	who, within := take(t, book, "Simulated 01", observer.Observer{}, 16, 5)
	_, text := certificate(t, book, who, within)
	if !strings.Contains(text, "1 part was begun and has not ended: nothing of it is told before its end") {
		t.Errorf("a broken-off test passes for a whole one:\n%s", text)
	}
	other, _ := take(t, book, "Simulated 02", observer.Observer{}, 16, 0)
	_, text = certificate(t, book, other, within)
	if !strings.Contains(text, "No answers yet.") || strings.Contains(text, "NaN") {
		t.Errorf("nothing answered:\n%s", text)
	}
	if _, err := tests.Certificate(context.Background(), book, who, "panel:x"); err == nil {
		t.Error("a panel gets a certificate")
	}
}

// The simulated observers of a certificate get less right the larger their errors, and a
// person with the same errors gets about as much; free parts count no right answers.
func TestCertificateLaysSimulatedEyesBeside(t *testing.T) {
	book := record.NewMemory()
	// An observer with this scatter along three axes has a median error of 1.8: the square
	// of its length is χ² with 3 degrees of freedom, whose median is 2.366.
	who, within := take(t, book, "Simulated 01", observer.Observer{Noise: 1.8 / math.Sqrt(2.366)}, 200, 200)
	r, _ := certificate(t, book, who, within)
	observers := reporttest.Section(t, r, "yardstick")
	last := 2.0
	for row := range observers.Rows {
		e := reporttest.Estimate(t, observers, row, "right")
		if e.N < 400 || e.Value >= last {
			t.Errorf("observer %d: %.2f right of %d, the one before %.2f", row+1, e.Value, e.N, last)
		}
		last = e.Value
	}
	if own := reporttest.Estimate(t, reporttest.Section(t, r, "result"), 0, "result"); math.Abs(own.Value-last) > 0.12 {
		t.Errorf("a person with errors of 1.8 gets %.2f right, the simulated observer %.2f", own.Value, last)
	}
}

// Every exercise that a form can be made of has its simulated observers.
func TestEveryFormHasItsSimulatedEyes(t *testing.T) {
	for _, kind := range exercises.Kinds() {
		if kind.Traits().AnswerDriven {
			continue // no form can have it
		}
		book := record.NewMemory()
		who, within := takeForm(t, book, "Simulated 01", observer.Observer{Noise: 0.6}, kind.ID(), 16, 16)
		r, _ := certificate(t, book, who, within)
		observers := reporttest.Section(t, r, "yardstick")
		finest, coarsest := reporttest.Estimate(t, observers, 0, "right"), reporttest.Estimate(t, observers, len(observers.Rows)-1, "right")
		if len(observers.Rows) != 3 || finest.N < 400 || finest.Lo <= coarsest.Hi {
			t.Errorf("%s: %.2f right of %d with small errors, %.2f with large ones", kind.ID(), finest.Value, finest.N, coarsest.Value)
		}
	}
}

// A certificate of try-ins alone tells the bias behind the directions.
func TestCertificateOfTryIns(t *testing.T) {
	book := record.NewMemory()
	who, within := takeForm(t, book, "One", observer.Observer{BiasL: -1, Noise: 0.3}, exercises.TryIn, 60, 60)
	r, _ := certificate(t, book, who, within)
	result := reporttest.Section(t, r, "result")
	for row, want := range []string{2: "too dark", 3: "no bias beyond chance", 4: "no bias beyond chance"} {
		if want == "" {
			continue
		}
		if got := reporttest.Cell(t, result, row, "meaning"); got != report.Cell(report.Text(want)) {
			t.Errorf("row %d: %v instead of %s", row, got, want)
		}
	}
}
