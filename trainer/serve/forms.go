package serve

import (
	"context"
	"crypto/rand"
	"fmt"
	"slices"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// makeTest lays down a form of the proficiency test for a class. Its items are drawn
// here; nothing that decides them is in any page. Nobody takes it before it is begun for
// the room.
func (s *Server) makeTest(v *visit) error {
	class, _, err := v.classFor(assign)
	if err != nil {
		return err
	}
	name := v.r.PostFormValue("name")
	if err := scoring.CheckFormName(name); err != nil {
		return wrongAt("name", fault.Wrap(err, "such as spring-2"))
	}
	test, err := scoring.StandardTest(name, number(v.r.PostFormValue("items")))
	if err != nil {
		return wrongAt("items", fault.Wrap(err, "20 items in each of the two parts are usual"))
	}
	levels := scoring.UsualCuts(test)
	if lines := strings.FieldsFunc(v.r.PostFormValue("levels"), func(r rune) bool { return r == '\n' || r == '\r' }); len(lines) > 0 {
		if levels, err = record.ReadLevels(lines); err != nil {
			return wrongAt("levels", fault.Wrap(err, "a level a line, the best first, the last from 0"))
		}
	}
	if test, err = test.Drawn(rand.Reader); err != nil {
		return err
	}
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		have, err := m.Forms(v.ctx)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(have, func(f record.Form) bool {
			return f.Class == class.ID && record.NameKey(f.Name) == record.NameKey(name)
		}) {
			return wrongAt("name", fault.New("The class has a form of this name already.", "choose another name: what was laid down once is not changed"))
		}
		form, err := record.LayDown(v.ctx, m, record.Form{Name: name, Parts: test.Parts, Levels: levels, Class: class.ID, At: s.Clock(), Closed: s.Clock()})
		if err != nil {
			return err
		}
		return v.note(m, "laid down: "+form.Set().Name(), class.ID, "")
	})
	if err != nil {
		return err
	}
	return v.to(classPath(class))
}

// usualLevels are the levels of the usual form, a line each.
func usualLevels() string {
	var lines []string
	for _, cut := range scoring.MatchCuts {
		lines = append(lines, fmt.Sprintf("%s %.4g %%", cut.Level, 100*cut.From))
	}
	return strings.Join(lines, "\n")
}

// Somebody can draw a form for themselves in the trainer. It is theirs alone, which the
// log of what was done says: a form holds no name.
const (
	formDrawn   = "form drawn: " // and its fingerprint
	mostOfAHand = 20             // forms that one person draws
)

// AddForm enters a form that the person has drawn for themselves.
func (o *ownBook) AddForm(ctx context.Context, f record.Form) (form record.Form, err error) {
	if f.Class != "" {
		return f, errNotOwn
	}
	err = o.book.Merge(ctx, func(m record.Book) error {
		drawn, err := drawnForms(ctx, m)
		if err != nil {
			return err
		}
		mine := 0
		for _, who := range drawn {
			if who == o.who {
				mine++
			}
		}
		if mine >= mostOfAHand {
			return fault.New("So many forms are not drawn by one person.", "take those that wait, or let the instructor lay one down")
		}
		if form, err = m.AddForm(ctx, f); err != nil {
			return err
		}
		return m.WriteServed(ctx, record.Served{At: form.At, By: o.who, What: formDrawn + form.Print(), About: o.who})
	})
	return form, err
}

// drawnForms says who drew which form for themselves, by its fingerprint.
func drawnForms(ctx context.Context, book record.Book) (map[string]personID, error) {
	done, err := book.ServedIn(ctx, "")
	by := map[string]personID{}
	for _, d := range done {
		if print, ok := strings.CutPrefix(d.What, formDrawn); ok {
			by[print] = d.By
		}
	}
	return by, err
}

// Forms are those of the classes that the person is in, those for everybody, and those
// that they have drawn.
func (o *ownBook) Forms(ctx context.Context) ([]record.Form, error) {
	all, err := o.book.Forms(ctx)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	drawn, err := drawnForms(ctx, o.book)
	if err != nil {
		return nil, err
	}
	var mine []record.Form
	for _, f := range all {
		in := f.Class == ""
		if by, is := drawn[f.Print()]; is {
			in = by == o.who
		} else if !in {
			roster, err := o.book.Roster(ctx, f.Class)
			if err != nil {
				return nil, err
			}
			in = slices.ContainsFunc(roster, func(l scoring.Learner) bool { return l.ID == o.who })
		}
		if in {
			mine = append(mine, f)
		}
	}
	return mine, nil
}
