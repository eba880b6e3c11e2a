package trainer_test

import (
	"context"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/display"
	"shadedrill/trainer/trainertest"
)

var update = flag.Bool("update", false, "write the golden screens anew")

// golden compares the screen with the stored one, text and every ground colour.
func golden(t *testing.T, tt *trainertest.Trainer, name string) {
	t.Helper()
	path := filepath.Join("testdata", name+".golden")
	got := tt.Picture()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-stored +now):\n%s", path, d)
	}
}

var seed = uint64(7)

// practising is a configuration that goes straight into a drill.
func practising(kind exercises.KindID, count int) trainer.Config {
	return trainer.Config{Book: record.NewMemory(), Seed: &seed, Learner: "Ada Invented", SkipWelcome: true, SkipDisplay: true,
		Count: count, Start: &exercises.Setup{Kind: kind, Targets: exercises.NaturalTargets}}
}

// looking starts a value-first drill and goes to the first look.
func looking(t *testing.T, cfg trainer.Config, o trainertest.Options) *trainertest.Trainer {
	t.Helper()
	tt := trainertest.Run(t, cfg, o)
	return tt.Press("enter").Advance(time.Second)
}

// attempts lists what the book holds.
func attempts(t *testing.T, b record.Book) []scoring.Attempt {
	t.Helper()
	var all []scoring.Attempt
	for a, err := range b.Attempts(context.Background(), record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, a)
	}
	return all
}

func sheet(t *testing.T) *tabs.Sheet {
	t.Helper()
	l, err := tabs.Load("natural")
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// firstTrial asks exercises itself what the drill of practising asks first.
func firstTrial(t *testing.T, cfg trainer.Config) exercises.Trial {
	t.Helper()
	s := *cfg.Start
	s.Seed, s.Count, s.Viewing, s.Sheet = *cfg.Seed, cfg.Count, exercises.DefaultViewing(), sheet(t)
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	trial, ok := run.Next()
	if !ok {
		t.Fatal("the drill has no trial")
	}
	return trial
}

func TestFirstStartGoesFromWelcomeToMenu(t *testing.T) {
	book := record.NewMemory()
	tt := trainertest.Run(t, trainer.Config{Book: book}, trainertest.Options{Width: 80, Height: 24})
	for _, caution := range scoring.Cautions {
		tt.Expect(caution)
	}
	golden(t, tt, "welcome-80x24")
	tt.Press("enter").Expect("Under which name")
	tt.Press("enter").Expect("Please type a name first.")
	tt.Type("Ada Inventex").Press("backspace").Type("d").Press("enter")
	tt.Expect("Display check", "question 1 of 4")
	tt.Press("3", "1", "3", "1").Expect("with care", "The small step was not seen")
	tt.Press("enter").Expect("Value first", "Settings", "Ada Invented")
	l, err := book.LearnerByName(context.Background(), "ada invented")
	if err != nil || l.Name != "Ada Invented" {
		t.Errorf("the book has %v, %v", l, err)
	}
	tt.Press("q")
	if ended, err := tt.Ended(); !ended || err != nil {
		t.Errorf("ended %v with %v", ended, err)
	}
}

func TestDisplayCheckShowsItsBytesAndIsKeptWithTheSitting(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 3)
	cfg.SkipDisplay = false
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	seen := tt.Swatches()
	if len(seen) != 2 || seen[display.SmallStep[0]] < 3*seen[display.SmallStep[1]] || seen[display.SmallStep[1]] == 0 {
		t.Fatalf("the small step shows %v", seen)
	}
	w, h := tt.Size()
	side := "1"
	for x := w / 2; x < w; x++ {
		if tt.ColourAt(x, h/2) == display.SmallStep[1] {
			side = "2"
		}
	}
	tt.Press(side)
	for i, grey := range display.Ramp(14) {
		if grey == tt.ColourAt(0, 0) {
			t.Errorf("ramp step %d is the grey of the room", i)
		}
		if got := tt.ColourAt(8+i*6+1, h/2); got != grey {
			t.Errorf("ramp step %d is %v, not %v", i, got, grey)
		}
	}
	tt.Press("1")
	golden(t, tt, "gamma-100x30")
	tt.Press("3").Expect("night-tint").Press("b").Expect("stripes blur").Press("3", "1")
	tt.Expect("shows what is needed").Press("enter").Press("enter")
	sittings, err := cfg.Book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(sittings) != 1 {
		t.Fatal(sittings, err)
	}
	want := scoring.DisplayCheck{At: trainertest.Start, Colours: 1 << 24, SmallStep: "seen", Ramp: "all steps",
		Gamma: "grey 188, gamma about 2.3", Terminal: "xterm-256color", NightTint: "off", Acceptable: true}
	if d := cmp.Diff(want, sittings[0].Display); d != "" {
		t.Error(d)
	}
}

