package main

import (
	"context"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/adrg/xdg"
	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer"
	"shadedrill/trainer/ask"
)

// openTrainer shows the trainer with its menu.
func (a *app) openTrainer(ctx context.Context) error {
	return a.train(ctx, trainer.Config{})
}

// train runs the trainer on the book and with what the global flags say.
func (a *app) train(ctx context.Context, c trainer.Config) error {
	var err error
	if c.Libraries, err = a.libraries(); err != nil {
		return err
	}
	// A terminal that will not do is refused before a book is made.
	if err := trainer.Refuse(a.getenv); err != nil {
		return err
	}
	if c.Book == nil {
		if c.Book, err = a.useBook(ctx); err != nil {
			return err
		}
	}
	c.Clock, c.Chance, c.Getenv, c.Learner, c.LibraryChosen = a.now, a.chance, a.getenv, a.learnerName(), a.chosen
	c.RescueInto = []string{filepath.Join(xdg.DataHome, "shadedrill")}
	if a.seeded {
		c.Seed = &a.flags.seed
	}
	return trainer.RunHere(ctx, c)
}

// libraries are those to choose from, the wanted one first.
func (a *app) libraries() ([]*tabs.Library, error) {
	wanted, err := loadLibrary(a.flags.library)
	if err != nil {
		return nil, err
	}
	list := []*tabs.Library{wanted}
	for _, name := range tabs.Builtin() {
		if name == a.flags.library {
			continue
		}
		l, err := tabs.Load(name)
		if err != nil {
			return nil, err
		}
		list = append(list, l)
	}
	return list, nil
}

func (a *app) practiseCommand() *cobra.Command {
	var d drillFlags
	var list, plan, again bool
	var minutes int
	c := &cobra.Command{
		Use:   "practise [EXERCISE]",
		Short: "Practise an exercise; without one, today's plan, which is chosen from the book",
		Long: "Practise. With the name of an exercise the drill begins at once; without one\n" +
			"today's plan is made from your book: about ten minutes of what is weak, what\n" +
			"fades and one exercise that is new, each at the level that suits you. --plan\n" +
			"prints it and why; --again asks what you missed in the last weeks once more.\n\nExercises:\n" + kindLines(),
		Example: `  shadedrill practise
  shadedrill practise value-first --count 10 --library starter
  shadedrill practise value-first --limit 0 --gap 2 --seed 7
  shadedrill practise --plan --learner Ada
  shadedrill practise --again
  shadedrill practise --assignment 3 --learner Ada
  shadedrill practise --list`,
		Args:              atMost(1),
		ValidArgsFunction: completeKind,
	}
	d.flags(c)
	c.Flags().BoolVar(&again, "again", false, "ask once more what was missed in the last weeks and is due")
	c.Flags().IntVar(&minutes, "minutes", 0, "today's plan fills so many `minutes`, for this once")
	c.Flags().BoolVar(&list, "list", false, "list the exercises and what each trains")
	c.Flags().BoolVar(&plan, "plan", false, "print today's drills and why, and begin nothing")
	out := a.reportFlags(c)
	var assignment string
	c.Flags().StringVar(&assignment, "assignment", "", "do the assignment of your class that has this `number or code`")
	c.RunE = func(cmd *cobra.Command, args []string) error {
		if cmd.Flags().Changed("assignment") {
			for _, name := range append(d.optionNames(), "count", "limit", "rest", "gap", "surround", "light", "targets", "attribute", "task", "even", "seed", "library", "list", "plan", "again", "minutes") {
				if cmd.Flags().Changed(name) || len(args) > 0 {
					return told.Misused("leave out everything else but --learner and --book", "an assignment decides by itself what is asked and how")
				}
			}
			return a.practiseAssignment(cmd.Context(), assignment)
		}
		if cmd.Flags().Changed("minutes") {
			switch {
			case minutes < 1 || minutes > mostMinutes:
				return told.Misused("ten are a good day's practice", "--minutes is %d, outside 1..%d", minutes, mostMinutes)
			case len(args) > 0 || again || list:
				return told.Misused("leave it out, or ask for the plan: shadedrill practise --minutes 5", "--minutes is how long today's plan is")
			}
		}
		if again && (len(args) > 0 || plan || list) {
			return told.Misused("shadedrill practise --again", "--again chooses the exercise itself")
		}
		if again {
			for _, name := range append(d.optionNames(), "count", "light", "targets", "attribute", "task", "even", "seed", "library") {
				if cmd.Flags().Changed(name) {
					return told.Misused("leave it out", "--again asks what was missed just as it was asked: --%s changes nothing there", name)
				}
			}
		}
		if plan {
			if len(args) > 0 {
				return told.Misused("shadedrill practise --plan", "--plan chooses the exercises itself, but there is %q", args[0])
			}
			if _, err := out.check(); err != nil {
				return err
			}
			return a.printPlan(cmd.Context(), out, minutes)
		}
		if list {
			return out.write(learners.Exercises(exercises.Kinds()), nil)
		}
		if len(args) == 0 {
			config, err := d.config(c, nil)
			if err != nil {
				return err
			}
			config.Today, config.Again, config.Minutes = !again, again, minutes
			return a.train(cmd.Context(), config)
		}
		kind, err := kindNamed(args[0])
		if err != nil {
			return err
		}
		config, err := d.config(c, kind)
		if err != nil {
			return err
		}
		if err := a.canBeAsked(*config.Start); err != nil {
			return err
		}
		return a.train(cmd.Context(), config)
	}
	return c
}

