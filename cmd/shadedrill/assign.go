package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour"
	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
	"shadedrill/trainer"
	"shadedrill/trainer/ask"
)

func (a *app) classAssign() *cobra.Command {
	var d drillFlags
	var change changeFlags
	var kind, pass, due string
	c := &cobra.Command{
		Use:   "assign CLASS",
		Short: "Give a class a drill to do, and decide about it later: due date, more time, excuses",
		Long: `Give a class a drill to do: the same trials for everybody, a pass mark, a due
date. Each does it once, from the trainer's menu or with "practise --assignment".

The pass mark is a median ΔE00 that must not be exceeded ("2.0"), a share of
answers that must be right ("80%"), or "none".

With --assignment, the number or the code of one that was given, something is decided
about it: another --due date, --extend for one person, --excuse, --drop of an item from
everybody's grade, --remove. It is written down with the time, --learner as the one
who decided, and --why; grades are computed by it from then on; --undo takes it back.`,
		Example: `  shadedrill class assign "Monday group" --pass 2.0 --due 2026-12-01
  shadedrill class assign Monday --kind thirds --pass 70% --due 2026-12-01
  shadedrill class assign Monday --assignment 3 --due 2026-12-08
  shadedrill class assign Monday --assignment 3 --extend Ada --until 2026-12-15
  shadedrill class assign Monday --assignment 3 --excuse Ben --why ill
  shadedrill class assign Monday --assignment 3 --drop 7 --why dim --learner Ida
  shadedrill class assign Monday --assignment 3 --remove`,
		Args:              exactly("a class"),
		ValidArgsFunction: a.completeClass,
	}
	d.viewingFlags(c)
	d.questionFlags(c)
	f := c.Flags()
	f.StringVar(&kind, "kind", string(exercises.ValueFirst), "the `exercise`")
	f.StringVar(&pass, "pass", "none", "the pass mark: a `median or share`, or none")
	f.StringVar(&due, "due", "", "the `day`, whose end counts, or day and time, until when it is in time")
	change.flags(c)
	c.RegisterFlagCompletionFunc("kind", completeKind)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if change.asked(cmd) {
			return a.changeAssignment(cmd, args[0], &change, due)
		}
		as, err := a.assignment(cmd, &d, kind, pass, due)
		if err != nil {
			return err
		}
		ctx := cmd.Context()
		book, class, err := a.readClass(ctx, args[0])
		if err != nil {
			return err
		}
		as.Class, as.At = class.ID, a.now()
		err = book.Merge(ctx, func(m record.Book) (err error) {
			if err = m.PutSheet(ctx, as.Setup.Sheet); err == nil {
				as, err = m.AddAssignment(ctx, as)
			}
			return err
		})
		if err != nil {
			return err
		}
		a.say("Assignment %d for %s: %s.", as.Number, class.Name, classes.AssignmentWords(as))
		a.say("Its code, the same in every book: %s", as.Code())
		if !a.now().Before(as.Due) {
			a.say("It is due already: whoever does it will be late.")
		}
		fmt.Fprintf(a.stdout, "Everybody finds it in the trainer's menu, or does it with: shadedrill practise --assignment %d --learner NAME\n", as.Number)
		return nil
	}
	return c
}

