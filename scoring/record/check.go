package record

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Limits of what a book takes, house choices: far above what any exercise
// writes, so that a damaged or hostile import cannot fill a disk or a screen.
const (
	// MostExperience is how many earlier outcomes a setup may carry. Begin keeps
	// the latest.
	MostExperience = 200
	longestText    = 200
	// longestKey has room for where each of twice 60 tabs lies, the most that a bench has.
	longestKey  = 2000
	mostPatches = 1000
	mostOrdinal = 1_000_000
)

// moment brings a time into the stored form: UTC, whole milliseconds, no
// monotonic part. The zero time stays zero.
func moment(t time.Time) time.Time {
	if t.IsZero() {
		return time.Time{}
	}
	return time.UnixMilli(t.UnixMilli()).UTC()
}

// CheckMoment refuses times that no clock shows.
func CheckMoment(what string, t time.Time) error {
	if t.IsZero() {
		return fmt.Errorf("%s has no time", what)
	}
	if y := t.UTC().Year(); y < 1970 || y > 9999 {
		return fmt.Errorf("%s has the impossible year %d", what, y)
	}
	return nil
}

// checkID accepts identifiers that are safe in any text: letters, digits and
// "-_.:", at most 64.
func checkID(what, id string) error {
	if id == "" {
		return fmt.Errorf("%s has no identifier", what)
	}
	if len(id) > 64 || strings.ContainsFunc(id, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_.:", r))
	}) {
		return fmt.Errorf("%s has an identifier that no book gives out", what)
	}
	return nil
}

// checkText refuses text that would act on a terminal or hide in a table.
func checkText(what string, texts ...string) error { return checkTexts(what, longestText, texts) }

func checkTexts(what string, longest int, texts []string) error {
	for _, s := range texts {
		if plain(s, longest) {
			continue
		}
		switch {
		case !utf8.ValidString(s):
			return fmt.Errorf("%s holds text that is not UTF-8", what)
		case utf8.RuneCountInString(s) > longest:
			return fmt.Errorf("%s holds a text longer than %d characters", what, longest)
		case strings.ContainsFunc(s, func(r rune) bool { return unicode.IsControl(r) || unseen(r) && !joiner(r) }):
			return fmt.Errorf("%s holds the unprintable text %q", what, s)
		}
	}
	return nil
}

// plain reports short printable ASCII, which is nearly every text there is.
func plain(s string, longest int) bool {
	if len(s) > longest {
		return false
	}
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return false
		}
	}
	return true
}

func checkNumber(what string, v float64) error {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Errorf("%s holds a number that is none", what)
	}
	return nil
}

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// CheckLearner brings a person into the form in which a book keeps them, or
// says what is wrong. An empty ID is filled in from the time of entry.
func CheckLearner(l scoring.Learner) (scoring.Learner, error) {
	if err := CheckMoment("a learner", l.At); err != nil {
		return l, err
	}
	if l.RoleAt.IsZero() {
		l.RoleAt = l.At
	}
	if err := CheckMoment("the role of a learner", l.RoleAt); err != nil {
		return l, err
	}
	l.At, l.RoleAt = moment(l.At), moment(l.RoleAt)
	if l.ID == "" {
		l.ID = NewLearnerID(l.At)
	}
	if err := checkID("a learner", string(l.ID)); err != nil {
		return l, err
	}
	role, err := CheckRole(l.Role)
	if err != nil {
		return l, err
	}
	l.Role = role
	if l.Number, err = CheckNumber(l.Number); err != nil {
		return l, err
	}
	if l.Email, err = CheckEmail(l.Email); err != nil {
		return l, err
	}
	l.Name, err = CleanName(l.Name)
	return l, err
}

// CheckRole accepts the known roles; none is a learner.
func CheckRole(r scoring.Role) (scoring.Role, error) {
	switch r {
	case "":
		return scoring.RoleLearner, nil
	case scoring.RoleLearner, scoring.RoleLead, scoring.RoleInstructor:
		return r, nil
	}
	return r, fault.New(fmt.Sprintf("unknown role %q", string(r)), "roles are learner, lead and instructor")
}

// CheckSitting brings a sitting into the form in which a book keeps it: the
// sheet itself is left out, its fingerprint stands for it.
func CheckSitting(s scoring.Sitting) (scoring.Sitting, error) {
	const what = "a sitting"
	var err error
	if s.Setup, err = checkSetup(what, s.Setup); err != nil {
		return s, err
	}
	if s.Setup.Stream == exercises.TestStream {
		s.Setup.Seed = 0 // the form alone keeps it
	}
	d := s.Display
	err = firstError(
		checkID(what, string(s.ID)), checkID(what+"'s learner", string(s.Learner)), CheckMoment(what, s.Started),
		checkText(what, s.Within, d.SmallStep, d.Ramp, d.Gamma, d.Terminal, d.NightTint))
	if err == nil && s.BegunAs != "" {
		err = checkID(what+"'s earlier person", string(s.BegunAs))
	}
	if err == nil && !s.Ended.IsZero() {
		err = CheckMoment(what, s.Ended)
	}
	s.Started, s.Ended, s.Display.At = moment(s.Started), moment(s.Ended), moment(s.Display.At)
	if s.Ended.IsZero() {
		s.Left = false
	}
	if err == nil {
		s.Origin, err = checkOrigin(s.Origin)
	}
	return s, err
}

