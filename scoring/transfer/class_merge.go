package transfer

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// ImportedClass says what an import did with a class.
type ImportedClass struct {
	Name string // in this book
	New  bool
	// Called is its name in the file, where that is another.
	Called string

	Members  int      // lines of the file
	Enrolled int      // came onto the roster
	Off      []string // went off it, since the file has them going later than this book coming
	Kept     []string // in the class there, but gone here later: still off

	Assignments    int // lines of the file
	NewAssignments int
	NewSittings    int // left without an answer
	NewForms       int // of the test
	// SameName lists new forms, with their fingerprints, that bear the name of another one here.
	SameName []string
	// Numbers lists assignments that have another number here.
	Numbers []Renumbered
	// Ruled is what was decided elsewhere and stands here now, RuledNot what was decided
	// elsewhere and gives way to what was decided here later.
	Ruled, RuledNot []Ruled
}

// Renumbered is an assignment whose number was another one's.
type Renumbered struct{ There, Here int }

// Changed reports whether the import changed anything of the class.
func (c ImportedClass) Changed() bool {
	return c.New || c.Enrolled > 0 || len(c.Off) > 0 || c.NewAssignments > 0 || c.NewSittings > 0 || c.NewForms > 0 || len(c.Ruled) > 0
}

// classMerging is a class that the file tells of.
type classMerging struct {
	done    *ImportedClass
	line    int // where it was told of
	told    int // lines that belong to it, as that line says
	seen    int
	members map[scoring.LearnerID]scoring.Membership // as the book has them
	spoilt  bool                                     // its own line is bad: the others are not blamed for it
}

// record puts a line of a class into the book.
func (m *merging) record(ctx context.Context, line int, r *classRecord) error {
	if f := r.format; f != nil {
		if f.Format > newestFormat {
			return &bookError{fault.New(fmt.Sprintf("line %d: written by a newer shadedrill (format %d, this one reads up to %d)", line, f.Format, newestFormat),
				"update shadedrill here; nothing was imported")}
		}
		if f.Format < 1 {
			return fmt.Errorf("format is %d, which no shadedrill wrote", f.Format)
		}
		m.formatTold = true
		return nil
	}
	if !m.formatTold && !m.unclear {
		return errors.New("no line before it says which format it is in: keep the first line of the export")
	}
	if r.class != nil {
		return m.class(ctx, line, *r.class)
	}
	var id scoring.ClassID
	switch {
	case r.member != nil:
		id = r.member.Class
	case r.assignment != nil:
		id = r.assignment.Class
	case r.form != nil:
		id = r.form.Class
	default:
		id = r.sitting.Class
	}
	c := m.classes[id]
	if c == nil && m.unclear {
		return nil
	} else if c == nil {
		return errors.New("no line before it tells of its class: keep the lines in the order of the export")
	}
	c.seen++
	if c.spoilt {
		return nil
	}
	switch {
	case r.member != nil:
		return m.member(ctx, c, *r.member)
	case r.assignment != nil:
		return m.assignment(ctx, c, *r.assignment)
	case r.form != nil:
		return m.form(ctx, c, *r.form)
	}
	return m.left(ctx, c, *r.sitting)
}

// salvageRecord enters what the lines after a bad one need. All of it is rolled
// back.
func (m *merging) salvageRecord(ctx context.Context, r *classRecord) {
	switch {
	case r.format != nil:
		m.formatTold = true
	case r.class != nil && r.class.Class == "":
		m.unclear = true
	case r.class != nil && m.classes[r.class.Class] == nil:
		m.classes[r.class.Class] = &classMerging{done: &ImportedClass{}, spoilt: true}
	case r.assignment != nil && r.assignment.Sheet != nil:
		_ = m.into.PutSheet(ctx, r.assignment.Sheet)
	case r.form != nil:
		for _, s := range r.form.Sheets {
			if s != nil {
				_ = m.into.PutSheet(ctx, s)
			}
		}
	case r.sitting != nil && r.sitting.Sheet != nil:
		_ = m.into.PutSheet(ctx, r.sitting.Sheet)
	}
}

