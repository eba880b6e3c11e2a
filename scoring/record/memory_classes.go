package record

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"shadedrill/scoring"
)

type memoryClass struct {
	scoring.Class
	roster map[scoring.LearnerID]bool
}

func byName(list []scoring.Learner) {
	slices.SortFunc(list, func(a, b scoring.Learner) int { return strings.Compare(NameKey(a.Name), NameKey(b.Name)) })
}

func (m *Memory) SetRole(_ context.Context, id scoring.LearnerID, role scoring.Role) error {
	role, err := CheckRole(role)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	l, ok := m.learners[id]
	if !ok {
		return fmt.Errorf("learner %s: %w", id, ErrNotFound)
	}
	l.Role = role
	m.learners[id] = l
	return nil
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
	m.classes[c.ID] = &memoryClass{Class: c, roster: map[scoring.LearnerID]bool{}}
	return c, nil
}

func (m *Memory) classNamed(name string) *memoryClass {
	key := NameKey(name)
	for _, c := range m.classes {
		if NameKey(c.Name) == key {
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
	slices.SortFunc(list, func(a, b scoring.Class) int { return strings.Compare(NameKey(a.Name), NameKey(b.Name)) })
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
	m.assignments = slices.DeleteFunc(m.assignments, func(a scoring.Assignment) bool { return a.Class == id })
	return nil
}

func (m *Memory) Enrol(_ context.Context, class scoring.ClassID, who scoring.LearnerID) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	c, ok := m.classes[class]
	if !ok {
		return NoClass(class)
	}
	if _, ok := m.learners[who]; !ok {
		return fmt.Errorf("learner %s: %w", who, ErrNotFound)
	}
	c.roster[who] = true
	return nil
}

func (m *Memory) Unenrol(_ context.Context, class scoring.ClassID, who scoring.LearnerID) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	c, ok := m.classes[class]
	if !ok {
		return NoClass(class)
	}
	if !c.roster[who] {
		return NotEnrolled(who)
	}
	delete(c.roster, who)
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
	for id := range c.roster {
		list = append(list, m.learners[id])
	}
	byName(list)
	return list, nil
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
	m.lastNumber++
	a.Number = m.lastNumber
	m.assignments = append(m.assignments, cloneAssignment(a))
	return a, nil
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
	a.Setup = cloneSetup(a.Setup)
	return a
}
