package record

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"shadedrill/scoring"
)

type memoryClass struct {
	scoring.Class
	roster map[scoring.LearnerID]scoring.Membership
}

func byName(list []scoring.Learner) {
	slices.SortFunc(list, func(a, b scoring.Learner) int {
		return cmp.Or(strings.Compare(NameKey(a.Name), NameKey(b.Name)), strings.Compare(a.Number, b.Number))
	})
}

func (m *Memory) SetRole(_ context.Context, id scoring.LearnerID, role scoring.Role, at time.Time) error {
	role, err := CheckRole(role)
	if err != nil {
		return err
	}
	if err := CheckMoment("the role of a learner", at); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	l, err := m.who(id)
	if err != nil {
		return err
	}
	l.Role, l.RoleAt = role, after(at, l.RoleAt)
	m.learners[l.ID] = l
	return nil
}

// after is a time, or if that is not later than another the moment after it.
func after(at, other time.Time) time.Time {
	if at = moment(at); at.After(other) {
		return at
	}
	return other.Add(time.Millisecond)
}

func (m *Memory) AddClass(_ context.Context, c scoring.Class) (scoring.Class, error) {
	c, err := CheckClass(c)
	if err != nil {
		return c, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, taken := m.classes[c.ID]; taken {
		return c, fmt.Errorf("class %s: %w", c.ID, ErrTaken)
	}
	if m.classNamed(c.Name) != nil {
		return c, ClassTaken(c.Name)
	}
	m.classes[c.ID] = &memoryClass{Class: c, roster: map[scoring.LearnerID]scoring.Membership{}}
	return c, nil
}

func (m *Memory) classNamed(name string) *memoryClass {
	key := TitleKey(name)
	for _, c := range m.classes {
		if TitleKey(c.Name) == key {
			return c
		}
	}
	return nil
}

func (m *Memory) Classes(context.Context) ([]scoring.Class, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []scoring.Class
	for _, c := range m.classes {
		list = append(list, c.Class)
	}
	slices.SortFunc(list, func(a, b scoring.Class) int { return strings.Compare(TitleKey(a.Name), TitleKey(b.Name)) })
	return list, nil
}

func (m *Memory) ClassByName(_ context.Context, name string) (scoring.Class, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	if c := m.classNamed(name); c != nil {
		return c.Class, nil
	}
	return scoring.Class{}, NoClass(fmt.Sprintf("%q", name))
}

func (m *Memory) RemoveClass(_ context.Context, id scoring.ClassID) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.classes[id]; !ok {
		return NoClass(id)
	}
	delete(m.classes, id)
	maps.DeleteFunc(m.doors.tickets, func(_ string, t Ticket) bool { return t.Class == id })
	m.assignments = slices.DeleteFunc(m.assignments, func(a scoring.Assignment) bool { return a.Class == id })
	m.forms = slices.DeleteFunc(m.forms, func(f Form) bool { return f.Class == id })
	m.panels = slices.DeleteFunc(m.panels, func(p Panel) bool { return p.Class == id })
	return nil
}

