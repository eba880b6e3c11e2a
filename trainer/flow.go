package trainer

import (
	"errors"
	"fmt"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
)

// The way through the program:
//
//	welcome and name (somebody new) ─> a short drill ─> display check ─> menu
//	who ─> welcome (the first time) ─> display check (when due) ─> drill broken off? ─> menu or the drill asked for
//
// Each step shows its page or goes straight on to the next.

// usualCount is the number of trials of a drill from the menu
// (common practice, no source).
const usualCount = 20

// UsualCount is how many trials a drill of an exercise has when nobody says.
func UsualCount(kind exercises.KindID) int {
	if n := ask.ScreenOf(kind).Trials; n > 0 {
		return n
	}
	return usualCount
}

// checkHolds is how long an answered display check counts for the same terminal.
const checkHolds = 7 * 24 * time.Hour

// show clears the stack and shows one page.
func (a *app) show(p page) {
	if len(a.pages) > 0 {
		a.pauseTop()
	}
	a.pages = append(a.pages[:0], p)
	a.message = ""
}

func (a *app) begin() {
	if a.cfg.DisplayOnly {
		a.show(newDisplayPage(a, func() { a.quit(nil) }))
		return
	}
	people, err := a.cfg.Book.Learners(a.ctx)
	if err != nil {
		a.trouble("The book cannot be read.", err, a.begin)
		return
	}
	if len(people) == 0 && !a.cfg.SkipWelcome {
		if a.cfg.Learner == "" && a.asksNothing() {
			a.show(newFirstPage(a, nil))
			return
		}
		a.show(&welcomePage{app: a, next: func() { a.askWho(people) }})
		return
	}
	a.askWho(people)
}

// asksNothing reports whether the trainer was opened for nothing in particular: a newcomer
// then begins with a short drill.
func (a *app) asksNothing() bool {
	return a.cfg.Start == nil && a.cfg.Set == nil && !a.cfg.Today && !a.cfg.Again || a.drills > 0
}

func (a *app) askWho(people []scoring.Learner) {
	switch {
	case a.cfg.Person != "":
		a.signedIn()
	case a.cfg.Learner != "":
		a.enter(a.cfg.Learner)
	case len(people) == 0:
		a.show(&namePage{app: a})
	default:
		a.show(newWhoPage(a, people))
	}
}

// enter makes somebody the learner, entering the name when it is new.
func (a *app) enter(name string) {
	l, err := a.cfg.Book.LearnerByName(a.ctx, name)
	if errors.Is(err, record.ErrNotFound) {
		l, err = a.cfg.Book.AddLearner(a.ctx, scoring.Learner{ID: record.NewLearnerID(a.now()), Name: name, Role: scoring.RoleLearner, At: a.now()})
		if errors.Is(err, record.ErrTaken) { // entered meanwhile by another process
			l, err = a.cfg.Book.LearnerByName(a.ctx, name)
		}
	}
	if err != nil {
		a.trouble("The name cannot be entered.", err, func() { a.enter(name) })
		return
	}
	a.learner = l
	a.recall()
}

// signedIn makes who has signed in the learner.
func (a *app) signedIn() {
	l, err := a.cfg.Book.Learner(a.ctx, a.cfg.Person)
	if err != nil {
		a.trouble("The book cannot be read.", err, a.signedIn)
		return
	}
	a.learner = l
	a.recall()
}