// mostMinutes is the longest plan; house rule: longer, the eyes are tired.
const mostMinutes = 60

// canBeAsked says what is wrong with a drill before the trainer opens. Where nobody
// chose a library the trainer takes the one of last time, and says it there.
func (a *app) canBeAsked(setup exercises.Setup) error {
	library, err := loadLibrary(a.flags.library)
	if err != nil {
		return err
	}
	if setup.Count == 0 {
		setup.Count = 1
	}
	var under func(colour.Lab) colour.Lab
	if id := setup.Viewing.Light; id != "" {
		lamp, err := colour.LightByID(id)
		if err != nil {
			return err
		}
		under = exercises.Under(lamp)
	}
	setup.Sheet, setup.Adaptive = tabs.NewSheet(library, under), false
	_, err = exercises.NewRun(setup)
	return err
}

// printPlan prints what the trainer would suggest today. Without a book everybody is
// a newcomer.
func (a *app) printPlan(ctx context.Context, out *output, minutes int) error {
	var who scoring.Learner
	var book history.Book = record.NewMemory()
	if a.mayHaveBook() {
		b, err := a.readBook(ctx)
		if err != nil {
			return err
		}
		if who, err = a.person(ctx, b); err != nil {
			return err
		}
		book = b
	}
	now := a.now()
	day, err := learners.PracticeDay(ctx, book, who.ID, now, now, minutes, ask.Shown)
	if err != nil {
		return err
	}
	return out.write(learners.Plan(who.Name, day), nil)
}

func kindLines() string {
	var b strings.Builder
	for _, k := range exercises.Kinds() {
		b.WriteString("  " + string(k.ID()) + strings.Repeat(" ", max(1, 14-len(k.ID()))) + k.Trains() + "\n")
	}
	return strings.TrimRight(b.String(), "\n")
}

// drillFlags say what a drill asks and how it is looked at.
type drillFlags struct {
	count, gap, surround int
	limit, rest          time.Duration
	targets, attribute   string
	task, light          string
	even                 bool
	options              map[string]*int // the numbers that single exercises take, by name
	seeded               bool            // --seed was given
}

func (d *drillFlags) flags(c *cobra.Command) {
	d.viewingFlags(c)
	d.options = map[string]*int{}
	for _, k := range exercises.Kinds() {
		for _, o := range k.Traits().Options {
			if d.options[o.Name] != nil { // of an earlier kind as well
				continue
			}
			d.options[o.Name] = c.Flags().Int(o.Name, 0, fmt.Sprintf("%s: `number` of %s, %d to %d (default: %s)", k.ID(), o.Counts, o.Least, o.Most, o.Usual))
		}
	}
	c.Flags().BoolVar(&d.even, "even", false, "ask all regions alike instead of more where errors are large; --seed does so too")
	d.questionFlags(c)
}

// questionFlags say what an exercise asks, where it can ask more than one thing.
func (d *drillFlags) questionFlags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&d.light, "light", "", "the `lamp` under which colours are shown (default: daylight)")
	f.StringVar(&d.targets, "targets", "", "colours to match: `natural|tabs`, any tooth colour or exactly a tab")
	f.StringVar(&d.attribute, "attribute", "", "train `value|chroma|hue` alone, in an exercise that can")
	f.StringVar(&d.task, "task", "", "the exercise's own `variant`")
	completeWords(c, "targets", targetWords)
	completeWords(c, "attribute", directions)
	completeWords(c, "light", lights())
}

var targetWords = []string{string(exercises.NaturalTargets), string(exercises.TabTargets)}

// lights are the lamps' names.
func lights() []string {
	var names []string
	for _, l := range colour.Lights() {
		names = append(names, l.ID)
	}
	return names
}

// viewingFlags say how long a drill is and how it is looked at.
func (d *drillFlags) viewingFlags(c *cobra.Command) {
	c.Flags().IntVar(&d.count, "count", 0, "`number` of trials (default: as last time, at first what suits the exercise)")
	d.lookFlags(c)
}

func (d *drillFlags) lookFlags(c *cobra.Command) {
	f := c.Flags()
	view := exercises.DefaultViewing()
	f.DurationVar(&d.limit, "limit", view.Limit, "longest look at a trial, such as 7s; 0 for no limit")
	f.DurationVar(&d.rest, "rest", view.Rest, "neutral grey between trials")
	f.IntVar(&d.gap, "gap", view.Gap, "`cells` between the two patches; 0 is edge to edge")
	f.IntVar(&d.surround, "surround", int(view.Surround.R), "`code` of the grey around the patches, 0 to 255")
}

