package trainer

import (
	"fmt"
	"slices"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// menuPage is where everything begins.
type menuPage struct {
	*app
	list  draw.List
	lines map[int]string // what the selected line is about
}

func newMenuPage(a *app) *menuPage {
	a.following = false
	p := &menuPage{app: a, lines: map[int]string{}}
	p.list.Letters = true
	add := func(item draw.Item, about string) {
		p.lines[len(p.list.Items)] = about
		p.list.Items = append(p.list.Items, item)
	}
	add(draw.Item{Text: "Today's practice", Do: a.today}, "A plan that ends: what is weak, what fades, one that is new, at the level that suits you.")
	add(draw.Item{Text: "Again: my mistakes", Do: a.again}, "What you missed in the last weeks, once more, after longer and longer pauses.")
	for i, k := range shownKinds() {
		do := func() { a.startDrill(exercises.Setup{Kind: k.ID(), Adaptive: adapts(k)}) }
		text := k.Title()
		if len(ask.ScreenOf(k.ID()).Variants) > 0 {
			text += " …"
			do = func() { a.show(newVariantsPage(a, k)) }
		}
		add(draw.Item{Text: text, Gap: i == 0, Do: do}, draw.Sentence(k.Trains()))
	}
	p.list.Right = len(p.list.Items)
	sets, about, err := a.openSets()
	if err != nil {
		sets = []draw.Item{{Text: "Assignments and sessions", Do: func() { a.trouble("The book cannot be read.", err, nil) }}}
		about = []string{"They cannot be read: choose the line to see why."}
	}
	if len(sets) > 0 {
		p.list.At = p.list.Right // the class or the team waits
	}
	for i := range sets {
		sets[i].Passing = true
		add(sets[i], about[i])
	}
	add(draw.Item{Text: "Proficiency test", Gap: len(sets) > 0, Do: func() { newExamPage(a) }}, "A fixed form without feedback; at the end a certificate that says what it cannot claim.")
	add(draw.Item{Text: "Progress", Do: func() { newProgressPage(a, a.learner) }}, "How near your shades lie, now and a month ago, how often you practised, and which way you err.")
	classes, err := a.openClasses()
	if err != nil {
		classes = []draw.Item{{Text: "Class review", Do: func() { a.trouble("The book cannot be read.", err, nil) }}}
	}
	for _, item := range classes {
		item.Passing = true
		add(item, aboutClasses)
	}
	add(draw.Item{Text: "Settings", Do: func() { a.push(newSettingsPage(a)) }}, "Trials, viewing time, rest, gap, surround and tab library.")
	add(draw.Item{Text: "Display check", Do: func() {
		a.show(newDisplayPage(a, func() { a.show(newMenuPage(a)) }))
	}}, a.checkedWords())
	if a.cfg.Person == "" {
		add(a.somebodyElse(), "Let another person practise.")
	}
	add(draw.Item{Text: "Leave", Do: func() { a.quit(nil) }}, "Everything is kept.")
	return p
}

func (a *app) somebodyElse() draw.Item {
	return draw.Item{Text: "Somebody else", Do: func() {
		people, err := a.cfg.Book.Learners(a.ctx)
		if err != nil {
			a.trouble("The book cannot be read.", err, nil)
			return
		}
		a.show(newWhoPage(a, people))
	}}
}

// checkedWords says how old the display check is.
func (a *app) checkedWords() string {
	if a.check.At.IsZero() {
		return "What this screen can show. It has not been checked yet."
	}
	words := "This screen was checked today."
	switch days := scoring.DaysBetween(a.check.At, a.now()); {
	case days == 1:
		words = "This screen was checked yesterday."
	case days > 1:
		words = fmt.Sprintf("This screen was checked %s ago.", scoring.Count(days, "day", "days"))
	}
	if !a.check.Acceptable {
		words += " It did not show everything: see there."
	}
	return words
}

func shownKinds() []exercises.Kind {
	return slices.DeleteFunc(exercises.Kinds(), func(k exercises.Kind) bool { return !ask.Shown(k.ID()) })
}

// adapts reports whether practice of a kind looks for what is weak by itself.
func adapts(k exercises.Kind) bool {
	return k.Traits().Adapts
}

func (p *menuPage) title() (string, string) { return "shadedrill", p.learner.Name }

func (p *menuPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	in, about := in.Bottom(3)
	_, in = in.Top(1)
	p.list.Draw(c, in)
	c.Paragraph(about, about.Y, p.lines[p.list.At], c.Tone.Plain, false)
}

func (p *menuPage) keys() []draw.KeyHelp {
	return append(p.list.Keys(), draw.Help("?", "help", "?"), draw.Help("q", "leave", "q"))
}

func (p *menuPage) key(k string) bool {
	if k == "q" || k == "escape" {
		p.quit(nil)
		return true
	}
	return p.list.Key(k, p.say)
}

func (p *menuPage) help() []string {
	return []string{"Today's practice is where to begin: some minutes of what does you most good, and then it is done. The exercises below it are for practising one by itself, as the settings say.",
		p.lines[p.list.At]}
}

func (p *menuPage) pick(i int) { p.list.Pick(i) }