// assignment is what the flags say, but for class and time.
func (a *app) assignment(c *cobra.Command, d *drillFlags, kind, pass, due string) (scoring.Assignment, error) {
	var none scoring.Assignment
	k, err := kindNamed(kind)
	if err != nil {
		return none, err
	}
	if k.Traits().ByHand {
		return none, told.Misused("assign an exercise on the screen, such as value-first", "the %s is done with everybody's own tabs in the hand: no two would do the same", strings.ToLower(k.Title()))
	}
	if !ask.Shown(k.ID()) {
		return none, told.Misused("take another one: "+kindNames(), "the trainer has no screen for %s yet", k.ID())
	}
	if _, err := d.config(c, k); err != nil {
		return none, err
	}
	mark, err := passMark(pass)
	if err != nil {
		return none, err
	}
	until, err := dueAt("--due", due)
	if err != nil {
		return none, err
	}
	library, err := loadLibrary(a.flags.library)
	if err != nil {
		return none, err
	}
	var under func(colour.Lab) colour.Lab
	if d.light != "" {
		lamp, err := colour.LightByID(d.light)
		if err != nil {
			return none, err
		}
		under = exercises.Under(lamp)
	}
	s := exercises.Setup{Kind: k.ID(), Version: k.Version(), Seed: a.seed(), Count: d.count, Targets: exercises.Targets(d.targets),
		Attribute: d.attribute, Task: d.task, Viewing: d.viewing(), Sheet: tabs.NewSheet(library, under)}
	if s.Count == 0 {
		s.Count = trainer.UsualCount(k.ID())
	}
	if s.Targets == "" {
		s.Targets = exercises.NaturalTargets
	}
	if s.Task == "" {
		s.Task = k.Traits().Task
	}
	if err := scoring.Gradable(s, mark.Rule); err != nil {
		return none, told.Misread(fault.Wrap(err, "another --pass, or --pass none"), c.CommandPath())
	}
	return scoring.Assignment{Setup: s, Pass: mark, Due: until}, nil
}

// passMark reads "2.0", "80%" or "none".
func passMark(text string) (scoring.PassMark, error) {
	const hint = `a median ΔE00 such as 2.0, a share right such as 80%, or none`
	p := scoring.PassMark{Rule: scoring.PassNone}
	if strings.EqualFold(strings.TrimSpace(text), "none") {
		return p, nil
	}
	number, share := strings.CutSuffix(strings.TrimSpace(text), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil {
		return p, told.Misused(hint, "--pass is %q, which is no pass mark", text)
	}
	p.Rule, p.Value = scoring.PassMedian, v
	if share {
		p.Rule, p.Value = scoring.PassShare, v/100
	}
	if record.CheckPass(p) != nil {
		return p, told.Misused(hint, "--pass is %q, which nobody could reach or fail", text)
	}
	return p, nil
}

// dueAt reads a day, which ends at midnight, or a day and a time, in the user's
// time zone.
func dueAt(flag, text string) (time.Time, error) {
	const hint = `write year, month and day, and a time if you like: 2026-12-01 or "2026-12-01 17:00"`
	if text == "" {
		return time.Time{}, told.Misused(hint, "an assignment needs --due, until when it is to be done")
	}
	if t, ok := trainer.DueAt(text); ok {
		return t, nil
	}
	return time.Time{}, told.Misused(hint, "%s is %q, which is neither a day nor a day and a time", flag, text)
}

func (a *app) classAssignments() *cobra.Command {
	c := &cobra.Command{
		Use:               "assignments CLASS",
		Short:             "List what a class is to do, and how many did it",
		Example:           `  shadedrill class assignments "Monday group"`,
		Args:              exactly("a class"),
		ValidArgsFunction: a.completeClass,
	}
	out := a.reportFlags(c)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		book, class, err := a.readClass(cmd.Context(), args[0])
		if err != nil {
			return err
		}
		return out.write(classes.Assignments(cmd.Context(), book, class, a.now()))
	}
	return c
}

