package main

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
)

// changeFlags say what is decided about an assignment that was given.
type changeFlags struct {
	which, until, why string
	extend, excuse    []string
	drop              []int
	remove, undo, yes bool
}

func (f *changeFlags) flags(c *cobra.Command) {
	c.Flags().StringVar(&f.which, "assignment", "", "decide about the assignment of this `number or code`")
	c.Flags().StringArrayVar(&f.extend, "extend", nil, "give this `person` longer, with --until")
	c.Flags().StringVar(&f.until, "until", "", "the `day`, whose end counts, or day and time, until when whoever is extended is in time")
	c.Flags().StringArrayVar(&f.excuse, "excuse", nil, "this `person` need not do it, and it does not count for them")
	c.Flags().IntSliceVar(&f.drop, "drop", nil, "leave the `item` of this number out of everybody's grade, with --why")
	c.Flags().BoolVar(&f.remove, "remove", false, "take the assignment back; answers stay in the book")
	c.Flags().BoolVar(&f.undo, "undo", false, "take back what --extend, --excuse, --drop or --remove decided")
	c.Flags().StringVar(&f.why, "why", "", "the `reason`, written down beside it")
	yesFlag(c, &f.yes)
}

// asked reports whether something is decided about an assignment, rather than one given.
func (f *changeFlags) asked(c *cobra.Command) bool {
	for _, name := range []string{"assignment", "extend", "until", "excuse", "drop", "remove", "undo"} {
		if c.Flags().Changed(name) {
			return true
		}
	}
	return false
}

// changeAssignment decides something about an assignment: all that is asked or nothing.
func (a *app) changeAssignment(c *cobra.Command, of string, f *changeFlags, due string) error {
	moves := c.Flags().Changed("due")
	asked := len(f.extend) + len(f.excuse) + len(f.drop)
	for _, is := range []bool{moves, f.remove} {
		if is {
			asked++
		}
	}
	switch {
	case asked == 0:
		return told.Misused("--due, --extend, --excuse, --drop or --remove", "nothing is said about the assignment")
	case (len(f.extend) > 0 && !f.undo) != (f.until != ""):
		return told.Misused(`--extend "Ada Finch" --until 2026-12-08`, "--extend and --until go together")
	case f.undo && moves:
		return told.Misused("say the due date that is to be", "--undo does not go with --due")
	case f.remove && asked > 1:
		return told.Misused("--remove alone", "what is taken back has no due date, excuses or items")
	}
	for _, name := range []string{"kind", "pass", "count", "targets", "attribute", "task", "limit", "rest", "gap", "surround", "light", "seed", "library"} {
		if c.Flags().Changed(name) {
			return told.Misused("take it back and give another one", "what an assignment asks is never changed, and so there is no --%s here", name)
		}
	}
	ctx := c.Context()
	book, class, err := a.readClass(ctx, of)
	if err != nil {
		return err
	}
	as, err := a.oneAssignment(ctx, book, class, f.which)
	if err != nil {
		return err
	}
	rulings, err := a.rulings(ctx, book, class, f, due)
	if err != nil {
		return err
	}
	if f.remove && !f.undo {
		begun, err := book.Sittings(ctx, record.Filter{Within: as.Set().Ref.String()})
		if err != nil {
			return err
		}
		who := map[scoring.LearnerID]bool{}
		for _, s := range begun {
			who[s.Learner] = true
		}
		if err := a.sure(f.yes, fmt.Sprintf("Assignment %d (%s) of %s is taken back: %s. %s began it; their answers stay in the book, and nobody is graded by it.",
			as.Number, as.Code(), class.Name, classes.AssignmentWords(as), people(len(who)))); err != nil {
			return err
		}
	}
	names := a.names(ctx, book)
	var said []string
	err = book.Merge(ctx, func(m record.Book) (err error) {
		for _, r := range rulings {
			if as, err = record.Rule(ctx, m, as, r); err != nil {
				return err
			}
			said = append(said, classes.RulingWords(as, r, names))
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, words := range said {
		a.say("Assignment %d (%s) of %s: %s.", as.Number, as.Code(), class.Name, words)
	}
	fmt.Fprintf(a.stdout, "Grades are computed by it from now on: shadedrill class grades %q\n", class.Name)
	return nil
}

// oneAssignment is the one that is named, or the only one of the class.
func (a *app) oneAssignment(ctx context.Context, book record.Book, class scoring.Class, which string) (scoring.Assignment, error) {
	if which != "" {
		return a.assignedTo(ctx, book, class, which)
	}
	all, err := book.Assignments(ctx, class.ID)
	if err == nil && len(all) != 1 {
		err = told.Misused("say which with --assignment: shadedrill class assignments "+strconv.Quote(class.Name), "%s has %s", class.Name, scoring.Count(len(all), "assignment", "assignments"))
	}
	if err != nil {
		return scoring.Assignment{}, err
	}
	return all[0], nil
}

// rulings are what the flags decide.
func (a *app) rulings(ctx context.Context, book record.Book, class scoring.Class, f *changeFlags, due string) (list []scoring.Ruling, err error) {
	r := scoring.Ruling{Why: strings.TrimSpace(f.why), At: a.now(), Back: f.undo}
	if name := a.learnerName(); name != "" {
		who, err := a.named(ctx, book, name)
		if err != nil {
			return nil, err
		}
		r.By = who.ID
	}
	if due != "" {
		r := r
		r.What = scoring.DueMoved
		if r.Until, err = dueAt("--due", due); err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	for i, name := range append(slices.Clone(f.extend), f.excuse...) {
		r := r
		r.What = scoring.Excused
		if i < len(f.extend) {
			r.What = scoring.Extended
		}
		if r.What == scoring.Extended && !f.undo {
			if r.Until, err = dueAt("--until", f.until); err != nil {
				return nil, err
			}
		}
		if r.Learner, err = a.onRoster(ctx, book, class, name); err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	for _, item := range f.drop {
		r := r
		r.What, r.Item = scoring.Dropped, item
		list = append(list, r)
	}
	if f.remove {
		r := r
		r.What = scoring.Removed
		list = append(list, r)
	}
	return list, nil
}

// onRoster finds somebody in a class by name or number.
func (a *app) onRoster(ctx context.Context, book record.Book, class scoring.Class, name string) (scoring.LearnerID, error) {
	roster, err := book.Roster(ctx, class.ID)
	if err != nil {
		return "", err
	}
	who, err := a.named(ctx, book, name)
	if err != nil {
		return "", err
	}
	for _, l := range roster {
		if l.ID == who.ID {
			return l.ID, nil
		}
	}
	return "", told.Fail("on it are "+some(roster), "%s is not on the roster of %s", who.Name, class.Name)
}

// names finds the name of whoever the book has.
func (a *app) names(ctx context.Context, book record.Book) func(scoring.LearnerID) string {
	return func(id scoring.LearnerID) string {
		l, err := book.Learner(ctx, id)
		if err != nil {
			return "somebody who is not in the book"
		}
		return l.Name
	}
}
