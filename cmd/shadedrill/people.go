package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
)

func (a *app) peopleCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "people",
		Short: "Who is in the book: rename, join, pseudonymise, erase",
		Long: `Who is in the book, and what becomes of them. A person is named by name, or by
number where several have the name. Each command says what it will do and asks before
it does it; in a script --yes answers.

What was copied or written out before (backups, exports, reports) is out of reach.`,
		Example: `  shadedrill people list
  shadedrill people rename "Ada Finch" "Ada Lund" --number 4711
  shadedrill people merge "Adah Finch" "Ada Finch"
  shadedrill people erase "Ben Moor"`,
	}
	c.AddCommand(a.peopleList(), a.peopleRename(), a.peopleMerge(), a.peoplePseudonymise(), a.peopleErase(), a.peopleWipe())
	return c
}

func (a *app) peopleList() *cobra.Command {
	c := &cobra.Command{
		Use:   "list",
		Short: "List everybody, and what was done to people",
		Example: `  shadedrill people list
  shadedrill people list --section people --format csv`,
	}
	out := a.reportFlags(c)
	out.sectionFlag(c, "people", "done")
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		book, err := a.readBook(cmd.Context())
		if err != nil {
			return err
		}
		return out.write(classes.People(cmd.Context(), book))
	}
	return c
}

func (a *app) peopleRename() *cobra.Command {
	var number, email string
	var yes bool
	c := &cobra.Command{
		Use:   "rename NAME [NEW]",
		Short: "Give a person another name, a number of their own, an e-mail address",
		Example: `  shadedrill people rename "Ada Finch" "Ada Lund"
  shadedrill people rename "Ada Lund" --number 4711 --email ada@example.org
  shadedrill people rename 4711 --email ""`,
		Args:              oneOrTwo("a person"),
		ValidArgsFunction: a.completeLearner,
	}
	yesFlag(c, &yes)
	c.Flags().StringVar(&number, "number", "", "a `number` of their own, such as a student number; empty takes it away")
	c.Flags().StringVar(&email, "email", "", "an `address`; empty takes it away")
	c.RunE = func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		book, who, err := a.readPerson(ctx, args[0])
		if err != nil {
			return err
		}
		to := who
		if len(args) == 2 {
			to.Name, to.Pseudonym = args[1], false
		}
		if cmd.Flags().Changed("number") {
			to.Number = number
		}
		if cmd.Flags().Changed("email") {
			to.Email = email
		}
		if to, err = record.Changed(who, to); err != nil {
			return err
		}
		if to == who {
			return told.Misused("say the new name, --number or --email", "nothing about %s would change", who.Name)
		}
		everybody, err := book.Learners(ctx)
		if err != nil {
			return err
		}
		for _, other := range everybody {
			if other.ID != to.ID && record.Clash(to, other) {
				return record.ClashError(to, other)
			}
		}
		lines := []string{fmt.Sprintf("%s becomes %s. Answers, classes and roles stay.", described(who), described(to))}
		if other, alike := record.LooksLike(to.Name, everybody); alike && other.ID != to.ID {
			lines = append(lines, fmt.Sprintf("note: %s looks like %s, and is written with letters of another script.", to.Name, other.Name))
		}
		if err := a.sure(yes, lines...); err != nil {
			return err
		}
		if to, err = book.ChangeLearner(ctx, to, a.now()); err != nil {
			return err
		}
		a.say("Done: %s.", described(to))
		return nil
	}
	return c
}

