package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/exercises"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/thresholds"
)

func (a *app) thresholdCommand() *cobra.Command {
	var d drillFlags
	var task, direction, method string
	var width float64
	var draws int
	var chosen selection
	c := &cobra.Command{
		Use:   "threshold",
		Short: "Measure how small a difference you see, or how large a one you accept",
		Long: `Measure a threshold in ΔE00, in about a quarter of an hour.

Tasks:
  which      two pairs, one of them of two colours: which? The smallest difference you can see.
  different  one pair, sometimes of one colour: does it differ? The difference you see without being pointed to it.
  accept     one pair: would you leave it in the mouth?

A sitting has 240 trials: value, chroma and hue in mixed order, and in different
and accept a fifth of the pairs identical. With --count 60 only the three together
have answers enough for a threshold. It can be left and taken up again.

With --format or -o nothing is asked: what was measured is printed, the newest
sitting of each task in full and every sitting in short.

A threshold holds for this screen, this room and this way of looking at pairs. It
is relative and not clinical.`,
		Example: `  shadedrill threshold
  shadedrill threshold --task accept --count 80
  shadedrill threshold --task different --direction value --gap 2
  shadedrill threshold --format text --learner Ada
  shadedrill threshold -o ada.html`,
	}
	d.viewingFlags(c)
	out := a.reportFlags(c)
	c.Flags().Lookup("format").Usage = "print what was measured as `" + reportFormats() + "` instead of measuring"
	c.Flags().Lookup("output").Usage = "write what was measured to this `file`"
	out.sectionFlag(c, "thresholds", "answers", "course")
	chosen.daysFlags(c)
	f := c.Flags()
	f.StringVar(&task, "task", exercises.TaskWhich, "`which|different|accept`")
	f.StringVar(&direction, "direction", "", "only `value|chroma|hue` (default: all three, mixed)")
	f.StringVar(&method, "method", exercises.MethodQuestPlus, "the `method` that chooses the pairs: "+strings.Join(methods, ", "))
	f.Float64Var(&width, "width", 0, "stop when the 95 % interval is narrower than this `share` of the threshold, such as 0.3 (default: go on to the last trial)")
	f.IntVar(&draws, "draws", 400, "`number` of bootstrap draws behind each printed threshold; 0 for none")
	for name, words := range map[string][]string{"task": tasks, "direction": directions, "method": methods} {
		completeWords(c, name, words)
	}
	c.RunE = func(cmd *cobra.Command, _ []string) error {
		for _, flag := range []string{"format", "output", "section", "from", "to", "draws"} {
			if cmd.Flags().Changed(flag) {
				return a.printThresholds(cmd, out, chosen, draws)
			}
		}
		for _, w := range []struct {
			flag, word string
			allowed    []string
		}{{"task", task, tasks}, {"direction", direction, append([]string{""}, directions...)}, {"method", method, methods}} {
			if err := oneOf(w.flag, w.word, w.allowed); err != nil {
				return err
			}
		}
		if width < 0 || width >= 2 {
			return told.Misused("0.3 stops when the interval is as wide as 30 % of the threshold", "--width is %g, outside 0..2", width)
		}
		kind, err := kindNamed(string(exercises.Threshold))
		if err != nil {
			return err
		}
		config, err := d.config(cmd, kind)
		if err != nil {
			return err
		}
		config.Start.Task, config.Start.Attribute = task, direction
		config.Start.Options = map[string]string{exercises.OptionMethod: method}
		if width > 0 {
			config.Start.Options[exercises.OptionWidth] = strconv.FormatFloat(width, 'g', -1, 64)
		}
		return a.train(cmd.Context(), config)
	}
	return c
}

// printThresholds prints what was measured; nothing is asked.
func (a *app) printThresholds(cmd *cobra.Command, out *output, chosen selection, draws int) error {
	for _, flag := range []string{"task", "direction", "method", "width", "count", "limit", "rest", "gap", "surround"} {
		if cmd.Flags().Changed(flag) {
			return told.Misused("leave out --format, --output and the like to measure", "--%s is for measuring, and this prints what was measured", flag)
		}
	}
	if draws < 0 || draws > mostDraws {
		return told.Misused("400 give steady intervals", "--draws is %d, outside 0..%d", draws, mostDraws)
	}
	if _, err := out.check(); err != nil {
		return err
	}
	filter, err := chosen.filter()
	if err != nil {
		return err
	}
	book, err := a.readBook(cmd.Context())
	if err != nil {
		return err
	}
	who, err := a.person(cmd.Context(), book)
	if err != nil {
		return err
	}
	// Without --seed the draws are the same every time, and so is the report.
	return out.write(thresholds.Report(cmd.Context(), book, who, filter, history.ThresholdDetail{Draws: draws, Seed: a.flags.seed}))
}

const mostDraws = 10000

var (
	tasks      = []string{exercises.TaskWhich, exercises.TaskDifferent, exercises.TaskAccept}
	directions = exercises.AttributeNames()
	methods    = []string{exercises.MethodQuestPlus, exercises.MethodStaircase, exercises.MethodWeighted}
)

// oneOf refuses a word that is not among the allowed ones.
func oneOf(flag, word string, allowed []string) error {
	var named []string
	for _, w := range allowed {
		if w == word {
			return nil
		}
		if w != "" {
			named = append(named, w)
		}
	}
	return told.Misused("there are "+strings.Join(named, ", "), "--%s is %s", flag, fmt.Sprintf("%q", word))
}

// narrowed refuses an attribute that is none, and one in an exercise that asks for all three
// together: the drill would be another than the one that was wanted.
func narrowed(kind exercises.Kind, attribute string) error {
	if err := oneOf("attribute", attribute, directions); err != nil || kind == nil || kind.Traits().Narrows {
		return err
	}
	var can []string
	for _, k := range exercises.Kinds() {
		if k.Traits().Narrows {
			can = append(can, string(k.ID()))
		}
	}
	return told.Misused("one attribute alone is in "+strings.Join(can, ", "), "%s asks for value, chroma and hue together", kind.Title())
}

func completeWords(c *cobra.Command, flag string, words []string) {
	c.RegisterFlagCompletionFunc(flag, func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return words, cobra.ShellCompDirectiveNoFileComp
	})
}
