// Package exam is the proficiency test: forms that ask everybody the same, and
// what a result can and cannot claim.
package exam

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"maps"
	"regexp"
	"strings"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// Form is one edition of the test. Its name alone decides its items: two forms
// are parallel, drawn by the same rules with another seed.
type Form struct {
	Name  string
	Parts []Part
}

// Part is a number of items of one exercise.
type Part struct {
	Kind  exercises.KindID
	Task  string
	Items int
	// Free asks for any tooth colour instead of tabs.
	Free bool
	// Sheet is the part's own library; nil takes the one that the form is taken with.
	Sheet *tabs.Sheet
}

// Items of a form; house choices. Sixteen is what two sets of tabs have room for
// on a table; more make the interval of the result narrower.
const (
	UsualItems = 16
	LeastItems = 4
	MostItems  = 200
)

var formName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_-]{0,29}$`)

// NewForm makes a form of the named exercises with the same number of items each.
func NewForm(name string, kinds []exercises.KindID, items int) (Form, error) {
	f := Form{Name: name}
	if !formName.MatchString(name) {
		return f, fmt.Errorf("a form is named by up to 30 letters, digits, - and _, not %q", name)
	}
	if items < LeastItems || items > MostItems {
		return f, fmt.Errorf("the number of items is %d, outside %d..%d", items, LeastItems, MostItems)
	}
	if len(kinds) == 0 {
		return f, fmt.Errorf("a form needs an exercise")
	}
	for i, id := range kinds {
		kind, err := exercises.ByID(id)
		if err != nil {
			return f, err
		}
		if kind.Traits().AnswerDriven {
			return f, fmt.Errorf("%s chooses its trials by the answers, so no two people would have the same test", kind.Title())
		}
		for _, earlier := range kinds[:i] {
			if earlier == id {
				return f, fmt.Errorf("%s is named twice", id)
			}
		}
		f.Parts = append(f.Parts, Part{Kind: id, Items: items})
	}
	return f, nil
}

// Setups are the drills of the form, the same for everybody: nothing adapts,
// nothing is commented on before the end, the viewing conditions are fixed.
// Where a library is matched, targets are exactly its tabs, so that there is a
// right answer, except in free parts.
func (f Form) Setups(sheet *tabs.Sheet) []exercises.Setup {
	var list []exercises.Setup
	for i, p := range f.Parts {
		sheet := sheet
		if p.Sheet != nil {
			sheet = p.Sheet
		}
		s := exercises.Setup{Kind: p.Kind, Task: p.Task, Count: p.Items, Seed: f.seed(p), Targets: exercises.TabTargets,
			Viewing: exercises.DefaultViewing(), Silent: true, Sheet: sheet}
		traits := exercises.TraitsOf(p.Kind)
		if traits.Unhurried || traits.ByHand {
			s.Viewing.Limit = 0
		}
		if traits.ByHand {
			s.Viewing.Rest = 0
		}
		if sheet != nil {
			s.SheetID = sheet.Fingerprint()
		}
		if p.Free {
			s.Targets = exercises.NaturalTargets
		}
		if len(f.Parts) > 1 {
			s.Options = map[string]string{OptionPart: fmt.Sprintf("%d of %d", i+1, len(f.Parts))}
			if kinds := f.kinds(); kinds != "" {
				s.Options[OptionExercises] = kinds
			}
		}
		if each := traits.ItemsPerTrial; each != "" { // all items in one trial
			s.Count = 1
			if s.Options == nil {
				s.Options = map[string]string{}
			}
			s.Options[each] = fmt.Sprint(p.Items)
		}
		list = append(list, s)
	}
	return list
}

func (f Form) seed(p Part) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "exam %s %s %s", f.Name, p.Kind, p.Task)
	if p.Free {
		h.Write([]byte(" free"))
	}
	return h.Sum64() | 1 // a seed of 0 means "none given" elsewhere
}

// Fingerprint tells forms apart that bear one name but ask something else: other
// exercises, numbers, library or viewing conditions.
func Fingerprint(setups []exercises.Setup) string {
	h := fnv.New32a()
	for _, s := range setups {
		s.Version = 0 // filled in when the drill begins
		s.Options = maps.Clone(s.Options)
		delete(s.Options, OptionExercises) // says nothing that the parts do not say
		text, err := json.Marshal(s)
		if err != nil {
			panic("exam: " + err.Error()) // plain numbers and words
		}
		h.Write(text)
	}
	return fmt.Sprintf("%08x", h.Sum32())
}

// Within names the nth time that a person takes a form, for the sittings of it.
func (f Form) Within(take int) string { return fmt.Sprintf("%s%s:%d", prefix, f.Name, take) }

const prefix = "exam:"

// ParseWithin takes the name of a form and the number of the take back out.
func ParseWithin(within string) (form string, take int, ok bool) {
	rest, ok := strings.CutPrefix(within, prefix)
	if !ok {
		return "", 0, false
	}
	form, number, ok := strings.Cut(rest, ":")
	if _, err := fmt.Sscanf(number, "%d", &take); !ok || err != nil || take < 1 {
		return "", 0, false
	}
	return form, take, true
}