// config is the trainer's, with a drill to begin at once when kind is not nil.
func (d *drillFlags) config(c *cobra.Command, kind exercises.Kind) (trainer.Config, error) {
	var config trainer.Config
	given := c.Flags().Changed
	d.seeded = given("seed")
	switch {
	case given("count") && (d.count < 1 || d.count > exercises.MostTrials):
		hint := "twenty are a good drill"
		if kind != nil && kind.Traits().MeasuresThreshold {
			hint = "240 take a quarter of an hour; with fewer some directions may get no threshold"
		}
		return config, told.Misused(hint, "--count is %d, outside 1..%d", d.count, exercises.MostTrials)
	case d.surround < 0 || d.surround > 255:
		return config, told.Misused("64 is a dark neutral grey", "--surround is %d, outside 0..255", d.surround)
	case d.gap < 0 || d.gap > 60:
		return config, told.Misused("0 is edge to edge", "--gap is %d, outside 0..60", d.gap)
	case d.limit < 0 || d.rest < 0 || d.rest > time.Minute:
		return config, told.Misused("such as --limit 7s --rest 1s", "a time is below 0, or the rest above a minute")
	}
	if given("light") {
		if err := oneOf("light", d.light, lights()); err != nil {
			return config, err
		}
	}
	if given("targets") {
		if err := oneOf("targets", d.targets, targetWords); err != nil {
			return config, err
		}
	}
	if given("attribute") {
		if err := narrowed(kind, d.attribute); err != nil {
			return config, err
		}
	}
	config.Count = d.count
	viewing := d.viewing()
	asked := false
	for _, name := range []string{"limit", "rest", "gap", "surround", "light"} {
		asked = asked || given(name)
	}
	if asked {
		config.Viewing = &viewing
	}
	if kind == nil {
		for _, name := range append([]string{"targets", "attribute", "task", "even"}, d.optionNames()...) {
			if given(name) {
				return config, told.Misused("name it: "+kindNames(), "--%s belongs to an exercise", name)
			}
		}
		return config, nil
	}
	config.Start = &exercises.Setup{Kind: kind.ID(), Count: d.count, Targets: exercises.Targets(d.targets), Attribute: d.attribute, Task: d.task}
	if err := d.setOptions(config.Start, kind, given); err != nil {
		return config, err
	}
	// The same seed asks the same trials, whatever was answered before.
	config.Start.Adaptive = !d.even && !d.seeded && kind.Traits().Adapts
	if asked {
		if kind.Traits().Unhurried && !given("limit") {
			viewing.Limit = 0
		}
		config.Start.Viewing = viewing
	}
	return config, nil
}

// setOptions takes the numbers that the exercise has into the setup.
func (d *drillFlags) setOptions(setup *exercises.Setup, kind exercises.Kind, given func(string) bool) error {
	for _, name := range d.optionNames() {
		if !given(name) {
			continue
		}
		n := *d.options[name]
		i := slices.IndexFunc(kind.Traits().Options, func(o exercises.Option) bool { return o.Name == name })
		if i < 0 {
			return told.Misused("leave it out", "--%s belongs to %s", name, optionOf(name))
		}
		if o := kind.Traits().Options[i]; n < o.Least || n > o.Most {
			return told.Misused("without it: "+o.Usual, "--%s is %d, outside %d..%d", name, n, o.Least, o.Most)
		}
		if setup.Options == nil {
			setup.Options = map[string]string{}
		}
		setup.Options[name] = strconv.Itoa(n)
	}
	return nil
}

// optionOf names the exercises that have an option.
func optionOf(name string) string {
	var list []string
	for _, k := range exercises.Kinds() {
		if slices.ContainsFunc(k.Traits().Options, func(o exercises.Option) bool { return o.Name == name }) {
			list = append(list, string(k.ID()))
		}
	}
	return strings.Join(list, ", ")
}

func (d *drillFlags) optionNames() []string { return slices.Sorted(maps.Keys(d.options)) }

func (d *drillFlags) viewing() exercises.Viewing {
	return exercises.Viewing{Limit: d.limit, Rest: d.rest, Gap: d.gap, Surround: colour.Grey(uint8(d.surround)), Light: d.light}
}

func (a *app) displayCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "display",
		Short: "Check what this display and terminal can show",
		Long: `Check what this display and terminal can show: two patches one small step
apart, a grey ramp and a gamma pattern. You say what you see; the next drills
carry your answer. A terminal that cannot carry 24-bit colours is refused with
the reason and what to do.`,
		Example: "  shadedrill display",
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.train(cmd.Context(), trainer.Config{DisplayOnly: true})
		},
	}
}
