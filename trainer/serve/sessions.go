package serve

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/panels"
)

// sessions are the calibration sessions that the people of a class find in their menu:
// those of the class, and those for everybody which were laid down by who runs it.
func (s *Server) sessions(ctx context.Context, class scoring.ClassID, roster []scoring.Learner) ([]record.Panel, error) {
	all, err := s.Book.Panels(ctx)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	run, err := runners(ctx, s.Book, class, roster)
	return slices.DeleteFunc(all, func(p record.Panel) bool {
		return p.Class != class && (p.Class != "" || !slices.Contains(run, p.By))
	}), err
}

func sessionWords(p record.Panel) string {
	return fmt.Sprintf("%s, %s, each shown %s", capital(kindTitle(p.Setup.Kind)), scoring.Count(p.Setup.Count, "shade", "shades"), scoring.Times(p.Setup.Repeats))
}

// Limits of a calibration session, house choices: more tires the eyes of the team, and
// then it is tiredness that is compared.
const (
	mostSessionItems   = 200
	mostSessionRepeats = 10
)

// makeSession lays a calibration session down for a class or team.
func (s *Server) makeSession(v *visit) error {
	class, _, err := v.classFor(makeSession)
	if err != nil {
		return err
	}
	kind, err := givenKind(v.r.PostFormValue("kind"))
	if err != nil {
		return err
	}
	items, repeats := number(v.r.PostFormValue("items")), number(v.r.PostFormValue("repeats"))
	if items < 1 || items > mostSessionItems || repeats < 1 || repeats > mostSessionRepeats {
		return wrongAt("items", fault.New("That is no session.", fmt.Sprintf("1 to %d shades, each shown 1 to %d times; twenty, twice each, take about twenty minutes", mostSessionItems, mostSessionRepeats)))
	}
	setup, err := usualSetup(kind)
	if err != nil {
		return err
	}
	setup.Count, setup.Repeats, setup.Silent = items, repeats, true
	if kind.Traits().Unhurried {
		setup.Viewing.Limit = 0
	}
	if _, err := exercises.NewRun(setup); err != nil {
		return fault.Wrap(err, "another exercise, or another number of shades")
	}
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		if err := m.PutSheet(v.ctx, setup.Sheet); err != nil {
			return err
		}
		p, err := m.AddPanel(v.ctx, record.Panel{Name: v.r.PostFormValue("name"), Setup: setup, By: v.who.ID, Class: class.ID, At: s.Clock()})
		if errors.Is(err, record.ErrTaken) {
			return wrongAt("name", fault.New("There is a calibration session of this name already, perhaps another class's or team's.", "add what tells the two apart, such as the date"))
		}
		if err != nil {
			return wrongAt("name", err)
		}
		return v.note(m, "laid down: "+p.Set().Name(), class.ID, "")
	})
	if err != nil {
		return err
	}
	return v.to(classPath(class))
}

// closeSession lets nobody begin a session any more.
func (s *Server) closeSession(v *visit) error {
	class, roster, set, err := v.ofClass()
	if err != nil {
		return err
	}
	if set.Ref.Kind != scoring.PanelSet {
		return errForbidden
	}
	already := fault.New(capital(set.Name())+" is closed already.", "who has begun it can finish it")
	if !set.Closed.IsZero() {
		return already
	}
	if ok, err := v.confirmed("Nobody begins " + set.Name() + " any more. Who has begun it can finish it."); !ok {
		return err
	}
	s.unbegin(roster, set.Ref)
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		if p, err := m.PanelByName(v.ctx, set.Ref.Name); err != nil {
			return err
		} else if !p.Closed.IsZero() { // in this moment
			return already
		}
		if err := m.ClosePanel(v.ctx, set.Ref.Name, s.Clock()); err != nil {
			return err
		}
		return v.note(m, "closed: "+set.Name(), class.ID, "")
	})
	if err != nil {
		return err
	}
	return v.to(classPath(class))
}

// sessionReport is what a session shows of the people of a class, and of nobody else.
func (v *visit) sessionReport(class scoring.Class, roster []scoring.Learner, checked bool) (report.Report, error) {
	var none report.Report
	list, err := v.s.sessions(v.ctx, class.ID, roster)
	if err != nil {
		return none, err
	}
	find := func(field string) (record.Panel, bool) {
		name := record.NameKey(v.r.URL.Query().Get(field))
		i := slices.IndexFunc(list, func(p record.Panel) bool { return record.NameKey(p.Name) == name })
		if i < 0 {
			return record.Panel{}, false
		}
		return list[i], true
	}
	p, ok := find("of")
	if !ok {
		return none, errForbidden
	}
	view := panels.View{Group: class.Name, Checked: checked}
	if strings.TrimSpace(v.r.URL.Query().Get("before")) != "" {
		before, ok := find("before")
		if !ok {
			return none, errForbidden
		}
		view.Before = &before
	}
	taken, err := v.s.Book.Sittings(v.ctx, record.Filter{Within: p.Set().Ref.String()})
	if err != nil {
		return none, err
	}
	for _, l := range roster { // who runs it is not missing where they have not taken it
		if l.Role == scoring.RoleLearner || slices.ContainsFunc(taken, func(s scoring.Sitting) bool { return s.Learner == l.ID }) {
			view.Of = append(view.Of, l)
		}
	}
	if view.Of == nil {
		view.Of = []scoring.Learner{}
	}
	return panels.Report(v.ctx, v.s.Book, p, view)
}

// givenKind is an exercise that can be given to a class.
func givenKind(id string) (exercises.Kind, error) {
	k, err := exercises.ByID(exercises.KindID(id))
	if err != nil || k.Traits().ByHand {
		return nil, fault.New("There is no such exercise to give to others.", "choose one from the list")
	}
	return k, nil
}

// usualSetup is a drill with the usual library and way of looking.
func usualSetup(k exercises.Kind) (exercises.Setup, error) {
	library, err := tabs.Load(tabs.Builtin()[0])
	if err != nil {
		return exercises.Setup{}, err
	}
	return exercises.Setup{Kind: k.ID(), Version: k.Version(), Seed: rand.Uint64() | 1, Targets: exercises.NaturalTargets,
		Task: k.Traits().Task, Viewing: exercises.DefaultViewing(), Sheet: tabs.NewSheet(library, nil)}, nil
}