func (a *app) peopleMerge() *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "merge NAME INTO",
		Short: "Join two entries of one person: answers, classes, roles",
		Long: `Join two entries of one person. All that the first has (answers, classes, calibration
sessions laid down, the higher of two roles) becomes the second's, whose name stays.
A file that names either of them finds the one from then on.`,
		Example: `  shadedrill people merge "Adah Finch" "Ada Finch"
  shadedrill people merge 4711 "Ada Finch" --yes`,
		Args:              exactly("the entry that goes", "the entry that stays"),
		ValidArgsFunction: a.completeLearner,
	}
	yesFlag(c, &yes)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		book, from, err := a.readPerson(ctx, args[0])
		if err != nil {
			return err
		}
		into, err := a.named(ctx, book, args[1])
		if err != nil {
			return err
		}
		joined, err := record.Joined(into, from)
		if err != nil {
			return err
		}
		has, _, err := a.belongings(ctx, book, from)
		if err != nil {
			return err
		}
		lines := []string{fmt.Sprintf("%s and %s become one person, %s (%s). %s come to them from %s. It cannot be taken back.",
			described(from), described(into), described(joined), joined.Role, has, from.Name)}
		if from.Number != "" && joined.Number != from.Number {
			lines = append(lines, fmt.Sprintf("note: they have two numbers, which speaks for two people; %s is given up.", from.Number))
		}
		if err := a.sure(yes, lines...); err != nil {
			return err
		}
		if _, err := book.JoinLearners(ctx, from.ID, into.ID, a.now()); err != nil {
			return err
		}
		a.say("Done: %s is one person.", joined.Name)
		return nil
	}
	return c
}

func (a *app) peoplePseudonymise() *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "pseudonymise NAME",
		Short: "Keep a person's answers and take out who they are",
		Long: `Put a label in the place of a person's name, and take number and address out. Answers,
classes and calibration sessions stay. Whoever has an earlier copy, export or report
can still tell who it was.`,
		Example:           `  shadedrill people pseudonymise "Ada Finch"`,
		Args:              exactly("a person"),
		ValidArgsFunction: a.completeLearner,
	}
	yesFlag(c, &yes)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		book, who, err := a.readPerson(ctx, args[0])
		if err != nil {
			return err
		}
		label, err := book.Label(ctx, "pseudonym", string(who.ID))
		if err != nil {
			return err
		}
		has, _, err := a.belongings(ctx, book, who)
		if err != nil {
			return err
		}
		to := who
		to.Name, to.Number, to.Email, to.Pseudonym = "Person "+label, "", "", true
		if err := a.sure(yes, fmt.Sprintf("%s becomes %s: name, number and address go out of the book for good. %s stay.", described(who), to.Name, has),
			"Copies, exports and reports made before still tell who it was."); err != nil {
			return err
		}
		if _, err := book.ChangeLearner(ctx, to, a.now()); err != nil {
			return err
		}
		a.say("Done: %s.", to.Name)
		return a.wipe(ctx, book)
	}
	return c
}

func (a *app) peopleErase() *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "erase NAME",
		Short: "Take a person out of the book for good, with every answer",
		Long: `Take a person out of the book for good: name, number, address, every answer, every
class. The book remembers an identifier that names nobody, so that an old file does
not bring them back, and that it was done. Then its file is written anew, so that no
trace is left in it.

Backups, exports and reports made before are out of reach: erase those yourself.`,
		Example: `  shadedrill people erase "Ada Finch"
  shadedrill people erase 4711 --yes`,
		Args:              exactly("a person"),
		ValidArgsFunction: a.completeLearner,
	}
	yesFlag(c, &yes)
	c.RunE = func(cmd *cobra.Command, args []string) error {
		ctx := cmd.Context()
		book, who, err := a.readPerson(ctx, args[0])
		if err != nil {
			return err
		}
		has, open, err := a.belongings(ctx, book, who)
		if err != nil {
			return err
		}
		lines := []string{fmt.Sprintf("%s goes out of the book for good, with %s. It cannot be taken back.", described(who), has)}
		if open > 0 {
			lines = append(lines, scoring.Count(open, "drill is", "drills are")+" unfinished: whoever has it open now can give no further answer.")
		}
		if err := a.sure(yes, append(lines, "Copies, exports and reports made before are not touched.")...); err != nil {
			return err
		}
		if err := book.EraseLearner(ctx, who.ID, a.now()); err != nil {
			return err
		}
		a.say("Done: the person is out of the book. An old file does not bring them back.")
		return a.wipe(ctx, book)
	}
	return c
}