func TestTerminalsThatCannotShowColoursAreRefused(t *testing.T) {
	for name, o := range map[string]struct {
		env     func(string) string
		colours int
	}{
		"256 colours": {nil, 256},
		"NO_COLOR":    {trainertest.Env("TERM", "xterm", "NO_COLOR", "1"), 1 << 24},
		"dumb":        {trainertest.Env("TERM", "dumb"), 1 << 24},
	} {
		tt := trainertest.Run(t, trainer.Config{Getenv: o.env}, trainertest.Options{Colours: o.colours})
		ended, err := tt.Ended()
		var p *display.Problem
		if !ended || !errors.As(err, &p) || p.Hint() == "" {
			t.Errorf("%s: ended %v with %v", name, ended, err)
		}
	}
}

func TestValueFirstScreens(t *testing.T) {
	for _, size := range []trainertest.Options{{Width: 80, Height: 24}, {Width: 100, Height: 30}, {Width: 200, Height: 60}} {
		name := map[int]string{80: "80x24", 100: "100x30", 200: "200x60"}[size.Width]
		t.Run(name, func(t *testing.T) {
			cfg := practising(exercises.ValueFirst, 20)
			tt := looking(t, cfg, size)
			target := firstTrial(t, cfg).Target
			s := sheet(t)
			fieldShows := func(want colour.SRGB) {
				t.Helper()
				x, y := tt.Find("candidate")
				if got := tt.ColourAt(x-3, y); got != want {
					t.Errorf("the candidate is %v, not %v", got, want)
				}
				x, y = tt.Find("target  ")
				if got := tt.ColourAt(x+len("target")+2, y); got != target {
					t.Errorf("the target is %v, not %v", got, target)
				}
			}
			golden(t, tt, "value-"+name)
			before := tt.Swatches()
			tt.Press("right")
			if cmp.Equal(before, tt.Swatches()) {
				t.Error("moving along the strip changes nothing")
			}
			tt.Press("left", "v")
			golden(t, tt, "value-rows-"+name)
			tt.Press("v", "home", "enter").Expect("Step 2 of 2", "group "+s.Groups()[0].Name)
			tt.Press("home")
			fieldShows(s.Shown(s.Groups()[0].Tabs[0]))
			tt.Press("right")
			golden(t, tt, "sheet-"+name)
			tt.Press("v")
			golden(t, tt, "sheet-rows-"+name)
			tt.Press("v", "home", "h")
			first := s.Groups()[0].Tabs[0]
			fieldShows(s.Between(first, s.Neighbours(first)[0]))
			golden(t, tt, "between-"+name)
		})
	}
}

func TestAnswersCarryWhatWasSaid(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	s := sheet(t)
	tt.Press("end").Advance(2*time.Second).Press("enter").Advance(time.Second).Press("end", "enter")
	tt.Expect("ΔE00", "best there was", "of 10 points")
	last := s.Len() - 1
	got := attempts(t, cfg.Book)
	if len(got) != 1 {
		t.Fatalf("%d attempts", len(got))
	}
	shown := s.Shown(last)
	want := exercises.Answer{Colour: &shown, Tab: s.Name(last), Group: s.Groups()[s.GroupOf(last)].Name,
		First: 2 * time.Second, Total: 3 * time.Second, Looks: 1}
	if d := cmp.Diff(want, got[0].Answer); d != "" {
		t.Error(d)
	}
	if got[0].Trial.Target != firstTrial(t, cfg).Target {
		t.Error("the book has another target than the drill")
	}

	// Second trial: back to step one, then between two tabs.
	tt.Press("enter").Advance(time.Second)
	tt.Press("home", "enter", "backspace").Expect("Step 1 of 2")
	tt.Press("2", "enter", "home", "h", "right", "left", "enter")
	a := attempts(t, cfg.Book)[1].Answer
	i, _ := s.IndexOf(a.Tab)
	j, ok := s.IndexOf(a.Neighbour)
	if !ok || *a.Colour != s.Between(i, j) || s.GroupOf(i) != 1 {
		t.Errorf("answer %+v is not between two tabs of the second group", a)
	}
}