// class enters a class under its identifier. One whose name another class has in
// this book gets a number: two of one name may be two groups of people.
func (m *merging) class(ctx context.Context, line int, l classLine) error {
	if l.Class == "" {
		return errors.New("the class has no identifier")
	}
	if err := m.notFuture("made", l.Made); err != nil {
		return err
	}
	if min(l.Members, l.Assignments, l.Sittings, l.Forms) < 0 {
		return errors.New("fewer than no lines belong to the class")
	}
	told, err := record.CheckClass(scoring.Class{ID: l.Class, Name: l.Name, At: l.Made})
	if err != nil {
		return err
	}
	if c := m.classes[l.Class]; c != nil { // files put one behind the other
		c.told += l.Members + l.Assignments + l.Sittings + l.Forms
		return nil
	}
	here, err := m.into.Classes(ctx)
	if err != nil {
		return broken(err)
	}
	c := &classMerging{done: &ImportedClass{}, line: line, told: l.Members + l.Assignments + l.Sittings + l.Forms, members: map[scoring.LearnerID]scoring.Membership{}}
	for _, have := range here {
		if have.ID == told.ID {
			c.done.Name = have.Name
		}
	}
	if c.done.Name == "" {
		c.done.New = true
		c.done.Name, err = m.unused(told.Name, func(name string) error {
			told.Name = name
			_, err := m.into.AddClass(ctx, told)
			return err
		})
		if err != nil {
			return err
		}
	}
	if name, _ := record.CleanName(l.Name); name != c.done.Name {
		c.done.Called = name
	}
	list, err := m.into.Memberships(ctx, told.ID)
	if err != nil {
		return broken(err)
	}
	for _, in := range list {
		c.members[in.Learner] = in
	}
	m.classes[told.ID] = c
	m.order = append(m.order, told.ID)
	return nil
}

// unused enters something under a name, or if that is another one's under the
// name with a number, and returns what it was.
func (m *merging) unused(wished string, enter func(name string) error) (string, error) {
	key := record.NameKey(wished)
	for name, n := wished, max(2, m.tried[key]); ; n++ {
		err := enter(name)
		if err == nil {
			m.tried[key] = n
			return name, nil
		}
		if !errors.Is(err, record.ErrTaken) || n > 10_000 {
			return "", err
		}
		name = record.Numbered(wished, n)
	}
}

// member enters what the file says of a person in a class: the later of what it
// and the book say stands.
func (m *merging) member(ctx context.Context, c *classMerging, l memberLine) error {
	in, err := record.CheckMembership(l.membership())
	if err != nil {
		return err
	}
	for what, t := range map[string]time.Time{"since": l.Since, "role_at": l.RoleAt, "entered": l.Entered} {
		if err := m.notFuture(what, t); err != nil {
			return err
		}
	}
	if in.Learner, err = m.resolve(ctx, l.LearnerID); err != nil || in.Learner == gone {
		return err
	}
	c.done.Members++
	have, err := m.into.Learner(ctx, in.Learner)
	unknown := errors.Is(err, record.ErrNotFound)
	switch {
	case err != nil && !unknown:
		return broken(err)
	case unknown && in.Off:
		return nil // somebody whom this book never knew
	}
	if !in.Off {
		p, err := record.CheckLearner(l.person())
		if err != nil {
			return err
		}
		if unknown {
			if have, err = m.learner(ctx, p); err != nil {
				return err
			}
		} else if err := m.knownPerson(ctx, have, p); err != nil {
			return err
		}
	}
	before, known := c.members[in.Learner]
	wasOn := known && !before.Off
	if known && !record.Supersedes(in, before) {
		if !in.Off && !wasOn {
			c.done.Kept = append(c.done.Kept, have.Name)
		}
		return nil
	}
	if err := m.into.PutMembership(ctx, l.Class, in); err != nil {
		return err
	}
	c.members[in.Learner] = in
	switch {
	case wasOn && in.Off:
		c.done.Off = append(c.done.Off, have.Name)
	case !wasOn && !in.Off:
		c.done.Enrolled++
	}
	return nil
}

// knownPerson compares a person of the book with what the file says of them. The
// name in this book stays; of the role, what was set later stands.
func (m *merging) knownPerson(ctx context.Context, have, told scoring.Learner) error {
	if told.Name != have.Name && !m.named[have.ID] && told.ID == have.ID && !have.Pseudonym {
		m.named[have.ID] = true
		m.done.Named = append(m.done.Named, Named{Here: have.Name, There: told.Name})
	}
	raises := told.Role.Above(have.Role) && !told.RoleAt.Before(have.RoleAt)
	switch {
	case raises && !m.rules.Roles:
		m.done.RolesNot = append(m.done.RolesNot, fmt.Sprintf("%s, %s", have.Name, told.Role))
	case raises || told.RoleAt.After(have.RoleAt):
		if told.Role != have.Role {
			m.done.Roles = append(m.done.Roles, fmt.Sprintf("%s, %s", have.Name, told.Role))
		}
		return m.into.SetRole(ctx, have.ID, told.Role, told.RoleAt)
	case told.Role != have.Role:
		m.done.RolesKept = append(m.done.RolesKept, fmt.Sprintf("%s, %s", have.Name, have.Role))
	}
	return nil
}

