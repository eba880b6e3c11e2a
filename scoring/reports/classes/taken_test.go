package classes

import (
	"context"
	"math/rand/v2"
	"strings"
	"testing"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/report/reporttest"
)

// The column of the test holds what was taken and nothing else: an answer changed by
// hand has no level, a sitting under the form's name with a setup of its own neither, and
// what cannot be compared says so.
func TestTheTestsColumnIsVerified(t *testing.T) {
	book, class := classOf(t, 20, pupil{name: "Ada", observer: observer.Observer{Noise: 2}, form: true}, pupil{name: "Bo", observer: observer.Observer{Noise: 2}, form: true})
	c := reviewed(t, recordtest.Altered{Memory: book.(*record.Memory), Of: class.People[0].ID}, class, record.Filter{})
	if r := rowNamed(t, c, "Ada"); r.ExamLevel.Key != "altered" || r.ExamShare.Defined() || r.ExamShort() != "not as it was taken" {
		t.Errorf("an answer changed by hand: %+v, %v", r.ExamLevel, r.ExamShare)
	}
	if r := rowNamed(t, c, "Bo"); r.ExamLevel.Key == "altered" || !r.ExamShare.Defined() || strings.Contains(r.ExamShort(), "not compared") {
		t.Errorf("Bo, whose answers are as they were given: %+v", r.ExamLevel)
	}
	// A form that this book does not have.
	form := recordtest.Form(t, "foreign", 4, 8, reporttest.Sheet(t, "natural"), exercises.ValueFirst)
	other := record.NewMemory()
	if _, err := record.LayDown(t.Context(), other, form); err != nil {
		t.Fatal(err)
	}
	who, err := other.AddLearner(t.Context(), scoring.Learner{Name: "Cy", At: classStart})
	if err != nil {
		t.Fatal(err)
	}
	sit(t, other, who, classStart, form.Parts[0], form.Set().Ref.String(), observer.Observer{}, rand.New(rand.NewPCG(1, 1)))
	there := reviewed(t, other, Scope{People: []scoring.Learner{who}}, record.Filter{})
	if r := rowNamed(t, there, "Cy"); r.ExamLevel.Shown != "superior" {
		t.Errorf("where the form is: %+v", r.ExamLevel)
	}
	c = reviewed(t, noForms{other}, Scope{People: []scoring.Learner{who}}, record.Filter{})
	if r := rowNamed(t, c, "Cy"); !strings.HasPrefix(r.ExamShort(), "superior, items not compared") || !strings.Contains(strings.Join(r.ExamShare.Warnings, " "), "its form is not in this book") {
		t.Errorf("where it is not: %+v %v", r.ExamLevel, r.ExamShare.Warnings)
	}
}

// noForms is a book that has lost its forms.
type noForms struct{ *record.Memory }

func (noForms) Forms(context.Context) ([]record.Form, error) { return nil, nil }