func TestLookLimitCoversTheField(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	target := firstTrial(t, cfg).Target
	tt.Expect("7 s")
	tt.Advance(3 * time.Second).Expect("4 s")
	tt.Press("space").Expect("The look is not over yet")
	tt.Advance(3900 * time.Millisecond)
	if tt.Swatches()[target] == 0 {
		t.Fatal("covered too early")
	}
	tt.Advance(100*time.Millisecond).Expect("time is up", "Space look again")
	if tt.Swatches()[target] != 0 {
		t.Fatal("the target can still be seen")
	}
	golden(t, tt, "covered-100x30")
	tt.Press("v")
	if tt.Swatches()[target] != 0 {
		t.Fatal("the row view uncovers the target")
	}
	tt.Press("v").Advance(10 * time.Second)
	tt.Press("space")
	if len(tt.Swatches()) != 0 {
		t.Errorf("the rest shows colours: %v", tt.Swatches())
	}
	tt.Advance(time.Second)
	if tt.Swatches()[target] == 0 {
		t.Error("no second look")
	}
	tt.Advance(8*time.Second).Press("enter", "enter").Expect("The answer came after the look had ended.")
	a := attempts(t, cfg.Book)[0].Answer
	if a.Looks != 2 || !a.TimedOut || a.Total != (7+10+8)*time.Second {
		t.Errorf("answer %+v", a)
	}
}

func TestHelpStopsTheClock(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	target := firstTrial(t, cfg).Target
	tt.Advance(2*time.Second).Press("?").Expect("Keys on that page", "lighter, darker")
	if tt.Swatches()[target] != 0 {
		t.Error("the target can be studied in the help")
	}
	tt.Advance(time.Minute).Press("backspace").Expect("5 s", "Step 1 of 2")
	tt.Press("enter", "enter")
	if a := attempts(t, cfg.Book)[0].Answer; a.Total != 2*time.Second || a.Looks != 1 || a.TimedOut {
		t.Errorf("answer %+v", a)
	}
}

func TestResizeKeepsTheTrial(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	target := firstTrial(t, cfg).Target
	tt.Advance(2*time.Second).Press("home", "enter", "right")
	before := tt.Text()
	tt.Resize(200, 60).Expect("Step 2 of 2")
	tt.Resize(40, 10).Expect("Please make it 80 × 24 or larger.", "Nothing is lost.")
	if tt.Swatches()[target] != 0 {
		t.Error("a window too small shows the target")
	}
	tt.Advance(time.Minute).Press("enter", "x")
	if len(attempts(t, cfg.Book)) != 0 {
		t.Error("an answer was taken blind")
	}
	tt.Resize(1, 1).Resize(100, 30)
	if after := tt.Text(); after != before {
		t.Errorf("the trial is not as it was:\n%s", cmp.Diff(before, after))
	}
	if tt.Swatches()[target] == 0 {
		t.Error("the target is gone")
	}
}

func TestMouse(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 4)
	tt := looking(t, cfg, trainertest.Options{})
	s := sheet(t)
	name := s.Groups()[1].Name
	x, y := tt.Find(name)
	tt.Click(x+1, y-2).Expect("Step 1 of 2") // the patch above its caption
	tt.Click(x+1, y-2).Expect("Step 2 of 2", "group "+name)
	tt.Wheel(-1)
	x, y = tt.Find("↵")
	tt.Click(x+1, y).Expect("ΔE00")
	a := attempts(t, cfg.Book)
	if len(a) != 1 || a[0].Answer.Group != name {
		t.Errorf("attempts %+v", a)
	}
}

