package scoring

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// TestPart is a number of items of one exercise in a proficiency test.
type TestPart struct {
	Kind  exercises.KindID
	Items int
	// Free asks for any tooth colour instead of tabs.
	Free  bool
	Sheet *tabs.Sheet
	// Right says what counts as right; see [OptionRight].
	Right string
}

// Items of a part of a test; house choices. Forty answers in two parts take some ten
// minutes. With sixteen a part the median follows the true error less well than it
// should (README.md of scoring/reports/tests).
const (
	UsualItems = 20
	leastItems = 4
	mostItems  = 200
)

var formName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_-]{0,29}$`)

// CheckFormName says what is wrong with the name of a form.
func CheckFormName(name string) error {
	if !formName.MatchString(name) {
		return fmt.Errorf("a form is named by up to 30 letters, digits, - and _, not %q", name)
	}
	return nil
}

// NewTest makes an open form of the proficiency test, whose name alone decides its
// items: whoever knew it could rehearse them. Such forms are not given any more; a
// form that is laid down is one with a drawn seed, see [Set.Drawn]. Nothing adapts,
// nothing is commented on before the end, the viewing conditions are fixed. Where a
// library is matched, targets are exactly its tabs, so that there is a right answer,
// except in free parts.
func NewTest(name string, parts ...TestPart) (Set, error) {
	s := Set{Ref: SetRef{Kind: TestSet, Name: name}, Again: true, Stated: true}
	if err := CheckFormName(name); err != nil {
		return s, err
	}
	if len(parts) == 0 {
		return s, fmt.Errorf("a form needs an exercise")
	}
	for i, p := range parts {
		if p.Items < leastItems || p.Items > mostItems {
			return s, fmt.Errorf("the number of items is %d, outside %d..%d", p.Items, leastItems, mostItems)
		}
		kind, err := exercises.ByID(p.Kind)
		if err != nil {
			return s, err
		}
		if kind.Traits().AnswerDriven {
			return s, fmt.Errorf("%s chooses its trials by the answers, so no two people would have the same test", kind.Title())
		}
		for _, earlier := range parts[:i] {
			if earlier.Kind == p.Kind && earlier.Free == p.Free {
				return s, fmt.Errorf("%s is named twice", p.Kind)
			}
		}
		setup := p.setup(name)
		setup.Version = kind.Version()
		if len(parts) > 1 {
			note(&setup, OptionPart, fmt.Sprintf("%d of %d", i+1, len(parts)))
			if kinds := kindsOf(parts); kinds != "" {
				note(&setup, OptionExercises, kinds)
			}
		}
		s.Parts = append(s.Parts, setup)
	}
	return s, nil
}

// Drawn gives a form items of its own: chance decides them, and no drill of practice
// can ask them. Forms of the same parts are parallel.
func (s Set) Drawn(chance io.Reader) (Set, error) {
	s.Parts = slices.Clone(s.Parts)
	for i := range s.Parts {
		var b [8]byte
		if _, err := io.ReadFull(chance, b[:]); err != nil {
			return s, fmt.Errorf("no chance to draw a form by: %w", err)
		}
		s.Parts[i].Seed, s.Parts[i].Stream = binary.BigEndian.Uint64(b[:])|1, exercises.TestStream
	}
	s.Again, s.Stated = false, false
	return s, nil
}

// NamedTest is a form of the named exercises as it is laid down now: where a shade is
// taken from the library, right is an acceptable match, as in the usual form.
func NamedTest(name string, kinds []exercises.KindID, items int, sheet *tabs.Sheet) (Set, error) {
	var parts []TestPart
	for _, id := range kinds {
		part := TestPart{Kind: id, Items: items, Sheet: sheet}
		if RulesOf(id).Shade {
			part.Right = RightAcceptable
		}
		parts = append(parts, part)
	}
	return NewTest(name, parts...)
}

// NewTestOf makes an open form of the named exercises, with the same number of items
// each, as they were when right was the nearest tab.
func NewTestOf(name string, kinds []exercises.KindID, items int, sheet *tabs.Sheet) (Set, error) {
	var parts []TestPart
	for _, id := range kinds {
		parts = append(parts, TestPart{Kind: id, Items: items, Sheet: sheet})
	}
	return NewTest(name, parts...)
}

// StandardTest is the usual form, of two parts with the library "natural", in both of
// which an answer is right that is an acceptable match: first tabs for targets, for
// which there is a perfect answer, then any tooth colour, for which there is always an
// acceptable one. The second also gives the median ΔE00 and the bias.
//
// Until this was so its first part asked for the nearest tab of "starter", whose tabs
// lie so far apart that half of what is acceptable can be missed and the tab still be
// the nearest: of observers with a median error of 1.8 it called 76 % of the answers
// right. What the usual form measures: README.md of scoring/reports/tests.
func StandardTest(name string, items int) (Set, error) {
	library, err := tabs.Load("natural")
	if err != nil {
		return Set{}, err
	}
	part := TestPart{Kind: exercises.ValueFirst, Items: items, Sheet: tabs.NewSheet(library, nil), Right: RightAcceptable}
	free := part
	free.Free = true
	return NewTest(name, part, free)
}

// earlierTest is the usual form as open forms had it: nearest tabs of a coarse library,
// then any tooth colour, where nothing was right or wrong.
func earlierTest(name string, items int) (Set, error) {
	var sheets [2]*tabs.Sheet
	for i, library := range []string{"starter", "natural"} {
		l, err := tabs.Load(library)
		if err != nil {
			return Set{}, err
		}
		sheets[i] = tabs.NewSheet(l, nil)
	}
	return NewTest(name, TestPart{Kind: exercises.ValueFirst, Items: items, Sheet: sheets[0]},
		TestPart{Kind: exercises.ValueFirst, Items: items, Free: true, Sheet: sheets[1]})
}

// TestOf makes the open form again of which a drill is a part, whose sheet it was asked
// with; false where the drill does not say enough for that.
func TestOf(name string, s exercises.Setup, sheet *tabs.Sheet) (Set, bool) {
	var test Set
	var err error
	kinds, named := s.Options[OptionExercises]
	if _, of := PartOf(s); !named && of > 1 {
		test, err = earlierTest(name, s.Items())
	} else {
		ids := []exercises.KindID{s.Kind}
		if named {
			ids = nil
			for _, id := range strings.Split(kinds, ",") {
				ids = append(ids, exercises.KindID(id))
			}
		}
		test, err = NewTestOf(name, ids, s.Items(), sheet)
	}
	if err != nil {
		return test, false
	}
	_, ok := test.Part(s)
	return test, ok
}

func (p TestPart) setup(form string) exercises.Setup {
	s := exercises.Setup{Kind: p.Kind, Count: p.Items, Seed: p.seed(form), Targets: exercises.TabTargets,
		Viewing: exercises.DefaultViewing(), Silent: true, Sheet: p.Sheet}
	traits := exercises.TraitsOf(p.Kind)
	if traits.Unhurried || traits.ByHand {
		s.Viewing.Limit = 0
	}
	if traits.ByHand {
		s.Viewing.Rest = 0
	}
	if p.Sheet != nil {
		s.SheetID = p.Sheet.Fingerprint()
	}
	if p.Free {
		s.Targets = exercises.NaturalTargets
	}
	if p.Right != "" {
		note(&s, OptionRight, p.Right)
	}
	if each := traits.ItemsPerTrial; each != "" { // all items in one trial
		s.Count = 1
		note(&s, each, fmt.Sprint(p.Items))
	}
	return s
}

func (p TestPart) seed(form string) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "exam %s %s ", form, p.Kind)
	if p.Free {
		h.Write([]byte(" free"))
	}
	return h.Sum64() | 1 // a seed of 0 means "none given" elsewhere
}

func note(s *exercises.Setup, option, text string) {
	if s.Options == nil {
		s.Options = map[string]string{}
	}
	s.Options[option] = text
}

// OptionPart says which part of a form of several a sitting is: "1 of 2".
const OptionPart = "part"

// OptionExercises names all exercises of a form that was made of named ones, in
// their order and with commas between: "value-first,try-in". Whoever finds one part
// broken off then knows which others follow.
const OptionExercises = "exercises"

// OptionRight says which answers of a part are right, where that is not the nearest tab
// or every judgement asked for. It is part of what a form asks, so that a form keeps
// the meaning that it was laid down with.
const OptionRight = "right"

// RightAcceptable counts an answer as right that lies within acceptability of its
// target: an acceptable match.
const RightAcceptable = "acceptable"

// kindsOf is what OptionExercises says; empty where the exercises alone do not make
// the form, as with the usual one.
func kindsOf(parts []TestPart) string {
	var list []string
	for _, p := range parts {
		if p.Free {
			return ""
		}
		list = append(list, string(p.Kind))
	}
	return strings.Join(list, ",")
}

// PartOf reads which part of a test a drill is and how many there are; 1 of 1 where
// it does not say.
func PartOf(s exercises.Setup) (part, of int) {
	said := s.Options[OptionPart]
	if said == "" { // as nearly everywhere
		return 1, 1
	}
	if _, err := fmt.Sscanf(said, "%d of %d", &part, &of); err != nil {
		return 1, 1
	}
	return part, of
}

// Free reports whether a sitting is a part of a test whose targets need not be tabs.
func Free(s Sitting) bool {
	return s.Set().Kind == TestSet && s.Setup.Targets == exercises.NaturalTargets
}

// Fingerprint tells open forms apart that bear one name but ask something else: other
// exercises, numbers, library or viewing conditions.
func Fingerprint(setups []exercises.Setup) string {
	h := fnv.New32a()
	for _, s := range setups {
		s.Version = 0 // fingerprints were printed before it was known in advance
		s.Options = maps.Clone(s.Options)
		delete(s.Options, OptionExercises) // says nothing that the parts do not say
		text, err := json.Marshal(s)
		if err != nil {
			panic("test: " + err.Error()) // plain numbers and words
		}
		h.Write(text)
	}
	return fmt.Sprintf("%08x", h.Sum32())
}
