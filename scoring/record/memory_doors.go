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

// memoryDoors is what a book in memory keeps for a class server.
type memoryDoors struct {
	accounts map[scoring.LearnerID]Account
	tickets  map[string]Ticket
	signedIn map[string]SignedIn
	served   []Served
}

func newDoors() memoryDoors {
	return memoryDoors{accounts: map[scoring.LearnerID]Account{}, tickets: map[string]Ticket{}, signedIn: map[string]SignedIn{}}
}

func (d memoryDoors) clone() memoryDoors {
	return memoryDoors{maps.Clone(d.accounts), maps.Clone(d.tickets), maps.Clone(d.signedIn), slices.Clone(d.served)}
}

// forget takes out what is about a person who is taken out of the book.
func (d memoryDoors) forget(id scoring.LearnerID) {
	delete(d.accounts, id)
	maps.DeleteFunc(d.tickets, func(_ string, t Ticket) bool { return t.Learner == id })
	maps.DeleteFunc(d.signedIn, func(_ string, s SignedIn) bool { return s.Learner == id })
}

func (m *Memory) PutAccount(_ context.Context, a Account) error {
	a, err := CheckAccount(a)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.learners[a.Learner]; !ok {
		return fmt.Errorf("learner %s: %w", a.Learner, ErrNotFound)
	}
	m.doors.accounts[a.Learner] = a
	return nil
}

func (m *Memory) Account(_ context.Context, id scoring.LearnerID) (Account, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	a, ok := m.doors.accounts[id]
	if !ok {
		return a, fmt.Errorf("an account of learner %s: %w", id, ErrNotFound)
	}
	return a, nil
}

func (m *Memory) Accounts(context.Context) ([]scoring.LearnerID, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return slices.Sorted(maps.Keys(m.doors.accounts)), nil
}

func (m *Memory) PutTicket(_ context.Context, t Ticket) error {
	t, err := CheckTicket(t)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.classes[t.Class]; !ok && t.Class != "" {
		return NoClass(t.Class)
	}
	if _, ok := m.learners[t.Learner]; !ok && t.Learner != "" {
		return fmt.Errorf("learner %s: %w", t.Learner, ErrNotFound)
	}
	m.doors.tickets[t.ID] = t
	return nil
}

func (m *Memory) Ticket(_ context.Context, id string) (Ticket, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	t, ok := m.doors.tickets[id]
	if !ok {
		return t, fmt.Errorf("ticket: %w", ErrNotFound)
	}
	return t, nil
}

func (m *Memory) Tickets(_ context.Context, class scoring.ClassID) ([]Ticket, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []Ticket
	for _, t := range m.doors.tickets {
		if t.Class == class {
			list = append(list, t)
		}
	}
	slices.SortFunc(list, func(a, b Ticket) int {
		if c := a.At.Compare(b.At); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return list, nil
}

func (m *Memory) RemoveTickets(_ context.Context, class scoring.ClassID, who scoring.LearnerID, past time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	maps.DeleteFunc(m.doors.tickets, func(_ string, t Ticket) bool {
		return !t.Until.After(past) || who != "" && t.Learner == who || who == "" && class != "" && t.Class == class && t.Learner == ""
	})
	return nil
}

func (m *Memory) PutSignedIn(_ context.Context, s SignedIn) error {
	s, err := CheckSignedIn(s)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, ok := m.learners[s.Learner]; !ok {
		return fmt.Errorf("learner %s: %w", s.Learner, ErrNotFound)
	}
	m.doors.signedIn[s.ID] = s
	var others []SignedIn
	for _, other := range m.doors.signedIn {
		if other.Learner == s.Learner && other.ID != s.ID {
			others = append(others, other)
		}
	}
	slices.SortFunc(others, func(a, b SignedIn) int { return cmp.Or(b.Seen.Compare(a.Seen), cmp.Compare(a.ID, b.ID)) })
	for _, old := range others[min(len(others), MostSignedIn-1):] {
		delete(m.doors.signedIn, old.ID)
	}
	return nil
}

func (m *Memory) SignedIn(_ context.Context, id string) (SignedIn, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	s, ok := m.doors.signedIn[id]
	if !ok {
		return s, fmt.Errorf("a browser: %w", ErrNotFound)
	}
	return s, nil
}

func (m *Memory) SignOut(_ context.Context, id string) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.doors.signedIn, id)
	return nil
}

func (m *Memory) SignOutAll(_ context.Context, who scoring.LearnerID, seenBefore time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	maps.DeleteFunc(m.doors.signedIn, func(_ string, s SignedIn) bool {
		return who != "" && s.Learner == who || who == "" && s.Seen.Before(seenBefore)
	})
	return nil
}

func (m *Memory) WriteServed(_ context.Context, s Served) error {
	s, err := CheckServed(s)
	if err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.doors.served = append(m.doors.served, s)
	return nil
}

func (m *Memory) ServedIn(_ context.Context, class scoring.ClassID) ([]Served, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []Served
	for _, s := range m.doors.served {
		if s.Class == class {
			list = append(list, s)
		}
	}
	return list, nil
}