func TestEveryKeyShownDoesSomething(t *testing.T) {
	names := map[string][]string{"← →": {"left", "right"}, "↑ ↓": {"up", "down"}, "Home End": {"home", "end"}, "↵": {"enter"},
		"⌫": {"backspace"}, "Space": {"space"}, "1–9": {"1"}, "Esc": {"escape"}}
	stations := map[string]func(*trainertest.Trainer){
		"brief":    func(tt *trainertest.Trainer) {},
		"group":    func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second) },
		"tab":      func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter") },
		"between":  func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter", "h") },
		"covered":  func(tt *trainertest.Trainer) { tt.Press("enter").Advance(9 * time.Second) },
		"feedback": func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter", "enter") },
		"leave":    func(tt *trainertest.Trainer) { tt.Press("enter").Advance(time.Second).Press("enter", "enter", "q") },
		"menu":     func(tt *trainertest.Trainer) { tt.Press("q") },
		"settings": func(tt *trainertest.Trainer) { openSettings(tt.Press("q")) },
	}
	for station, goTo := range stations {
		t.Run(station, func(t *testing.T) {
			start := func() *trainertest.Trainer {
				tt := trainertest.Run(t, practising(exercises.ValueFirst, 4), trainertest.Options{})
				goTo(tt)
				return tt
			}
			foot := start().Foot()
			if len(foot) < 2 {
				t.Fatalf("keys shown: %q", foot)
			}
			for _, show := range foot {
				keys, ok := names[show]
				if !ok {
					keys = []string{show}
				}
				for _, k := range keys {
					tt := start()
					before := tt.Picture()
					tt.Press(k)
					if ended, _ := tt.Ended(); ended {
						continue
					}
					if tt.Picture() == before {
						t.Errorf("%s at %s changes nothing and says nothing", k, station)
					}
					if tt.Shows("does nothing here") {
						t.Errorf("%s at %s is shown but unknown", k, station)
					}
				}
			}
			tt := start()
			tt.Press("x").Expect("The key “x” does nothing here.")
			tt.Press("f5").Expect("f5 does nothing here.")
		})
	}
}

func openSettings(tt *trainertest.Trainer) {
	for !tt.Shows("▸") || !strings.Contains(lineOf(tt, "▸"), "Settings") {
		tt.Press("down")
	}
	tt.Press("enter")
}

func lineOf(tt *trainertest.Trainer, text string) string {
	for _, l := range strings.Split(tt.Text(), "\n") {
		if strings.Contains(l, text) {
			return l
		}
	}
	return ""
}

func TestSettingsGoIntoTheNextDrillAndAreRemembered(t *testing.T) {
	book := record.NewMemory()
	cfg := trainer.Config{Book: book, Learner: "Ada", SkipWelcome: true, SkipDisplay: true, Seed: &seed}
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	openSettings(tt)
	tt.Press("left").Expect("Trials in a drill 10")
	tt.Press("down", "left").Expect("Longest look 5 seconds")
	tt.Press("down", "down", "right", "right").Expect("2 cells")
	tt.Press("down", "right").Expect("grey, L* 50")
	if tt.ColourAt(0, 0) != colour.Grey(119) {
		t.Error("the surround is not shown")
	}
	tt.Press("backspace", "1").Expect("10 trials", "A look lasts 5 seconds.").Press("enter").Advance(time.Second)
	if tt.ColourAt(0, 0) != colour.Grey(119) {
		t.Error("the surround is not used")
	}
	x, y := tt.Find("candidate")
	gap := 0
	for i := 0; i < x-3; i++ {
		if tt.ColourAt(i, y) == colour.Grey(119) && i > 20 {
			gap++
		}
	}
	if gap != 2 {
		t.Errorf("%d cells between the patches", gap)
	}
	tt.Press("enter", "enter")
	tt.Stop(nil)
	again := trainertest.Run(t, cfg, trainertest.Options{})
	again.Expect("broke off a drill", "after 1 of 10").Press("2")
	openSettings(again)
	again.Expect("Trials in a drill 10", "Longest look 5 seconds", "2 cells", "L* 50")
}

func TestADrillRunsToItsSummary(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
	for i := range 3 {
		tt.Press("enter", "enter").Expect("ΔE00")
		if i == 0 {
			golden(t, tt, "feedback-80x24")
			tt.Press("s").Expect("Paravina et al. 2015").Press("s")
		}
		tt.Press("enter").Advance(time.Second)
	}
	tt.Expect("summary", "3 trials.", "median ΔE00", "within acceptability")
	golden(t, tt, "summary-80x24")
	s, err := cfg.Book.Sittings(context.Background(), record.Filter{})
	if err != nil || len(s) != 1 || s[0].Ended.IsZero() || s[0].Left {
		t.Errorf("sittings %+v, %v", s, err)
	}
	tt.Press("a").Expect("3 trials").Press("enter").Advance(time.Second).Expect("trial 1 of 3")
	if got, _ := cfg.Book.Sittings(context.Background(), record.Filter{}); len(got) != 2 || got[1].Setup.Seed == got[0].Setup.Seed {
		t.Error("again is not a new drill with new trials")
	}
}

