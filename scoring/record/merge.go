package record

import (
	"context"
	"maps"
	"slices"
)

// Merger is a book as a drill and a transaction use it: everything but opening,
// closing and merging.
type Merger interface {
	People
	Sittings
	Classes
	Assignments
}

// Merge calls f with the book; what f enters is kept all together when f
// returns nil, and not at all otherwise.
func (m *Memory) Merge(_ context.Context, f func(Merger) error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	draft := &Memory{learners: maps.Clone(m.learners), sheets: maps.Clone(m.sheets), sittings: maps.Clone(m.sittings),
		classes: maps.Clone(m.classes), assignments: slices.Clone(m.assignments), numbers: maps.Clone(m.numbers)}
	for id, s := range draft.sittings {
		own := *s
		own.attempts = slices.Clone(s.attempts)
		draft.sittings[id] = &own
	}
	for id, c := range draft.classes {
		own := *c
		own.roster = maps.Clone(c.roster)
		draft.classes[id] = &own
	}
	if err := f(draft); err != nil {
		return err
	}
	m.learners, m.sheets, m.sittings = draft.learners, draft.sheets, draft.sittings
	m.classes, m.assignments, m.numbers = draft.classes, draft.assignments, draft.numbers
	return nil
}