// assignment enters an assignment. What was asked never changes; what was decided about
// it since comes in beside what was decided here.
func (m *merging) assignment(ctx context.Context, c *classMerging, l assignmentLine) error {
	if l.Assignment == "" {
		return errors.New("the assignment has no identifier")
	}
	told, err := record.CheckAssignment(l.assignment())
	if err != nil {
		return err
	}
	if s := l.Sheet; s != nil {
		if s.Fingerprint() != told.Setup.SheetID {
			return errors.New("sheet_data is another sheet than setup names")
		}
		if err := m.into.PutSheet(ctx, s); err != nil {
			return fmt.Errorf("sheet_data: %w", err)
		}
	}
	if m.given == nil {
		list, err := m.into.Assignments(ctx, "")
		if err != nil {
			return broken(err)
		}
		m.given = map[scoring.AssignmentID]scoring.Assignment{}
		for _, a := range list {
			m.given[a.ID] = a
		}
	}
	c.done.Assignments++
	here, known := m.given[told.ID]
	if !known {
		if here, err = m.into.AddAssignment(ctx, told); errors.Is(err, record.ErrNotFound) {
			return errors.New("its sheet of tabs is neither in the book nor in a line before")
		} else if err != nil {
			return err
		}
		m.given[told.ID] = here
		c.done.NewAssignments++
	}
	if number := told.Number; number != here.Number {
		c.done.Numbers = append(c.done.Numbers, Renumbered{There: number, Here: here.Number})
		told.Number = here.Number
	}
	asked := here
	asked.Rulings = nil
	if !reflect.DeepEqual(told, asked) {
		return errors.New("the book holds another assignment under the same identifier")
	}
	if len(l.Rulings) == 0 {
		return nil
	}
	return m.rulings(ctx, c, here, l.Rulings)
}

// form enters a form of the test. One of the same name from elsewhere stands beside
// it: the fingerprint tells them apart, and the user is told.
func (m *merging) form(ctx context.Context, c *classMerging, l formOfTestLine) error {
	for _, s := range l.Sheets {
		if s == nil {
			return errors.New("sheets_data holds no sheet")
		}
		if err := m.into.PutSheet(ctx, s); err != nil {
			return fmt.Errorf("sheets_data: %w", err)
		}
	}
	f, err := record.CheckForm(l.form())
	if err != nil {
		return err
	}
	if f.Print() != l.Print {
		return errors.New("the form is not the one whose fingerprint it bears")
	}
	here, err := m.into.Forms(ctx)
	if err != nil {
		return broken(err)
	}
	switch _, err := m.into.AddForm(ctx, f); {
	case errors.Is(err, record.ErrTaken):
		return nil
	case errors.Is(err, record.ErrNotFound):
		return errors.New("its sheet of tabs is neither in the book nor in a line before")
	case err != nil:
		return err
	}
	c.done.NewForms++
	for _, other := range here {
		if record.NameKey(other.Name) == record.NameKey(f.Name) {
			c.done.SameName = append(c.done.SameName, f.Name+"."+l.Print)
			break
		}
	}
	return nil
}

// left enters a drill that was left without an answer.
func (m *merging) left(ctx context.Context, c *classMerging, l sittingLine) error {
	if !l.Data.Left || l.Data.Ended.IsZero() {
		return errors.New("the sitting has not ended: it stays where it was begun")
	}
	if l.Sheet != nil {
		if err := m.into.PutSheet(ctx, l.Sheet); err != nil {
			return fmt.Errorf("sheet_data: %w", err)
		}
	}
	if l.Data.Chain != nil {
		if _, err := m.takeUp(scoring.Attempt{Sitting: l.Sitting, Learner: l.LearnerID}, &l.Data); err != nil {
			return err
		}
	}
	here, err := m.resolve(ctx, l.LearnerID)
	if err != nil || here == gone {
		return err
	}
	have, err := m.into.Sitting(ctx, l.Sitting)
	switch {
	case errors.Is(err, record.ErrNotFound):
		c.done.NewSittings++
	case err != nil:
		return broken(err)
	case have.Learner == here:
		return nil // what became of it here stands
	}
	return m.sitting(ctx, whole{attempt: scoring.Attempt{Sitting: l.Sitting, Learner: l.LearnerID}, sitting: &l.Data})
}

// endClasses counts what the file holds of its classes, which is asked only of a
// file without a bad line.
func (m *merging) endClasses(faults *fault.List) {
	for _, id := range m.order {
		c := m.classes[id]
		m.done.Classes = append(m.done.Classes, *c.done)
		if c.seen != c.told {
			faults.Add(fmt.Errorf("line %d: %d lines belong to the class %s, and %d are there: the file was cut off or edited", c.line, c.told, c.done.Name, c.seen))
		}
	}
}