func TestABrokenOffDrillIsOfferedAndGoesOn(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter", "enter").Advance(time.Second).Press("enter")
	closed := errors.New("window closed")
	tt.Stop(closed)
	if ended, err := tt.Ended(); !ended || !errors.Is(err, closed) {
		t.Fatalf("ended %v with %v", ended, err)
	}
	if n := len(attempts(t, cfg.Book)); n != 1 {
		t.Fatalf("%d answers in the book", n)
	}

	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: "ada invented", SkipDisplay: true}, trainertest.Options{})
	again.Expect("You broke off a drill, value first", "after 1 of 3 trials")
	golden(t, again, "resume-100x30")
	again.Press("1").Expect("2 trials to come").Press("enter").Advance(time.Second).Expect("trial 2 of 3")
	again.Press("enter", "enter", "enter").Advance(time.Second).Press("enter", "enter", "enter")
	again.Expect("summary", "3 trials.")
	all := attempts(t, cfg.Book)
	if len(all) != 3 || all[2].Trial.Ordinal != 2 || all[0].Sitting != all[2].Sitting {
		t.Errorf("the book has %d answers", len(all))
	}
}

func TestKeepingWhatWasGiven(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter", "enter")
	tt.Stop(nil)
	again := trainertest.Run(t, trainer.Config{Book: cfg.Book, Learner: "Ada Invented", SkipDisplay: true}, trainertest.Options{})
	again.Press("2").Expect("Settings")
	s, _ := cfg.Book.Sittings(context.Background(), record.Filter{})
	if s[0].Ended.IsZero() || !s[0].Left {
		t.Errorf("sitting %+v", s[0])
	}
}

func TestLeavingADrill(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 3)
	tt := looking(t, cfg, trainertest.Options{})
	tt.Press("enter", "enter", "q").Expect("Your answer is kept. What now?")
	tt.Press("escape").Advance(time.Second).Expect("trial 2 of 3", "Step 1 of 2")
	tt.Press("q").Press("3").Expect("summary", "1 of 3 trials.")
	s, _ := cfg.Book.Sittings(context.Background(), record.Filter{})
	if s[0].Ended.IsZero() || !s[0].Left {
		t.Errorf("sitting %+v", s[0])
	}
}

func TestSilentDrillsGiveNoFeedback(t *testing.T) {
	cfg := practising(exercises.ValueFirst, 2)
	cfg.Start.Silent = true
	tt := trainertest.Run(t, cfg, trainertest.Options{})
	tt.Expect("There is no feedback before the end.").Press("enter").Advance(time.Second)
	tt.Press("enter", "enter").ExpectNot("ΔE00").Advance(time.Second).Expect("trial 2 of 2").Press("enter", "enter").Expect("summary")
}

func TestThresholdScreens(t *testing.T) {
	for task, words := range map[string][2]string{
		exercises.TaskWhich:     {"Which pair", "the right pair"},
		exercises.TaskDifferent: {"Do the two patches differ", "different"},
		exercises.TaskAccept:    {"would you leave it", "change it"},
	} {
		cfg := practising(exercises.Threshold, 3)
		cfg.Start.Task = task
		tt := looking(t, cfg, trainertest.Options{Width: 80, Height: 24})
		tt.Expect(words[0], words[1])
		golden(t, tt, "threshold-"+task+"-80x24")
		trial := firstTrial(t, cfg)
		seen := tt.Swatches()
		for _, p := range trial.Patches {
			if seen[p.Colour] == 0 {
				t.Errorf("%s: patch %v is not drawn: %v", task, p, seen)
			}
		}
		tt.Press("enter").Expect("Answer with")
		tt.Press("2").Advance(time.Second).Expect("trial 2 of 3")
		want := map[string]string{exercises.TaskWhich: exercises.Right, exercises.TaskDifferent: exercises.Differ, exercises.TaskAccept: exercises.Change}[task]
		if got := attempts(t, cfg.Book)[0].Answer.Choice; got != want {
			t.Errorf("%s: answer %q", task, got)
		}
	}
}
