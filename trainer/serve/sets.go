package serve

import (
	"context"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
)

// assign gives a class a drill to do.
func (s *Server) assign(v *visit) error {
	class, _, err := v.classFor(Assign)
	if err != nil {
		return err
	}
	a, err := s.assignment(v.r.PostFormValue("kind"), v.r.PostFormValue("count"), v.r.PostFormValue("pass"), v.r.PostFormValue("due"))
	if err != nil {
		return err
	}
	a.Class, a.At = class.ID, s.Clock()
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		if err := m.PutSheet(v.ctx, a.Setup.Sheet); err != nil {
			return err
		}
		given, err := m.AddAssignment(v.ctx, a)
		if err != nil {
			return err
		}
		return v.note(m, "assignment "+strconv.Itoa(given.Number), class.ID, "")
	})
	if err != nil {
		return err
	}
	return v.to("/classes/" + string(class.ID))
}

// mostTrials of an assignment; house choice: an hour or so.
const mostTrials = 200

// assignment is what a form says, with the usual library and way of looking.
func (s *Server) assignment(kind, count, pass, due string) (scoring.Assignment, error) {
	var none scoring.Assignment
	k, err := exercises.ByID(exercises.KindID(kind))
	if err != nil || k.Traits().ByHand {
		return none, fault.New("There is no such exercise to give to a class.", "choose one from the list")
	}
	library, err := tabs.Load(tabs.Builtin()[0])
	if err != nil {
		return none, err
	}
	setup := exercises.Setup{Kind: k.ID(), Version: k.Version(), Seed: rand.Uint64(), Count: number(count), Targets: exercises.NaturalTargets,
		Task: k.Traits().Task, Viewing: exercises.DefaultViewing(), Sheet: tabs.NewSheet(library, nil)}
	if setup.Count == 0 {
		setup.Count = trainer.UsualCount(k.ID())
	}
	if setup.Count < 1 || setup.Count > mostTrials {
		return none, fault.New("That number of trials cannot be given.", "from 1 to "+strconv.Itoa(mostTrials))
	}
	mark := scoring.PassMark{Rule: scoring.PassNone}
	if pass = strings.TrimSpace(strings.Replace(pass, ",", ".", 1)); pass != "" && pass != "none" {
		text, share := strings.CutSuffix(pass, "%")
		mark.Rule = scoring.PassMedian
		if mark.Value, err = strconv.ParseFloat(strings.TrimSpace(text), 64); err != nil {
			return none, fault.New("That is no pass mark.", "a median ΔE00 such as 2.0, a share right such as 80%, or nothing")
		}
		if share {
			mark.Rule, mark.Value = scoring.PassShare, mark.Value/100
		}
	}
	if err := record.CheckPass(mark); err != nil {
		return none, err
	}
	if err := scoring.Gradable(setup, mark.Rule); err != nil {
		return none, fault.Wrap(err, "another pass mark, or none")
	}
	until, err := time.ParseInLocation(time.DateOnly, due, time.Local)
	if err != nil {
		return none, fault.New("The due day is no day.", "such as 2030-05-31")
	}
	if _, err := exercises.NewRun(setup); err != nil {
		return none, err
	}
	return scoring.Assignment{Setup: setup, Pass: mark, Due: until.AddDate(0, 0, 1)}, nil
}

// ofClass is the set that a form names: an assignment of the class, by its number.
func (s *Server) ofClass(ctx context.Context, class scoring.Class, text string) (scoring.Set, error) {
	a, err := s.Book.Assignment(ctx, number(text))
	if err != nil || a.Class != class.ID {
		return scoring.Set{}, errForbidden
	}
	return a.Set(), nil
}

// beginNow opens a set for a room: who is here now finds it before them, who comes
// later at their next start.
func (s *Server) beginNow(v *visit) error {
	class, roster, err := v.classFor(Assign)
	if err != nil {
		return err
	}
	set, err := s.ofClass(v.ctx, class, v.r.PostFormValue("number"))
	if err != nil {
		return err
	}
	if err := v.note(s.Book, "begun now: "+set.Name(), class.ID, ""); err != nil {
		return err
	}
	for _, l := range roster {
		if l.Role != scoring.RoleLearner {
			continue
		}
		progress, err := record.ProgressOf(v.ctx, s.Book, set, l.ID)
		if err != nil {
			return err
		}
		if progress.Over() {
			continue
		}
		s.drills.mu.Lock()
		s.drills.next[l.ID] = set.Ref.String()
		s.drills.mu.Unlock()
		s.end(v.ctx, l.ID, "your class begins")
	}
	return v.to("/classes/" + string(class.ID) + "/live")
}

// collect ends a set for a room: what was given is kept, and nobody goes on.
func (s *Server) collect(v *visit) error {
	class, roster, err := v.classFor(Assign)
	if err != nil {
		return err
	}
	set, err := s.ofClass(v.ctx, class, v.r.PostFormValue("number"))
	if err != nil {
		return err
	}
	if v.r.PostFormValue("confirm") == "" {
		return v.show("confirm", map[string]any{"Title": "Really?", "Ask": "Whoever is still at " + set.Name() + " is stopped. What was given is kept, but counts as left early.",
			"Back": "/classes/" + string(class.ID), "Kept": kept(v, "confirm")})
	}
	for _, l := range roster {
		s.drills.mu.Lock()
		delete(s.drills.next, l.ID)
		s.drills.mu.Unlock()
		open, err := s.Book.Sittings(v.ctx, record.Filter{Learner: l.ID, Within: set.Ref.String(), Unfinished: true})
		if err != nil {
			return err
		}
		if len(open) == 0 {
			continue
		}
		s.end(v.ctx, l.ID, "your class is over")
		for _, sitting := range open {
			if err := s.Book.EndSitting(v.ctx, sitting.ID, s.Clock(), true); err != nil {
				return err
			}
		}
	}
	if err := v.note(s.Book, "collected: "+set.Name(), class.ID, ""); err != nil {
		return err
	}
	return v.to("/classes/" + string(class.ID) + "/live")
}
