package record

import (
	"context"
	"maps"
	"slices"
)

// Merge calls f with the book; what f enters is kept all together when f
// returns nil, and not at all otherwise.
func (m *Memory) Merge(_ context.Context, f func(Book) error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	draft := &Memory{learners: maps.Clone(m.learners), sheets: maps.Clone(m.sheets), sittings: maps.Clone(m.sittings),
		panels: slices.Clone(m.panels), forms: slices.Clone(m.forms), classes: maps.Clone(m.classes), assignments: slices.Clone(m.assignments), numbers: maps.Clone(m.numbers),
		former: maps.Clone(m.former), deeds: slices.Clone(m.deeds),
		doors: m.doors.clone()}
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
	for i, a := range draft.assignments {
		draft.assignments[i].Rulings = slices.Clone(a.Rulings)
	}
	if err := f(draft); err != nil {
		return err
	}
	m.learners, m.sheets, m.sittings, m.panels = draft.learners, draft.sheets, draft.sittings, draft.panels
	m.forms = draft.forms
	m.classes, m.assignments, m.numbers = draft.classes, draft.assignments, draft.numbers
	m.former, m.deeds = draft.former, draft.deeds
	m.doors = draft.doors
	return nil
}
