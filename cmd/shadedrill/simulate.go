package main

import (
	"context"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/simulate"
	"shadedrill/scoring/simulate/truths"
)

// simulatedFrom is the first day of simulated sittings: fixed, so that the same
// seed makes the same book on any day.
const simulatedFrom = "2025-01-06"

func (a *app) simulateCommand() *cobra.Command {
	plan := simulate.Plan{Setup: exercises.Setup{Viewing: exercises.DefaultViewing()}}
	var kind, from, targets, attribute, task, form, class, session string
	c := &cobra.Command{
		Use:   "simulate",
		Short: "Fill a book with simulated learners and print what is true of them",
		Long: `Fill a book with simulated learners, who answer like people with a known bias
and a known scatter, and print these. Then hold the tables against the truth.

They are called "Simulated 01" and so on, and every report says so.
They go into the book that --book names, never into your own by
default. The same seed makes the same people, answers and days.`,
		Example: `  shadedrill simulate --learners 5 --sittings 6 --seed 1 --book demo.db
  shadedrill progress --book demo.db --learner "Simulated 01"
  shadedrill simulate --class "Monday group" --learners 30 --book class.db
  shadedrill simulate --panel "Spring team" --learners 6 --seed 3 --book demo.db
  shadedrill simulate --learners 30 --improve --seed 2 --book class.db
  shadedrill simulate --thresholds --runs 20`,
	}
	out := a.reportFlags(c)
	f := c.Flags()
	var thresholds, biases, trends, exams bool
	var chooser string
	var even bool
	var runs, draws int
	f.BoolVar(&thresholds, "thresholds", false, "fill no book: let observers with known thresholds be measured, and print how near the truth it comes")
	f.BoolVar(&biases, "biases", false, "fill no book: let observers with known biases answer, and print how near the truth it comes")
	f.BoolVar(&trends, "trends", false, "fill no book: let observers of known ability practise, evenly and adaptively, and print how often a trend is told")
	f.BoolVar(&exams, "tests", false, "fill no book: let people of known error take the usual form of the proficiency test, and print whether its results follow their errors")
	f.StringVar(&chooser, "chooser", truths.ByTheBook.Name, "with --biases and --tests: `how` they choose: as-taught, at-once, tabs-only or guesses; with --tests also own-ways, which mixes them")
	f.IntVar(&runs, "runs", usualRuns, fmt.Sprintf("with --thresholds, --biases, --trends, --tests: `number` of runs behind each line; %d is the table of a README", fullRuns))
	f.IntVar(&draws, "draws", 0, "with --thresholds: `number` of bootstrap draws in each sitting, which take long (default: none)")
	f.IntVar(&plan.Learners, "learners", 5, "`number` of people")
	f.IntVar(&plan.Sittings, "sittings", 6, "`number` of drills each")
	f.IntVar(&plan.Items, "items", 20, "`number` of answers a drill")
	f.StringVar(&kind, "kind", string(exercises.ValueFirst), "the `exercise`")
	f.StringVar(&targets, "targets", string(exercises.NaturalTargets), "colours to match: `natural|tabs`")
	f.StringVar(&attribute, "attribute", "", "train `value|chroma|hue` alone, in an exercise that can")
	f.StringVar(&task, "task", "", "the exercise's own `variant`")
	f.StringVar(&from, "from", simulatedFrom, "`day` of the first sitting")
	f.StringVar(&form, "exam", "", "let them take this `form` of the proficiency test, once each; it is laid down if the book has none of that name")
	f.StringVar(&class, "class", "", "let them form a class of this `name`, in which some are biased, some improve, some stop practising")
	f.StringVar(&session, "panel", "", "let them take this calibration `session` of the book, once each")
	f.BoolVar(&even, "even", false, "with --class: practice does not adapt to their errors")
	f.BoolVar(&plan.Improve, "improve", false, "let them improve with practice")
	c.RegisterFlagCompletionFunc("kind", completeKind)
	c.RegisterFlagCompletionFunc("panel", a.completePanel)
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		if _, err := out.check(); err != nil {
			return err
		}
		if biases {
			return a.recoverBiases(cmd, out, runs, chooser)
		}
		if trends {
			return a.recoverTrends(cmd, out, runs)
		}
		if exams {
			return a.recoverTests(cmd, out, runs, chooser)
		}
		if thresholds {
			return a.recoverThresholds(cmd, out, runs, draws)
		}
		if cmd.Flags().Changed("runs") || cmd.Flags().Changed("draws") {
			return told.Misused("shadedrill simulate --thresholds --runs 2000", "--runs and --draws belong to --thresholds, and --runs to --biases, --trends and --tests")
		}
		if a.flags.book == "" && a.getenv("SHADEDRILL_BOOK") == "" {
			return told.Misused("name one, such as --book demo.db", "simulated learners need a book of their own")
		}
		if session != "" {
			if err := a.panelPlan(cmd, session, &plan); err != nil {
				return err
			}
			people, err := a.fill(cmd.Context(), &plan)
			if err != nil {
				return err
			}
			return out.write(simulate.Report(plan, people), nil)
		}
		k, err := kindNamed(kind)
		if err != nil {
			return err
		}
		if plan.From, err = day("--from", from); err != nil {
			return err
		}
		// A day of a simulation is the same day everywhere.
		plan.From = time.Date(plan.From.Year(), plan.From.Month(), plan.From.Day(), 0, 0, 0, 0, time.UTC)
		plan.Seed = a.seed()
		if form != "" {
			if err := a.examPlan(cmd, form, kind, &plan); err != nil {
				return err
			}
		}
		if class != "" {
			if plan.Class, err = a.madeUpClass(cmd, class, &plan); err != nil {
				return err
			}
		}
		if err := plan.Check(); err != nil {
			return told.Misread(err, cmd.CommandPath())
		}
		if attribute != "" {
			if err := narrowed(k, attribute); err != nil {
				return err
			}
		}
		library, err := loadLibrary(a.flags.library)
		if err != nil {
			return err
		}
		plan.Setup.Kind, plan.Setup.Sheet = k.ID(), tabs.NewSheet(library, nil)
		// A class practises as people do, whose drills adapt.
		plan.Setup.Adaptive = class != "" && k.Traits().Adapts && !even
		plan.Setup.Targets, plan.Setup.Attribute, plan.Setup.Task = exercises.Targets(targets), attribute, task
		people, err := a.fill(cmd.Context(), &plan)
		if err != nil {
			return err
		}
		return out.write(simulate.Report(plan, people), nil)
	}
	return c
}