func (a *app) classGrades() *cobra.Command {
	var which string
	var wide bool
	points := float64(classes.UsualPoints)
	c := &cobra.Command{
		Use:   "grades CLASS",
		Short: "Who did the assignments of a class, and who passed",
		Long: `Who did the assignments of a class, and who passed. Leads and instructors on the
roster are not graded. With --wide a row a student and a column an assignment, with
points out of a maximum, as learning-management systems import them.`,
		Example: `  shadedrill class grades "Monday group" --assignment 3
  shadedrill class grades "Monday group" --wide --points 20 -o gradebook.csv
  shadedrill class grades "Monday group" --format csv -o grades.csv`,
		Args:              exactly("a class"),
		ValidArgsFunction: a.completeClass,
	}
	out := a.reportFlags(c)
	c.Flags().StringVar(&which, "assignment", "", "only the assignment of this `number or code`")
	c.Flags().BoolVar(&wide, "wide", false, "a row a student, a column an assignment")
	var display displayFlag
	display.flags(c)
	c.Flags().Float64Var(&points, "points", points, "what each assignment is worth, with --wide")
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		checked, err := display.checked()
		if err != nil {
			return err
		}
		switch {
		case !wide && cmd.Flags().Changed("points"):
			return told.Misused("add --wide", "--points has no place without --wide")
		case wide && cmd.Flags().Changed("assignment"):
			return told.Misused("leave one of them out", "--wide holds all assignments")
		case !(points > 0 && points <= 1000):
			return told.Misused("such as 10, or 100", "--points is %g, outside 0..1000", points)
		}
		ctx := cmd.Context()
		book, class, err := a.readClass(ctx, args[0])
		if err != nil {
			return err
		}
		number := 0
		if cmd.Flags().Changed("assignment") {
			as, err := a.assignedTo(ctx, book, class, which)
			if err != nil {
				return err
			}
			if !as.Gone().IsZero() {
				return told.Fail("what was decided about it: shadedrill class assignments "+strconv.Quote(class.Name), "assignment %s was taken back and has no grades", which)
			}
			number = as.Number
		}
		if wide {
			return out.write(classes.WideGrades(ctx, book, class, points, a.now(), checked))
		}
		return out.write(classes.Grades(ctx, book, class, number, a.now(), checked))
	}
	return c
}

// assigned finds an assignment by its number, or by the code that is the same in every
// book, which has no digits. Where a class is named its own comes before another's of
// that code.
func (a *app) assigned(ctx context.Context, book record.Book, which string, class scoring.ClassID) (scoring.Assignment, error) {
	var none scoring.Assignment
	const hint = `"shadedrill class assignments CLASS" lists those of a class`
	number, err := strconv.Atoi(which)
	if err == nil {
		as, err := book.Assignment(ctx, number)
		if errors.Is(err, record.ErrNotFound) {
			return as, told.Fail(hint, "there is no assignment %d in the book %s", number, a.bookName())
		}
		return as, err
	}
	all, err := book.Assignments(ctx, "")
	if err != nil {
		return none, err
	}
	var found []scoring.Assignment
	for _, as := range all {
		if strings.EqualFold(as.Code(), strings.TrimSpace(which)) {
			found = append(found, as)
		}
	}
	if own := slices.DeleteFunc(slices.Clone(found), func(as scoring.Assignment) bool { return as.Class != class }); len(own) > 0 {
		found = own
	}
	switch len(found) {
	case 0:
		return none, told.Fail(hint, "there is no assignment %q in the book %s", which, a.bookName())
	case 1:
		return found[0], nil
	}
	var numbers []string
	for _, as := range found {
		numbers = append(numbers, strconv.Itoa(as.Number))
	}
	return none, told.Fail("say its number: "+strings.Join(numbers, " or "), "%d assignments have the code %s", len(found), which)
}

// assignedTo is that of one class.
func (a *app) assignedTo(ctx context.Context, book record.Book, class scoring.Class, which string) (scoring.Assignment, error) {
	as, err := a.assigned(ctx, book, which, class.ID)
	if err == nil && as.Class != class.ID {
		err = told.Fail("see: shadedrill class assignments "+strconv.Quote(class.Name), "assignment %s is another class's", which)
	}
	return as, err
}

// practiseAssignment goes straight to an assignment.
func (a *app) practiseAssignment(ctx context.Context, which string) error {
	book, err := a.readBook(ctx)
	if err != nil {
		return err
	}
	as, err := a.assigned(ctx, book, which, "")
	if err != nil {
		return err
	}
	return a.takeSet(ctx, book, as.Set())
}
