package record

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"
)

func (m *Memory) AddForm(_ context.Context, f Form) (Form, error) {
	f, err := CheckForm(f)
	if err != nil {
		return f, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, part := range f.Parts {
		if _, ok := m.sheets[part.SheetID]; !ok && part.SheetID != "" {
			return f, fmt.Errorf("sheet %s: %w", part.SheetID, ErrNotFound)
		}
	}
	if _, ok := m.classes[f.Class]; !ok && f.Class != "" {
		return f, fmt.Errorf("class %s: %w", f.Class, ErrNotFound)
	}
	for _, have := range m.forms {
		if have.Print() == f.Print() {
			return f, FormTaken(f)
		}
	}
	m.forms = append(m.forms, f)
	return cloneForm(f), nil
}

func (m *Memory) Forms(context.Context) ([]Form, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []Form
	for _, f := range m.forms {
		list = append(list, cloneForm(f))
	}
	slices.SortFunc(list, func(a, b Form) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Print(), b.Print())) })
	return list, nil
}

func (m *Memory) CloseForm(_ context.Context, print string, closed time.Time) error {
	if err := checkClosed(closed); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	for i := range m.forms {
		if m.forms[i].Print() == print {
			m.forms[i].Closed = moment(closed)
			return nil
		}
	}
	return FormNotFound(print)
}

func cloneForm(f Form) Form {
	f.Levels, f.Parts = slices.Clone(f.Levels), slices.Clone(f.Parts)
	for i := range f.Parts {
		f.Parts[i] = cloneSetup(f.Parts[i])
	}
	return f
}
