package record

import (
	"context"
	"fmt"
	"slices"
	"time"
)

func (m *Memory) AddPanel(_ context.Context, p Panel) (Panel, error) {
	p, err := CheckPanel(p)
	if err != nil {
		return p, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.panel(p.Name) != nil {
		return p, PanelTaken(p.Name)
	}
	if p.By != "" {
		lead, err := m.who(p.By)
		if err != nil {
			return p, err
		}
		p.By = lead.ID
	}
	if _, ok := m.classes[p.Class]; !ok && p.Class != "" {
		return p, fmt.Errorf("class %s: %w", p.Class, ErrNotFound)
	}
	if _, ok := m.sheets[p.Setup.SheetID]; !ok && p.Setup.SheetID != "" {
		return p, fmt.Errorf("sheet %s: %w", p.Setup.SheetID, ErrNotFound)
	}
	m.panels = append(m.panels, p)
	return clonePanel(p), nil
}

// panel finds a session by its name; nil for none.
func (m *Memory) panel(name string) *Panel {
	key := TitleKey(name)
	for i := range m.panels {
		if TitleKey(m.panels[i].Name) == key {
			return &m.panels[i]
		}
	}
	return nil
}

func (m *Memory) Panels(context.Context) ([]Panel, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	var list []Panel
	for _, p := range m.panels {
		list = append(list, clonePanel(p))
	}
	slices.SortStableFunc(list, func(a, b Panel) int { return a.At.Compare(b.At) })
	return list, nil
}

func (m *Memory) PanelByName(_ context.Context, name string) (Panel, error) {
	m.mu.RLock()
	defer m.mu.RUnlock()
	if p := m.panel(name); p != nil {
		return clonePanel(*p), nil
	}
	return Panel{}, PanelNotFound(name)
}

func (m *Memory) ClosePanel(_ context.Context, name string, at time.Time) error {
	if err := CheckMoment("the end of a calibration session", at); err != nil {
		return err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	p := m.panel(name)
	if p == nil {
		return PanelNotFound(name)
	}
	if p.Closed.IsZero() {
		p.Closed = moment(at)
	}
	return nil
}

func clonePanel(p Panel) Panel {
	p.Setup = cloneSetup(p.Setup)
	return p
}