// madeUpClass is a class whose people also do an assignment, and take the usual form
// of the proficiency test. The pass mark is a house choice that some fail.
func (a *app) madeUpClass(cmd *cobra.Command, name string, plan *simulate.Plan) (*simulate.Class, error) {
	if cmd.Flags().Changed("exam") || cmd.Flags().Changed("improve") {
		return nil, told.Misused("a class takes the test and improves by itself", "--class does not go with --exam or --improve")
	}
	clean, err := record.CleanName(name)
	if err != nil {
		return nil, &told.Usage{Err: err}
	}
	test, err := scoring.StandardTest("A", scoring.UsualItems)
	if err != nil {
		return nil, err
	}
	form, err := drawnBy(test, *plan)
	if err != nil {
		return nil, err
	}
	return &simulate.Class{Name: clean, Test: form, Pass: scoring.PassMark{Rule: scoring.PassMedian, Value: 2}}, nil
}

// drawnBy draws a form from the plan's own seed, so that the same plan makes the same
// book: nobody but simulated people is to take it.
func drawnBy(test scoring.Set, plan simulate.Plan) (record.Form, error) {
	var seed [32]byte
	binary.BigEndian.PutUint64(seed[:], plan.Seed)
	drawn, err := test.Drawn(rand.NewChaCha8(seed))
	return record.Form{Name: test.Ref.Name, Parts: drawn.Parts, Levels: scoring.UsualCuts(test), At: plan.From}, err
}

// examPlan makes a plan of a form of the test: one of the book, or one that is laid
// down for it.
func (a *app) examPlan(cmd *cobra.Command, name, kind string, plan *simulate.Plan) error {
	if cmd.Flags().Changed("sittings") && plan.Sittings != 1 {
		return told.Misused("leave it out", "a form is taken once, so --sittings does not go with --exam")
	}
	plan.Sittings = 1
	ctx := cmd.Context()
	book, err := a.useBook(ctx)
	if err != nil {
		return err
	}
	list, err := book.Forms(ctx)
	if err != nil {
		return err
	}
	for _, f := range list {
		if record.NameKey(f.Name) != record.NameKey(name) {
			continue
		}
		set := f.Set()
		for i := range set.Parts {
			if set.Parts[i], err = withSheet(ctx, book, set.Parts[i]); err != nil {
				return err
			}
		}
		plan.Set = &set
		return nil
	}
	test, err := a.testOf(cmd, name, []string{kind}, plan.Items)
	if cmd.Flags().Changed("kind") {
		test, err = a.testNamed(name, []string{kind}, plan.Items)
	}
	if err != nil {
		return err
	}
	form, err := drawnBy(test, *plan)
	set := form.Set()
	plan.Form, plan.Set = &form, &set
	return err
}

func withSheet(ctx context.Context, book record.Book, setup exercises.Setup) (_ exercises.Setup, err error) {
	if setup.SheetID != "" {
		setup.Sheet, err = book.Sheet(ctx, setup.SheetID)
	}
	return setup, err
}

// fill lets the people of a plan practise, numbered on from those who are in
// the book already.
func (a *app) fill(ctx context.Context, plan *simulate.Plan) ([]simulate.Person, error) {
	book := a.book
	if book == nil {
		var err error
		if book, err = a.useBook(ctx); err != nil {
			return nil, err
		}
	}
	everybody, err := book.Learners(ctx)
	if err != nil {
		return nil, err
	}
	taken := map[string]bool{}
	for _, p := range everybody {
		taken[p.Name] = true
		if !p.Simulated && a.flags.book == "" {
			return nil, told.Misused("name a book with --book, or this one if you mean it",
				"%s holds real people, among whom nobody is to be simulated", a.bookName())
		}
	}
	for plan.First = 1; taken[simulate.Name(plan.First)]; plan.First++ {
	}
	people := plan.Invent()
	bar := a.progressBar(plan.Answers(), "answering")
	if err := fillBook(ctx, book, *plan, people, bar.Set); err != nil {
		return nil, err
	}
	bar.Finish()
	return people, nil
}

// fillBook enters everything in one transaction: quicker, and a simulation that
// is broken off leaves nothing.
func fillBook(ctx context.Context, book record.Store, plan simulate.Plan, people []simulate.Person, done func(int)) error {
	err := book.Merge(ctx, func(into record.Book) error { return plan.Fill(ctx, into, people, done) })
	if err != nil {
		return fmt.Errorf("the simulation stopped: %w", err)
	}
	return nil
}
