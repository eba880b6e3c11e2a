package exercises

import (
	"fmt"
	"hash/fnv"

	"shadedrill/colour/tabs"
)

// ExamPart is so many items of one kind in a proficiency test. Count is rounded up
// to whole scenes, such as the three thirds of a tooth.
type ExamPart struct {
	Kind      KindID `json:"kind"`
	Task      string `json:"task,omitempty"`
	Attribute string `json:"attribute,omitempty"`
	Count     int    `json:"count"`
}

// UsualExam is the test when nobody says otherwise: value first above all, and
// three teeth by their thirds; house choice.
var UsualExam = []ExamPart{{Kind: ValueFirst, Count: 16}, {Kind: Thirds, Count: 9}}

// MostForms is how many forms there are, numbered from 1.
const MostForms = 1_000_000

// ExamForm makes a form of a proficiency test: a setup for each part, in their
// order. Forms are parallel by chance: all draw their items from the same colours
// by the same rules, with a seed that depends on nothing but the form's number
// and the part, so that everybody who sits a form sees the same bytes. Nothing
// adapts, no answer is told before the end, and everybody looks under the same
// conditions: the default ones, in daylight.
//
// Two forms need not be equally hard, as two samples need not be equal; the
// intervals of the result allow for that.
func ExamForm(form int, parts []ExamPart, sheet *tabs.Sheet) ([]Setup, error) {
	if form < 1 || form > MostForms {
		return nil, unusable(fmt.Sprintf("forms are numbered 1 to %d", MostForms), "there is no form %d", form)
	}
	if len(parts) == 0 {
		return nil, unusable("name at least one exercise with its number of items", "an examination without items")
	}
	var list []Setup
	for i, p := range parts {
		kind, err := ByID(p.Kind)
		if err != nil {
			return nil, unusable("see the list of exercises", "no exercise %q", shorten(string(p.Kind)))
		}
		if a, ok := kind.(AnswerDriven); ok && a.AnswerDriven() {
			return nil, unusable("take an exercise whose items are the same for everybody", "%s chooses its items by the answers: it cannot be part of an examination", kind.Title())
		}
		s := Setup{
			Kind: p.Kind, Version: kind.Version(), Task: p.Task, Attribute: p.Attribute, Count: p.Count,
			Targets: NaturalTargets, Seed: formSeed(form, i, p), Silent: true, Viewing: DefaultViewing(), Sheet: sheet,
		}
		if sheet != nil {
			s.SheetID = sheet.Fingerprint()
		}
		run, err := NewRun(s)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", kind.Title(), err)
		}
		s.Count = run.Planned()
		list = append(list, s)
	}
	return list, nil
}

// formSeed spreads form and part over all seeds; a part keeps its items when
// others are added behind it.
func formSeed(form, part int, p ExamPart) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "examination form %d part %d %s %s %s", form, part, p.Kind, p.Task, p.Attribute)
	return h.Sum64()
}