// recall takes over what this learner had last time: the way of looking, the
// library and the display check lie in the sittings, so nothing else has to be
// kept.
func (a *app) recall() {
	sittings, err := a.cfg.Book.Sittings(a.ctx, record.Filter{Learner: a.learner.ID})
	if err != nil {
		a.trouble("The book cannot be read.", err, a.recall)
		return
	}
	// Whoever practises for the first time has read the cautions, also where others have
	// practised before, or where a class entered the name.
	if len(sittings) == 0 && !a.cautioned && a.cfg.Check.At.IsZero() && !a.cfg.SkipWelcome {
		a.show(&welcomePage{app: a, next: a.recall})
		return
	}
	a.viewing, a.count, a.targets, a.library, a.minutes = exercises.DefaultViewing(), usualCount, exercises.NaturalTargets, 0, exercises.PlanMinutes[0]
	a.check = a.cfg.Check
	for _, s := range sittings {
		if s.Display.At.After(a.check.At) {
			a.check = s.Display
		}
		if s.Within == "" && s.Setup.Minutes > 0 {
			a.minutes = s.Setup.Minutes
		}
		if s.Within != "" || s.Setup.Once { // that one was looked at in another way
			continue
		}
		if exercises.TraitsOf(s.Setup.Kind).ByHand { // nothing was looked at on the screen
			continue
		}
		limit, light := a.viewing.Limit, a.viewing.Light
		a.viewing = s.Setup.Viewing
		if exercises.TraitsOf(s.Setup.Kind).Unhurried { // its looks are not those of other drills
			a.viewing.Limit = limit
		}
		if ask.ScreenOf(s.Setup.Kind).OwnLight {
			a.viewing.Light = light
		}
		if i, ok := a.shelf.find(s.Setup); ok {
			a.library = i
		}
		if s.Setup.Planned { // the plan decided what it asked
			continue
		}
		if s.Setup.Count > 0 && ask.ScreenOf(s.Setup.Kind).Trials == 0 {
			a.count = s.Setup.Count
		}
		if s.Setup.Targets != "" {
			a.targets = s.Setup.Targets
		}
	}
	a.askDisplay()
}

// once puts what the command line asked for in place of the learner's settings. It
// holds for this run and changes none of them.
func (a *app) once(setup *exercises.Setup) {
	if setup.Count == 0 {
		setup.Count = a.cfg.Count
	}
	if setup.Viewing == (exercises.Viewing{}) && a.cfg.Viewing != nil {
		setup.Viewing = *a.cfg.Viewing
	}
	if setup.Planned { // its number, targets and library are the plan's
		setup.Once = setup.Once || a.cfg.Viewing != nil || a.cfg.LibraryChosen
		return
	}
	setup.Once = setup.Once || setup.Count > 0 || setup.Targets != "" || setup.Viewing != (exercises.Viewing{}) || setup.Sheet != nil || a.cfg.LibraryChosen
}

// firstTrials is how many trials somebody's very first drill has: two or three minutes, on
// the level at which the plan begins.
const firstTrials = 5

func (a *app) askDisplay() {
	if a.newcomer {
		first := shownKinds()[0].ID()
		a.startDrill(exercises.Setup{Kind: first, Count: firstTrials}.AtLevel(exercises.Suited(len(exercises.Levels(first)), nil).Level))
		return
	}
	same := a.check.Terminal == a.displayName()
	byHand := a.cfg.Start != nil && exercises.TraitsOf(a.cfg.Start.Kind).ByHand
	// One of tomorrow was taken before the clock was set back: nobody knows how old it is.
	if age := a.now().Sub(a.check.At); a.cfg.SkipDisplay || byHand || same && age < checkHolds && age > -24*time.Hour {
		a.offer()
		return
	}
	a.show(newDisplayPage(a, a.offer))
}

// offer asks about the latest drill that was broken off, unless something was
// asked for that goes on by itself.
func (a *app) offer() {
	if a.cfg.Set != nil && a.drills == 0 {
		a.takeSet(*a.cfg.Set)
		return
	}
	open, err := a.cfg.Book.Sittings(a.ctx, record.Filter{Learner: a.learner.ID, Unfinished: true})
	if err != nil {
		a.trouble("The book cannot be read.", err, a.offer)
		return
	}
	for i := len(open) - 1; i >= 0; i-- {
		p, err := newResumePage(a, open[i])
		if err != nil {
			a.trouble("The book cannot be read.", err, a.offer)
			return
		}
		if p != nil {
			a.show(p)
			return
		}
	}
	a.home()
}

// home is the menu, or on the first way through the drill that was asked for.
func (a *app) home() {
	if a.cfg.Start != nil && a.drills == 0 {
		setup := *a.cfg.Start
		a.startDrill(setup)
		return
	}
	if a.cfg.Today && a.drills == 0 {
		a.today()
		return
	}
	if a.cfg.Again && a.drills == 0 {
		a.again()
		return
	}
	a.show(newMenuPage(a))
}

// toMenu is where q leads from everywhere.
func (a *app) toMenu() {
	if a.newcomer { // the first drill is over: now the screen is looked at
		a.newcomer = false
		a.askDisplay()
		return
	}
	a.show(newMenuPage(a))
}

// homeWords say where toMenu leads.
func (a *app) homeWords() string {
	if a.newcomer && !a.cfg.SkipDisplay {
		return "display check"
	}
	return "menu"
}

