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

// runners are those who run a class: the instructors on its roster.
func runners(roster []scoring.Learner) (list []personID) {
	list = []personID{}
	for _, l := range roster {
		if l.Role == scoring.RoleInstructor {
			list = append(list, l.ID)
		}
	}
	return list
}

// classFor is the class that a request names, where the table allows the action.
func (v *visit) classFor(do Action) (scoring.Class, []scoring.Learner, error) {
	class, err := v.s.class(v.ctx, scoring.ClassID(v.r.PathValue("class")))
	if err != nil {
		return class, nil, err
	}
	roster, err := v.s.Book.Roster(v.ctx, class.ID)
	if err != nil {
		return class, nil, err
	}
	return class, roster, v.may(do, Thing{RunBy: runners(roster)})
}

// everywhere are the actions that touch what a person is in all their classes: only
// who runs every one of them may. What is asked about one class, such as how somebody
// stands or that they get a new code, who runs one of them may.
var everywhere = map[Action]bool{Move: true, Merge: true, Erase: true, AppointLead: true}

// thingOf is what the table asks about a person.
func (s *Server) thingOf(ctx context.Context, do Action, who personID) (Thing, error) {
	t := Thing{Of: who, RunBy: []personID{}}
	classes, err := classesOf(ctx, s.Book, who)
	if err != nil {
		return t, err
	}
	for i, c := range classes {
		roster, err := s.Book.Roster(ctx, c.ID)
		if err != nil {
			return t, err
		}
		run := runners(roster)
		switch {
		case i == 0:
			t.RunBy = run
		case everywhere[do]:
			t.RunBy = slices.DeleteFunc(t.RunBy, func(id personID) bool { return !slices.Contains(run, id) })
		default:
			t.RunBy = append(t.RunBy, run...)
		}
	}
	return t, nil
}

// personFor is the person that a request names, where the table allows the action.
func (v *visit) personFor(do Action) (scoring.Learner, error) {
	who, err := v.s.Book.Learner(v.ctx, personID(v.r.PathValue("person")))
	if err != nil {
		return who, err
	}
	thing, err := v.s.thingOf(v.ctx, do, who.ID)
	if err != nil {
		return who, err
	}
	return who, v.may(do, thing)
}

// deed is something that an instructor does to a person of a class.
type deed struct {
	action Action
	// ask is what the page asks before it is done.
	ask string
	do  func(v *visit, class scoring.Class, who scoring.Learner) error
}

var deeds = map[string]deed{
	"link": {ResetPassphrase, "%s gets a link for one new passphrase. When it is used, every browser in which they are signed in is signed out.",
		func(v *visit, class scoring.Class, who scoring.Learner) error {
			return v.showLinks(class, []scoring.Learner{who})
		}},
	"off": {Move, "%s goes off the class's list. Their answers stay in the book.",
		func(v *visit, class scoring.Class, who scoring.Learner) error {
			err := v.s.Book.Merge(v.ctx, func(m record.Book) error {
				if err := m.Unenrol(v.ctx, class.ID, who.ID, v.s.Clock()); err != nil {
					return err
				}
				return v.note(m, "taken off the class", class.ID, who.ID)
			})
			if err != nil {
				return err
			}
			v.s.end(v.ctx, who.ID, "your classes have changed")
			return v.to("/classes/" + string(class.ID))
		}},
	"erase": {Erase, "%s is erased: name, answers, account, everything that is kept about them here, for good. Copies of the book from before still hold it.", eraseFor},
	"merge": {Merge, "%s and the other entry are one person: everything of this entry goes to the other one, whose name stays.", mergeInto},
	"move":  {Move, "%s goes from this class to the other one. Their answers stay theirs.", moveTo},
}

// personDeed asks, and does it when it is confirmed.
func (s *Server) personDeed(v *visit) error {
	d, ok := deeds[v.r.PathValue("deed")]
	if !ok {
		return errForbidden
	}
	class, roster, err := v.classFor(ReadClass)
	if err != nil {
		return err
	}
	who, err := v.personFor(d.action)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(roster, func(l scoring.Learner) bool { return l.ID == who.ID }) {
		return errForbidden
	}
	// Nobody takes over another instructor's account, nor puts one out of a class.
	if who.Role != scoring.RoleLearner && who.ID != v.who.ID {
		return fault.New(who.Name+" leads or instructs: only they themselves change that here.", "whoever runs this server makes a link with: shadedrill serve --link-for NAME")
	}
	if v.r.PostFormValue("confirm") == "" {
		return v.show("confirm", map[string]any{"Title": "Really?", "Ask": fmt.Sprintf(d.ask, who.Name), "Back": "/classes/" + string(class.ID), "Kept": kept(v, "confirm")})
	}
	return d.do(v, class, who)
}

// kept are the fields of a form, to be sent again with the confirmation.
func kept(v *visit, but ...string) map[string]string {
	fields := map[string]string{}
	for name, values := range v.r.PostForm {
		if !slices.Contains(but, name) && len(values) > 0 {
			fields[name] = values[0]
		}
	}
	return fields
}

// moveTo takes a person from one class to another, both of which are one's own.
func moveTo(v *visit, class scoring.Class, who scoring.Learner) error {
	to, err := v.s.class(v.ctx, scoring.ClassID(v.r.PostFormValue("to")))
	if err != nil {
		return err
	}
	roster, err := v.s.Book.Roster(v.ctx, to.ID)
	if err != nil {
		return err
	}
	if err := v.may(Move, Thing{RunBy: runners(roster)}); err != nil {
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
	return v.to("/classes/" + string(class.ID))
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
	return v.to("/classes/" + string(class.ID))
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

// mergeInto joins an entry with another of one's own.
func mergeInto(v *visit, class scoring.Class, who scoring.Learner) error {
	into, err := v.s.Book.Learner(v.ctx, personID(v.r.PostFormValue("into")))
	if err != nil {
		return err
	}
	thing, err := v.s.thingOf(v.ctx, Merge, into.ID)
	if err != nil {
		return err
	}
	if err := v.may(Merge, thing); err != nil {
		return err
	}
	if into.Role != scoring.RoleLearner {
		return fault.New(into.Name+" leads or instructs: nobody is joined with them here.", "choose a learner")
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
	return v.to("/classes/" + string(class.ID))
}