func (a *app) peopleWipe() *cobra.Command {
	return &cobra.Command{
		Use:     "wipe",
		Short:   "Write the book's file anew, so that no trace of the erased is left in it",
		Long:    `Write the book's file anew, so that no trace of the erased is left in it: what erase and pseudonymise do by themselves, for when another program had the book open.`,
		Example: "  shadedrill people wipe",
		RunE: func(cmd *cobra.Command, _ []string) error {
			book, err := a.readBook(cmd.Context())
			if err != nil {
				return err
			}
			return a.wipe(cmd.Context(), book)
		},
	}
}

func (a *app) wipe(ctx context.Context, book record.Store) error {
	if err := book.Wipe(ctx); err != nil {
		return err
	}
	a.say("The book's file holds no trace of it.")
	return nil
}

func yesFlag(c *cobra.Command, yes *bool) {
	c.Flags().BoolVar(yes, "yes", false, "do it without asking")
}

// sure says what is about to be done and asks whether it should. Where nobody can be
// asked, --yes has to have been said.
func (a *app) sure(yes bool, what ...string) error {
	if !yes && !a.asks {
		return told.Fail("say --yes to do it", "nothing was done, since nobody can be asked here. %s", strings.Join(what, " "))
	}
	for _, line := range what {
		fmt.Fprintln(a.stderr, line)
	}
	if yes {
		return nil
	}
	fmt.Fprint(a.stderr, "Do it? [y/N] ")
	answer, _ := bufio.NewReader(a.stdin).ReadString('\n')
	switch strings.ToLower(strings.TrimSpace(answer)) {
	case "y", "yes":
		return nil
	}
	return told.Fail("answer y to do it", "nothing was done")
}

// readPerson opens the book and finds somebody in it by name or number.
func (a *app) readPerson(ctx context.Context, name string) (record.Store, scoring.Learner, error) {
	book, err := a.readBook(ctx)
	if err != nil {
		return nil, scoring.Learner{}, err
	}
	who, err := a.named(ctx, book, name)
	return book, who, err
}

// named finds somebody in an open book by name or number.
func (a *app) named(ctx context.Context, book record.Book, name string) (scoring.Learner, error) {
	who, err := book.LearnerByName(ctx, name)
	if !errors.Is(err, record.ErrNotFound) {
		return who, err
	}
	everybody, err := book.Learners(ctx)
	if err != nil {
		return who, err
	}
	hint := "nobody is in it yet"
	if len(everybody) > 0 {
		hint = "it holds " + some(everybody)
	}
	return who, told.Fail(hint, "%q is not in the book %s", name, a.bookName())
}

// described names a person so that two of one name can be told apart.
func described(l scoring.Learner) string {
	var more []string
	if l.Number != "" {
		more = append(more, "number "+l.Number)
	}
	if l.Email != "" {
		more = append(more, l.Email)
	}
	if len(more) == 0 {
		return l.Name
	}
	return l.Name + " (" + strings.Join(more, ", ") + ")"
}

// belongings are what a person has in the book, in words, and how many drills of
// theirs are unfinished.
func (a *app) belongings(ctx context.Context, book record.Book, who scoring.Learner) (string, int, error) {
	sittings, err := book.Sittings(ctx, record.Filter{Learner: who.ID})
	if err != nil {
		return "", 0, err
	}
	open, answers := 0, 0
	for _, s := range sittings {
		if s.Ended.IsZero() {
			open++
		}
	}
	for _, err := range book.Attempts(ctx, record.Filter{Learner: who.ID, Light: true, Silent: true}) {
		if err != nil {
			return "", 0, err
		}
		answers++
	}
	in, err := classes.Of(ctx, book, who.ID)
	if err != nil {
		return "", 0, err
	}
	words := scoring.Count(answers, "answer", "answers") + " of " + scoring.Count(len(sittings), "sitting", "sittings") + " and a place in "
	if len(in) == 0 {
		return words + "no class", open, nil
	}
	return words + classNames(in), open, nil
}

// oneOrTwo takes the named argument, and one more if it is there.
func oneOrTwo(name string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > 2 {
			return atMost(2)(c, args)
		}
		return atLeast(name)(c, args)
	}
}