// checkOrigin takes an origin that is not filled in yet, see [Here].
func checkOrigin(o scoring.Origin) (scoring.Origin, error) {
	switch o.Road {
	case "", scoring.RoadHere, scoring.RoadServer, scoring.RoadUnknown:
		if !o.At.IsZero() {
			return o, fmt.Errorf("a sitting that was not imported says when it was")
		}
	case scoring.RoadImported:
		if err := CheckMoment("the import of a sitting", o.At); err != nil {
			return o, err
		}
	default:
		return o, fmt.Errorf("a sitting came by the unknown road %q", string(o.Road))
	}
	o.At = moment(o.At)
	if o.Book == "" {
		return o, nil
	}
	return o, checkID("the book of a sitting", o.Book)
}

// Here fills in the origin of a sitting that is started without one: it is taken
// in this book. Whatever a simulated person does is simulated, and the same in every
// book: it names none.
func Here(o scoring.Origin, book string, simulated bool) scoring.Origin {
	if o.Road == "" {
		if o.Road = scoring.RoadHere; !simulated {
			o.Book = book
		}
	}
	o.Simulated = o.Simulated || simulated
	return o
}

// checkSetup puts the sheet's fingerprint in the place of the sheet.
func checkSetup(what string, u exercises.Setup) (exercises.Setup, error) {
	if u.Sheet != nil {
		u.SheetID, u.Sheet = u.Sheet.Fingerprint(), nil
	}
	if n := len(u.Experience); n > MostExperience {
		return u, fmt.Errorf("%s carries %d earlier outcomes, more than %d", what, n, MostExperience)
	} else if n == 0 {
		u.Experience = nil
	}
	for _, o := range u.Experience {
		d := o.Difference
		if err := checkNumber(what, d.E+d.L+d.C+d.H+d.Rotation); err != nil {
			return u, err
		}
	}
	if len(u.Again) > exercises.MostAgain {
		return u, fmt.Errorf("%s asks %d trials again, more than %d", what, len(u.Again), exercises.MostAgain)
	}
	for _, t := range u.Again {
		if err := checkTrial(what, t); err != nil {
			return u, err
		}
	}
	if err := checkNumber(what, u.Spread); err != nil {
		return u, err
	}
	if len(u.Options) == 0 {
		u.Options = nil
	}
	for k, v := range u.Options {
		if err := checkText(what, k, v); err != nil {
			return u, err
		}
	}
	err := checkText(what, string(u.Kind), string(u.Stream), string(u.Targets), u.Attribute, u.Task, u.SheetID, u.Viewing.Light)
	if err == nil && u.Kind == "" {
		err = fmt.Errorf("%s names no exercise", what)
	}
	return u, err
}

// checkTrial refuses a trial that no exercise asks.
func checkTrial(what string, t exercises.Trial) error {
	err := firstError(checkText(what, string(t.Kind), t.Part, t.Item), checkTexts(what, longestKey, []string{t.Key}), checkNumber(what, t.Level), checkNumber(what, t.Chance))
	switch {
	case err != nil:
		return err
	case t.Kind == "":
		return fmt.Errorf("%s names no exercise", what)
	case t.Ordinal < 0 || t.Ordinal > mostOrdinal:
		return fmt.Errorf("%s has the impossible ordinal %d", what, t.Ordinal)
	case len(t.Patches) > mostPatches:
		return fmt.Errorf("%s holds more than %d patches", what, mostPatches)
	}
	for _, p := range t.Patches {
		if err := checkText(what, p.Role); err != nil {
			return err
		}
	}
	return nil
}

// CheckAttempt brings an attempt into the form in which a book keeps it, or
// says what is wrong with it.
func CheckAttempt(a scoring.Attempt) (scoring.Attempt, error) {
	const what = "an attempt"
	g := a.Answer
	err := firstError(
		checkID(what+"'s sitting", string(a.Sitting)), checkID(what+"'s learner", string(a.Learner)), CheckMoment(what, a.At),
		checkText(what, g.Tab, g.Neighbour, g.Group, g.Choice))
	if err == nil {
		err = checkTrial(what, a.Trial)
	}
	switch {
	case err != nil:
		return a, err
	case a.Cut:
		return a, fmt.Errorf("%s was read without some of its parts", what)
	case len(g.Order) > mostPatches:
		return a, fmt.Errorf("%s holds more than %d patches", what, mostPatches)
	case g.First < 0 || g.Total < 0:
		return a, fmt.Errorf("%s took less than no time", what)
	}
	if g.Number != nil {
		if err := checkNumber(what, *g.Number); err != nil {
			return a, err
		}
	}
	a.At = moment(a.At)
	return cloneAttempt(a), nil
}

// cloneAttempt copies what an attempt points to, and makes empty lists nil.
func cloneAttempt(a scoring.Attempt) scoring.Attempt {
	a.Trial.Patches = append([]exercises.Patch(nil), a.Trial.Patches...)
	a.Answer.Order = append([]int(nil), a.Answer.Order...)
	a.Answer.Colour = clonePointer(a.Answer.Colour)
	a.Answer.Number = clonePointer(a.Answer.Number)
	a.Answer.Directions = clonePointer(a.Answer.Directions)
	return a
}

func clonePointer[T any](p *T) *T {
	if p == nil {
		return nil
	}
	v := *p
	return &v
}