// startDrill begins a drill and shows it.
func (a *app) startDrill(setup exercises.Setup) {
	if setup.Seed == 0 {
		setup.Seed = a.cfg.seed(a.drills)
	}
	a.once(&setup)
	setup.Minutes = a.minutes
	if setup.Count == 0 {
		setup.Count = a.count
		if n := ask.ScreenOf(setup.Kind).Trials; n > 0 {
			setup.Count = n
		}
	}
	asSet := setup.Targets == ""
	if asSet {
		setup.Targets = a.targets
	}
	if light := setup.Viewing.Light; len(setup.Again) > 0 {
		setup.Viewing = a.viewing
		setup.Viewing.Light = light
		if a.cfg.Viewing != nil {
			setup.Viewing = *a.cfg.Viewing
			setup.Viewing.Light = light
		}
		if exercises.TraitsOf(setup.Kind).Unhurried {
			setup.Viewing.Limit = 0
		}
	}
	if setup.Viewing == (exercises.Viewing{}) {
		setup.Viewing = a.viewing
		if exercises.TraitsOf(setup.Kind).Unhurried {
			setup.Viewing.Limit = 0
		}
	}
	if ask.ScreenOf(setup.Kind).OwnLight {
		setup.Viewing.Light = ""
	}
	if exercises.TraitsOf(setup.Kind).ByHand {
		setup.Viewing.Limit, setup.Viewing.Rest, setup.Viewing.Light = 0, 0, ""
	}
	if setup.Sheet == nil {
		library := a.library
		if a.cfg.LibraryChosen {
			library = 0 // the first is the one asked for
		}
		sheet, err := a.shelf.sheet(library, setup.Viewing.Light, exercises.LevelOf(setup.Kind, setup.LevelNow()))
		if err != nil {
			a.trouble("The drill cannot begin.", err, nil)
			return
		}
		setup.Sheet = sheet
	}
	if setup.Adaptive && setup.Experience == nil {
		past, err := a.experience()
		if err != nil {
			a.trouble("The book cannot be read.", err, func() { a.startDrill(setup) })
			return
		}
		setup.Experience = past
	}
	if asSet && setup.Targets == exercises.TabTargets {
		// What is set for all exercises may be more than one can do, as whitening tabs under
		// a lamp: it takes any tooth then.
		if _, err := exercises.NewRun(setup); err != nil {
			setup.Targets, setup.Once = exercises.NaturalTargets, true
		}
	}
	d, err := record.Begin(a.ctx, a.cfg.Book, scoring.Sitting{Learner: a.learner.ID, Setup: setup, Display: a.check}, a.cfg.Clock)
	if err != nil {
		a.trouble("The drill cannot begin.", err, func() { a.startDrill(setup) })
		return
	}
	a.drills++
	a.showDrill(d)
}

func (a *app) showDrill(d *record.Drill) {
	p, err := newDrillPage(a, d)
	if err != nil {
		a.trouble("The drill cannot be shown.", err, nil)
		return
	}
	a.show(p)
}

// remembered is how many earlier answers adaptive practice looks back on.
const remembered = 200

// experience gathers the learner's latest answers that stood for a colour.
func (a *app) experience() ([]exercises.Outcome, error) {
	var past []exercises.Outcome
	for attempt, err := range a.cfg.Book.Attempts(a.ctx, record.Filter{Learner: a.learner.ID}) {
		if err != nil {
			return nil, err
		}
		if m := scoring.MarkOf(attempt, nil); m.HasColour && !m.Sparse {
			past = append(past, exercises.Outcome{Target: attempt.Trial.Target, Difference: m.Difference})
		}
	}
	return past[max(0, len(past)-remembered):], nil
}

// trouble shows what went wrong, with another try where that can help.
func (a *app) trouble(what string, err error, again func()) {
	a.show(&troublePage{app: a, what: what, err: err, again: again})
}

// displayName tells one screen from another, as far as it can be told.
func (a *app) displayName() string {
	if a.cfg.Display != nil {
		return a.cfg.Display()
	}
	return terminalName(a.cfg.Getenv)
}

// terminalName tells one terminal from another, as far as its environment does.
func terminalName(getenv func(string) string) string {
	name := getenv("TERM_PROGRAM")
	if name == "" {
		name = getenv("TERM")
	} else {
		name = fmt.Sprintf("%s (%s)", name, getenv("TERM"))
	}
	if getenv("SSH_CONNECTION") != "" {
		name += ", over SSH"
	}
	return name
}
