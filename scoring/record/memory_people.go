package record

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"shadedrill/scoring"
)

// who finds the person who has an identifier or took it over.
func (m *Memory) who(id scoring.LearnerID) (scoring.Learner, error) {
	if into, gone := m.former[id]; gone {
		if into == "" {
			return scoring.Learner{}, Erased(id)
		}
		id = into
	}
	l, ok := m.learners[id]
	if !ok {
		return l, fmt.Errorf("learner %s: %w", id, ErrNotFound)
	}
	return l, nil
}

// clashes finds somebody else who cannot be in the book beside a person.
func (m *Memory) clashes(l scoring.Learner) error {
	for _, other := range m.learners {
		if other.ID != l.ID && Clash(l, other) {
			return ClashError(l, other)
		}
	}
	return nil
}

func (m *Memory) LearnerByName(_ context.Context, name string) (scoring.Learner, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var named []scoring.Learner
	var numbered *scoring.Learner
	key := NameKey(name)
	number, _ := CheckNumber(name)
	for _, l := range m.learners {
		switch {
		case NameKey(l.Name) == key:
			named = append(named, l)
		case number != "" && sameNumber(l.Number, number):
			numbered = &l
		}
	}
	byName(named)
	return Pick(name, named, numbered)
}

func (m *Memory) ChangeLearner(_ context.Context, l scoring.Learner, at time.Time) (scoring.Learner, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	old, err := m.who(l.ID)
	if err != nil {
		return l, err
	}
	changed, err := Changed(old, l)
	if err != nil {
		return l, err
	}
	if err := m.clashes(changed); err != nil {
		return l, err
	}
	if kind := ChangeKind(old, changed); kind != "" {
		if err := m.deed(Deed{At: at, What: kind, Learner: changed.ID}); err != nil {
			return l, err
		}
	}
	m.learners[changed.ID] = changed
	return changed, nil
}

func (m *Memory) deed(d Deed) error {
	if err := CheckMoment("what is done to a person", d.At); err != nil {
		return err
	}
	d.At, d.Wiped = moment(d.At), !d.What.Leaves()
	m.deeds = append(m.deeds, d)
	return nil
}

// about counts what a person has in the book.
func (m *Memory) about(d *Deed) {
	for _, s := range m.sittings {
		if s.Learner == d.Learner {
			d.Sittings, d.Answers = d.Sittings+1, d.Answers+len(s.attempts)
		}
	}
}

func (m *Memory) JoinLearners(_ context.Context, from, into scoring.LearnerID, at time.Time) (scoring.Learner, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	theirs, err := m.who(from)
	if err != nil {
		return theirs, err
	}
	stays, err := m.who(into)
	if err != nil {
		return stays, err
	}
	joined, err := Joined(stays, theirs)
	if err != nil {
		return stays, err
	}
	d := Deed{At: at, What: DeedJoined, Learner: theirs.ID, Into: stays.ID}
	m.about(&d)
	if err := m.deed(d); err != nil {
		return stays, err
	}
	for _, s := range m.sittings {
		if s.Learner != theirs.ID {
			continue
		}
		if s.Learner = stays.ID; s.BegunAs == "" {
			s.BegunAs = theirs.ID
		}
		for i := range s.attempts {
			s.attempts[i].Learner = stays.ID
		}
	}
	for _, c := range m.classes {
		in, there := c.roster[theirs.ID]
		if !there {
			continue
		}
		delete(c.roster, theirs.ID)
		in.Learner = stays.ID
		if old, there := c.roster[stays.ID]; there {
			in.Off = in.Off && old.Off
			if old.At.After(in.At) {
				in.At = old.At
			}
		}
		c.roster[stays.ID] = in
	}
	for i := range m.panels {
		if m.panels[i].By == theirs.ID {
			m.panels[i].By = stays.ID
		}
	}
	m.rulings(theirs.ID, stays.ID)
	for id, who := range m.former {
		if who == theirs.ID {
			m.former[id] = stays.ID
		}
	}
	if a, has := m.doors.accounts[theirs.ID]; has {
		if _, both := m.doors.accounts[stays.ID]; !both {
			a.Learner = stays.ID
			m.doors.accounts[stays.ID] = a
		}
	}
	m.doors.forget(theirs.ID)
	m.former[theirs.ID] = stays.ID
	delete(m.learners, theirs.ID)
	m.learners[stays.ID] = joined
	return joined, nil
}

func (m *Memory) EraseLearner(_ context.Context, id scoring.LearnerID, at time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	l, err := m.who(id)
	if err != nil {
		return err
	}
	d := Deed{At: at, What: DeedErased, Learner: l.ID}
	m.about(&d)
	if err := m.deed(d); err != nil {
		return err
	}
	maps.DeleteFunc(m.sittings, func(_ scoring.SittingID, s *memorySitting) bool { return s.Learner == l.ID })
	for _, c := range m.classes {
		delete(c.roster, l.ID)
	}
	for i := range m.panels {
		if m.panels[i].By == l.ID {
			m.panels[i].By = ""
		}
	}
	m.rulings(l.ID, "")
	for id, who := range m.former {
		if who == l.ID {
			m.former[id] = ""
		}
	}
	m.doors.forget(l.ID)
	m.former[l.ID] = ""
	delete(m.learners, l.ID)
	return nil
}

func (m *Memory) Deeds(context.Context) ([]Deed, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	return slices.Clone(m.deeds), nil
}

// Wipe has nothing to do but to write down that it was done: there is no file.
func (m *Memory) Wipe(context.Context) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := range m.deeds {
		m.deeds[i].Wiped = true
	}
	return nil
}

// Label has a secret that is none: no book in memory outlives its program.
func (m *Memory) Label(_ context.Context, kind, id string) (string, error) {
	return Label([]byte(m.ID()), kind, id), nil
}
