package transfer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// wholeness watches the lines of a file: whether it is as it was written, and all of it there.
type wholeness struct {
	rules Rules
	done  *Imported
	m     *merging

	must, open, closed bool // it must be closed; something stands since the last closing; it was closed
	narrowed           bool
	last, answers      int
	sittings           map[scoring.SittingID]bool
	problems           []error
	changed            error // somewhere, which a bad line says better
}

// line looks at a line; true if nothing more is to be done with it.
func (w *wholeness) line(p *parsed) bool {
	w.last = p.line
	switch {
	case p.header:
		w.must, w.open = p.linked, true
		return true
	case p.end != nil:
		if w.closed && !w.open {
			w.say(fault.New(fmt.Sprintf("line %d closes the file a second time", p.line), exportAgain))
		} else if err := p.end.holds(w.answers, len(w.sittings), p.sum); err != nil && p.end.counts(w.answers, len(w.sittings)) {
			w.changed = err
		} else if err != nil {
			w.say(err)
		}
		w.narrowed = w.narrowed || p.end.Narrowed
		w.must, w.open, w.closed, w.answers, w.sittings = false, false, true, 0, nil
		return true
	case p.cut && p.bad != nil && w.must:
		return true // what is missing is said at the end
	}
	w.open = true
	if p.of != nil {
		w.must = w.must || p.of.format != nil && p.of.format.Format >= closedFormat
		return false
	}
	w.must = w.must || p.row.link != nil
	w.answers++
	if w.sittings == nil {
		w.sittings = map[scoring.SittingID]bool{}
	}
	w.sittings[p.row.attempt.Sitting] = true
	return false
}

// closedFormat is the first in which a file ends with a line that closes it.
const closedFormat = 3

func (w *wholeness) say(err error) { w.problems = append(w.problems, err) }

// end says what is wrong with the file as a whole.
func (w *wholeness) end(faults *fault.List) {
	switch {
	case w.open && w.must:
		w.say(unended(w.last, w.answers))
	case w.open && w.closed: // a CSV
		w.say(fault.New(fmt.Sprintf("the file goes on behind the line that closes it, up to line %d", w.last), exportAgain))
	case w.open:
		w.done.Unclosed = true
	}
	bad := len(faults.Lines) > 0
	if w.changed != nil && !bad {
		w.say(w.changed)
	}
	if w.rules.Partial {
		if len(w.problems) > 0 {
			w.done.Partial = w.problems[0].Error()
		}
		return
	}
	for _, err := range w.problems {
		if !bad {
			faults.Mend = fault.Hint(err)
		}
		faults.Add(err)
	}
	if bad || w.narrowed {
		return
	}
	for _, id := range w.m.followed {
		if err := w.m.chains[id].end(); err != nil {
			faults.Add(err)
		}
	}
}

// follow holds a row against the chain of its sitting.
func (m *merging) follow(w whole) error {
	id := w.attempt.Sitting
	m.rows[id]++
	if w.sitting != nil && w.sitting.Chain != nil {
		before := m.chains[id]
		f, err := m.takeUp(w.attempt, w.sitting)
		if err != nil {
			return err
		}
		if before != nil { // files put one behind the other
			if err := before.end(); err != nil && !m.rules.Partial {
				return err
			}
		}
		return f.answer(w.attempt, w.link, m.rules.Partial)
	}
	f := m.chains[id]
	switch {
	case m.unclear: // what it follows cannot be told
	case f != nil:
		return f.answer(w.attempt, w.link, m.rules.Partial)
	case w.link != nil && w.sitting == nil && !m.rules.Partial:
		return errors.New("no line before it tells of its sitting: one is missing")
	}
	return nil
}

// unfollow has the rest of a sitting not blamed for a bad line of it.
func (m *merging) unfollow(id scoring.SittingID) {
	if m.chains[id] == nil {
		m.chains[id] = &following{told: &chainData{}}
	}
	m.chains[id].broken = true
}

// takeUp begins to follow the chain of a sitting.
func (m *merging) takeUp(a scoring.Attempt, d *sittingData) (*following, error) {
	s, err := record.CheckSitting(d.asSitting(a, m.rules.At))
	if err != nil {
		return nil, fmt.Errorf("sitting_data: %w", err)
	}
	if !d.Ended.IsZero() {
		s.Ended, s.Left = d.Ended, d.Left
	}
	f, err := follow(s, d.Chain)
	if m.chains[a.Sitting] == nil {
		m.followed = append(m.followed, a.Sitting)
	}
	m.chains[a.Sitting] = f
	return f, err
}

// markAgrees holds the numbers of a row against its colours.
func (m *merging) markAgrees(ctx context.Context, w whole) error {
	if len(w.told) == 0 {
		return nil
	}
	id := m.setup.SheetID
	if id != "" && m.sheets[id] == nil {
		s, err := m.into.Sheet(ctx, id)
		if err != nil {
			return broken(err)
		}
		m.sheets[id] = s
	}
	return w.agrees(scoring.MarkOf(w.attempt, m.sheets[id]))
}

// UnknownSet is what answers of a file belong to and this book does not know.
type UnknownSet struct {
	Ref     scoring.SetRef
	Answers int
	// Otherwise says that the book knows it, and that it asks something else here.
	Otherwise bool
}

// sets says which answers belong to what the book does not know, or knows otherwise.
func (m *merging) sets(ctx context.Context) error {
	at := map[string]int{}
	var given []scoring.Assignment
	for id, d := range m.sittings {
		ref, ok := scoring.ParseSetRef(d.Within)
		if !ok || ref.Kind == scoring.TestSet {
			continue
		}
		var parts []exercises.Setup
		var set scoring.Set
		switch ref.Kind {
		case scoring.PanelSet:
			p, err := m.into.PanelByName(ctx, ref.Name)
			if err == nil {
				set = p.Set()
				parts = set.Parts
			} else if !errors.Is(err, record.ErrNotFound) {
				return err
			}
		case scoring.AssignmentSet:
			if given == nil {
				var err error
				if given, err = m.into.Assignments(ctx, ""); err != nil {
					return err
				}
			}
			for _, a := range given {
				if string(a.ID) == ref.Name {
					set = a.Set()
					parts = set.Parts
				}
			}
		}
		otherwise := false
		if parts != nil {
			if _, asks := set.Part(d.Setup); asks {
				continue
			}
			otherwise = true
		}
		i, known := at[d.Within]
		if !known {
			i = len(m.done.Sets)
			at[d.Within] = i
			m.done.Sets = append(m.done.Sets, UnknownSet{Ref: ref})
		}
		m.done.Sets[i].Answers += m.rows[id]
		m.done.Sets[i].Otherwise = m.done.Sets[i].Otherwise || otherwise
	}
	slices.SortFunc(m.done.Sets, func(x, y UnknownSet) int { return strings.Compare(x.Ref.String(), y.Ref.String()) })
	return nil
}