func (m *Memory) Enrol(_ context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error {
	in, err := CheckMembership(scoring.Membership{Learner: who, At: at})
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	c, err := m.member(class, &in.Learner)
	if err != nil {
		return err
	}
	who = in.Learner
	if old, known := c.roster[who]; known {
		if !old.Off {
			return nil
		}
		in.At = after(at, old.At)
	}
	c.roster[who] = in
	return nil
}

// member finds a class for a person, both of whom must be there, and the identifier
// that the person has now.
func (m *Memory) member(class scoring.ClassID, who *scoring.LearnerID) (*memoryClass, error) {
	c, ok := m.classes[class]
	if !ok {
		return nil, NoClass(class)
	}
	l, err := m.who(*who)
	if err != nil {
		return nil, err
	}
	*who = l.ID
	return c, nil
}

func (m *Memory) Unenrol(_ context.Context, class scoring.ClassID, who scoring.LearnerID, at time.Time) error {
	if _, err := CheckMembership(scoring.Membership{Learner: who, At: at}); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	c, ok := m.classes[class]
	if !ok {
		return NoClass(class)
	}
	if l, err := m.who(who); err == nil {
		who = l.ID
	}
	old, known := c.roster[who]
	if !known || old.Off {
		return NotEnrolled(who)
	}
	c.roster[who] = scoring.Membership{Learner: who, At: after(at, old.At), Off: true}
	return nil
}

func (m *Memory) Roster(_ context.Context, class scoring.ClassID) ([]scoring.Learner, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	c, ok := m.classes[class]
	if !ok {
		return nil, NoClass(class)
	}
	var list []scoring.Learner
	for id, in := range c.roster {
		if !in.Off {
			list = append(list, m.learners[id])
		}
	}
	byName(list)
	return list, nil
}

func (m *Memory) Memberships(_ context.Context, class scoring.ClassID) ([]scoring.Membership, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	c, ok := m.classes[class]
	if !ok {
		return nil, NoClass(class)
	}
	return slices.SortedFunc(maps.Values(c.roster), func(a, b scoring.Membership) int { return cmp.Compare(a.Learner, b.Learner) }), nil
}

func (m *Memory) PutMembership(_ context.Context, class scoring.ClassID, in scoring.Membership) error {
	in, err := CheckMembership(in)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	c, err := m.member(class, &in.Learner)
	if err != nil {
		return err
	}
	if old, known := c.roster[in.Learner]; !known || Supersedes(in, old) {
		c.roster[in.Learner] = in
	}
	return nil
}

func (m *Memory) AddAssignment(_ context.Context, a scoring.Assignment) (scoring.Assignment, error) {
	a, err := CheckAssignment(a)
	if err != nil {
		return a, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.classes[a.Class]; !ok {
		return a, NoClass(a.Class)
	}
	if _, ok := m.sheets[a.Setup.SheetID]; !ok && a.Setup.SheetID != "" {
		return a, fmt.Errorf("sheet %s: %w", a.Setup.SheetID, ErrNotFound)
	}
	if slices.ContainsFunc(m.assignments, func(b scoring.Assignment) bool { return b.ID == a.ID }) {
		return a, fmt.Errorf("assignment %s: %w", a.ID, ErrTaken)
	}
	a.Number = m.numberFor(a)
	m.numbers[a.Number] = a.ID
	m.assignments = append(m.assignments, cloneAssignment(a))
	slices.SortFunc(m.assignments, func(a, b scoring.Assignment) int { return cmp.Compare(a.Number, b.Number) })
	return a, nil
}

func (m *Memory) numberFor(a scoring.Assignment) int {
	last := 0
	for number, id := range m.numbers {
		if id == a.ID {
			return number
		}
		last = max(last, number)
	}
	if _, given := m.numbers[a.Number]; MayWish(a.Number) && !given {
		return a.Number
	}
	return last + 1
}

func (m *Memory) Assignments(_ context.Context, class scoring.ClassID) ([]scoring.Assignment, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []scoring.Assignment
	for _, a := range m.assignments {
		if class == "" || a.Class == class {
			list = append(list, cloneAssignment(a))
		}
	}
	return list, nil
}

func (m *Memory) Assignment(_ context.Context, number int) (scoring.Assignment, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	for _, a := range m.assignments {
		if a.Number == number {
			return cloneAssignment(a), nil
		}
	}
	return scoring.Assignment{}, NoAssignment(number)
}

func cloneAssignment(a scoring.Assignment) scoring.Assignment {
	a.Setup, a.Rulings = cloneSetup(a.Setup), slices.Clone(a.Rulings)
	return a
}

func (m *Memory) PutRuling(_ context.Context, id scoring.AssignmentID, r scoring.Ruling) error {
	r, err := CheckRuling(r)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	i := slices.IndexFunc(m.assignments, func(a scoring.Assignment) bool { return a.ID == id })
	if i < 0 {
		return NoAssignment(id)
	}
	for _, who := range []*scoring.LearnerID{&r.Learner, &r.By} {
		if *who == "" {
			continue
		}
		l, err := m.who(*who)
		if err != nil {
			return err
		}
		*who = l.ID
	}
	list := m.assignments[i].Rulings
	if at, there := slices.BinarySearchFunc(list, r, scoring.Ruling.Compare); !there {
		m.assignments[i].Rulings = slices.Insert(list, at, r)
	}
	return nil
}

// rulings changes those that name a person: they are another one's now, or with
// nobody are gone.
func (m *Memory) rulings(from, into scoring.LearnerID) {
	for i := range m.assignments {
		list := m.assignments[i].Rulings
		if into == "" {
			list = slices.DeleteFunc(list, func(r scoring.Ruling) bool { return r.Learner == from })
		}
		for j := range list {
			for _, who := range []*scoring.LearnerID{&list[j].Learner, &list[j].By} {
				if *who == from {
					*who = into
				}
			}
		}
		slices.SortFunc(list, scoring.Ruling.Compare)
		m.assignments[i].Rulings = slices.Compact(list)
	}
}
