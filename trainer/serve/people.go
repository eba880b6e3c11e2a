package serve

import (
	"context"
	"fmt"
	"slices"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// class finds a class by its identifier.
func (s *Server) class(ctx context.Context, id scoring.ClassID) (scoring.Class, error) {
	all, err := s.Book.Classes(ctx)
	if i := slices.IndexFunc(all, func(c scoring.Class) bool { return c.ID == id }); i >= 0 {
		return all[i], nil
	}
	if err != nil {
		return scoring.Class{}, err
	}
	return scoring.Class{}, record.NoClass(id)
}

func classPath(c scoring.Class) string { return "/classes/" + string(c.ID) }

// teamMade is what the log says of a class that a lead has made: a team.
const teamMade = "team made"

// runners are those who run a class: the instructors on its roster. A team, which a lead
// has made here and which has no instructor, is run by the leads on it; elsewhere a lead
// on a roster is there to practise.
func runners(ctx context.Context, book record.Book, class scoring.ClassID, roster []scoring.Learner) (list []personID, err error) {
	list = []personID{}
	var leads []personID
	for _, l := range roster {
		switch l.Role {
		case scoring.RoleInstructor:
			list = append(list, l.ID)
		case scoring.RoleLead:
			leads = append(leads, l.ID)
		}
	}
	if len(list) > 0 || len(leads) == 0 {
		return list, nil
	}
	done, err := book.ServedIn(ctx, class)
	if slices.ContainsFunc(done, func(d record.Served) bool { return d.What == teamMade }) {
		list = leads
	}
	return list, err
}

// classFor is the class that a request names, where the table allows the action.
func (v *visit) classFor(do action) (scoring.Class, []scoring.Learner, error) {
	class, err := v.s.class(v.ctx, scoring.ClassID(v.r.PathValue("class")))
	if err != nil {
		return class, nil, err
	}
	roster, err := v.s.Book.Roster(v.ctx, class.ID)
	if err != nil {
		return class, nil, err
	}
	run, err := runners(v.ctx, v.s.Book, class.ID, roster)
	if err != nil {
		return class, nil, err
	}
	return class, roster, v.may(do, thing{RunBy: run})
}

// everywhere are the actions that touch what a person is in all their classes: only
// who runs every one of them may. What is asked about one class, such as how somebody
// stands or that they get a new code, who runs one of them may. A lead, who may not read
// what somebody practised, gives nobody of another class a new passphrase either.
var everywhere = map[action]bool{move: true, merge: true, erase: true, appointLead: true}

// thingOf is what the table asks about a person.
func (s *Server) thingOf(ctx context.Context, do action, asks scoring.Learner, who personID) (thing, error) {
	t := thing{Of: who, RunBy: []personID{}}
	all := everywhere[do] || do == resetPassphrase && asks.Role == scoring.RoleLead
	classes, err := classesOf(ctx, s.Book, who)
	if err != nil {
		return t, err
	}
	for i, c := range classes {
		roster, err := s.Book.Roster(ctx, c.ID)
		if err != nil {
			return t, err
		}
		run, err := runners(ctx, s.Book, c.ID, roster)
		if err != nil {
			return t, err
		}
		switch {
		case i == 0:
			t.RunBy = run
		case all:
			t.RunBy = slices.DeleteFunc(t.RunBy, func(id personID) bool { return !slices.Contains(run, id) })
		default:
			t.RunBy = append(t.RunBy, run...)
		}
	}
	return t, nil
}

// personFor is the person that a request names, where the table allows the action.
func (v *visit) personFor(do action) (scoring.Learner, error) {
	who, err := v.s.Book.Learner(v.ctx, personID(v.r.PathValue("person")))
	if err != nil {
		return who, err
	}
	thing, err := v.s.thingOf(v.ctx, do, v.who, who.ID)
	if err != nil {
		return who, err
	}
	return who, v.may(do, thing)
}

// deed is something that an instructor does to a person of a class.
type deed struct {
	action action
	// ask is what the page asks before it is done, with the person's name and, where there is
	// one, that of the other whom or which it is about.
	ask   string
	other func(v *visit) (string, error)
	do    func(v *visit, class scoring.Class, who scoring.Learner) error
}

var deeds = map[string]deed{
	"link": {action: resetPassphrase, ask: "%s gets a link with which they choose a passphrase, once. A link from before opens nothing any more. When it is used, every browser in which they are signed in is signed out.",
		do: func(v *visit, class scoring.Class, who scoring.Learner) error {
			return v.showLinks(class, []scoring.Learner{who})
		}},
	"off": {action: move, ask: "%s goes off the list. Their answers stay in the book.",
		do: func(v *visit, class scoring.Class, who scoring.Learner) error {
			err := v.s.Book.Merge(v.ctx, func(m record.Book) error {
				if err := m.Unenrol(v.ctx, class.ID, who.ID, v.s.Clock()); err != nil {
					return err
				}
				return v.note(m, "taken off the list", class.ID, who.ID)
			})
			if err != nil {
				return err
			}
			v.s.end(v.ctx, who.ID, "your classes have changed")
			return v.to(classPath(class))
		}},
	"erase": {action: erase, ask: "%s is erased: name, answers, account, everything that is kept about them here, for good. Copies of the book from before still hold it.", do: eraseFor},
	"merge": {action: merge, ask: "%[1]s and %[2]s are one person: everything of %[1]s goes to the entry of %[2]s, whose name and number stay. It cannot be taken back.", other: func(v *visit) (string, error) {
		into, err := v.mergedInto()
		return into.Name, err
	}, do: mergeInto},
	"move": {action: move, ask: "%s goes from here to %s. Their answers stay theirs.", other: func(v *visit) (string, error) {
		to, err := v.movedTo()
		return to.Name, err
	}, do: moveTo},
	"lead": {action: appointLead, ask: "%s becomes a lead: they can make a team of their own, let people into it and lay down calibration sessions for it. They are given no assignments any more.",
		do: func(v *visit, class scoring.Class, who scoring.Learner) error {
			err := v.s.Book.Merge(v.ctx, func(m record.Book) error {
				now, err := m.Learner(v.ctx, who.ID) // somebody else may have done it meanwhile
				if err != nil {
					return err
				}
				if now.Role != scoring.RoleLearner {
					return errRuns(now)
				}
				if err := m.SetRole(v.ctx, who.ID, scoring.RoleLead, v.s.Clock()); err != nil {
					return err
				}
				return v.note(m, "made a lead", class.ID, who.ID)
			})
			if err != nil {
				return err
			}
			v.s.end(v.ctx, who.ID, "you are a lead now")
			return v.to(classPath(class))
		}},
}

// memberFor is a class and somebody on its list that a request names, where the table
// allows the action.
func (v *visit) memberFor(do action) (class scoring.Class, roster []scoring.Learner, who scoring.Learner, err error) {
	if class, roster, err = v.classFor(readClass); err != nil {
		return class, roster, who, err
	}
	if do == readClass { // who may see the list may see who is on it
		who, err = v.s.Book.Learner(v.ctx, personID(v.r.PathValue("person")))
	} else {
		who, err = v.personFor(do)
	}
	if err == nil && !slices.ContainsFunc(roster, func(l scoring.Learner) bool { return l.ID == who.ID }) {
		err = errForbidden
	}
	return class, roster, who, err
}

// personPage shows what there is to read of somebody on the list, and to do.
func (s *Server) personPage(v *visit) error {
	class, roster, who, err := v.memberFor(readClass)
	if err != nil {
		return err
	}
	may := map[string]bool{}
	for _, do := range []action{readAnswers, takeOut, resetPassphrase, move, merge, erase, appointLead} {
		thing, err := s.thingOf(v.ctx, do, v.who, who.ID)
		if err != nil {
			return err
		}
		may[string(do)] = v.may(do, thing) == nil
	}
	page := map[string]any{"Title": who.Name, "Class": class, "Person": who, "May": may, "Learner": who.Role == scoring.RoleLearner}
	if may[string(readAnswers)] {
		if page["Taken"], err = record.Taken(v.ctx, s.Book, who.ID, scoring.TestSet); err != nil {
			return err
		}
	}
	if _, err := s.Book.Account(v.ctx, who.ID); err == nil {
		page["HasAccount"] = true
	}
	_, run, err := v.classes()
	if err != nil {
		return err
	}
	page["Others"] = slices.DeleteFunc(run, func(c scoring.Class) bool { return c.ID == class.ID })
	page["Members"] = slices.DeleteFunc(slices.Clone(roster), func(l scoring.Learner) bool { return l.Role != scoring.RoleLearner || l.ID == who.ID })
	return v.show("person", page)
}

// personDeed asks, and does it when it is confirmed.
func (s *Server) personDeed(v *visit) error {
	d, ok := deeds[v.r.PathValue("deed")]
	if !ok {
		return errForbidden
	}
	class, _, who, err := v.memberFor(d.action)
	if err != nil {
		return err
	}
	// Nobody takes over another instructor's account, nor puts one out of a class.
	if who.Role != scoring.RoleLearner && who.ID != v.who.ID {
		return errRuns(who)
	}
	ask := fmt.Sprintf(d.ask, who.Name)
	if d.other != nil {
		name, err := d.other(v)
		if err != nil {
			return err
		}
		ask = fmt.Sprintf(d.ask, who.Name, name)
	}
	if ok, err := v.confirmed(ask); !ok {
		return err
	}
	return d.do(v, class, who)
}

// errRuns says that somebody is no learner, whom others could change.
func errRuns(who scoring.Learner) error {
	return fault.New(who.Name+" leads or instructs: only they themselves change that here.", forRunner+"makes a link with: shadedrill serve --link-for NAME")
}

// movedTo is the class that a form names to move somebody to: one of one's own.
func (v *visit) movedTo() (scoring.Class, error) {
	to, err := v.s.class(v.ctx, scoring.ClassID(v.r.PostFormValue("to")))
	if err != nil {
		return to, err
	}
	roster, err := v.s.Book.Roster(v.ctx, to.ID)
	if err != nil {
		return to, err
	}
	run, err := runners(v.ctx, v.s.Book, to.ID, roster)
	if err != nil {
		return to, err
	}
	return to, v.may(move, thing{RunBy: run})
}

// moveTo takes a person from one class to another, both of which are one's own.
func moveTo(v *visit, class scoring.Class, who scoring.Learner) error {
	to, err := v.movedTo()
	if err != nil {
		return err
	}
	err = v.s.Book.Merge(v.ctx, func(m record.Book) error {
		if err := m.Unenrol(v.ctx, class.ID, who.ID, v.s.Clock()); err != nil {
			return err
		}
		if err := m.Enrol(v.ctx, to.ID, who.ID, v.s.Clock()); err != nil {
			return err
		}
		if err := v.note(m, "moved from here", class.ID, who.ID); err != nil {
			return err
		}
		return v.note(m, "moved here", to.ID, who.ID)
	})
	if err != nil {
		return err
	}
	v.s.end(v.ctx, who.ID, "your classes have changed")
	return v.to(classPath(class))
}

// eraseFor takes a person out of the book for good.
func eraseFor(v *visit, class scoring.Class, who scoring.Learner) error {
	v.s.end(v.ctx, who.ID, "you are not in this book any more")
	err := v.s.Book.Merge(v.ctx, func(m record.Book) error {
		if err := m.EraseLearner(v.ctx, who.ID, v.s.Clock()); err != nil {
			return err
		}
		return v.note(m, "erased", class.ID, who.ID)
	})
	if err != nil {
		return err
	}
	v.s.cutBrowser(who.ID, "")
	v.s.wipe()
	return v.to(classPath(class))
}

// wipe lets no byte of what was erased stay in the file. While something is read that
// cannot be done; it is tried again.
func (s *Server) wipe() {
	s.running.Go(func() {
		for range 60 {
			err := s.Book.Wipe(s.base)
			if err == nil {
				return
			}
			s.Log.Warn("what was erased is not yet wiped from the file", "error", err.Error())
			select {
			case <-s.base.Done():
				return
			case <-time.After(time.Minute):
			}
			if s.draining.Load() {
				return
			}
		}
	})
}

// mergedInto is the entry that a form names to join another with.
func (v *visit) mergedInto() (scoring.Learner, error) {
	into, err := v.s.Book.Learner(v.ctx, personID(v.r.PostFormValue("into")))
	if err != nil {
		return into, err
	}
	thing, err := v.s.thingOf(v.ctx, merge, v.who, into.ID)
	if err != nil {
		return into, err
	}
	if err := v.may(merge, thing); err != nil {
		return into, err
	}
	switch {
	case into.ID == personID(v.r.PathValue("person")):
		return into, fault.New(into.Name+" is that entry already.", "choose the other one")
	case into.Role != scoring.RoleLearner:
		return into, fault.New(into.Name+" leads or instructs: nobody is joined with them here.", "choose a learner")
	}
	return into, nil
}

// mergeInto joins an entry with another of one's own.
func mergeInto(v *visit, class scoring.Class, who scoring.Learner) error {
	into, err := v.mergedInto()
	if err != nil {
		return err
	}
	v.s.end(v.ctx, who.ID, "your entry was joined with another")
	v.s.end(v.ctx, into.ID, "your entry was joined with another")
	err = v.s.Book.Merge(v.ctx, func(m record.Book) error {
		if _, err := m.JoinLearners(v.ctx, who.ID, into.ID, v.s.Clock()); err != nil {
			return err
		}
		return v.note(m, "joined with another entry", class.ID, into.ID)
	})
	if err != nil {
		return err
	}
	v.s.cutBrowser(who.ID, "")
	return v.to(classPath(class))
}
