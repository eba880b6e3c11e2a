package trainer

import (
	"fmt"
	"slices"
	"time"

	"shadedrill/exercises"
)

// menuPage is where everything begins.
type menuPage struct {
	*app
	list  list
	lines map[int]string // what the selected line is about
}

func newMenuPage(a *app) *menuPage {
	a.follow = nil
	p := &menuPage{app: a, lines: map[int]string{}}
	p.list.letters = true
	add := func(item listItem, about string) {
		p.lines[len(p.list.items)] = about
		p.list.items = append(p.list.items, item)
	}
	add(listItem{text: "Today's practice", do: a.today}, "Drills chosen from your book: what is weak, what is old, what was never tried.")
	for i, k := range shownKinds() {
		do := func() { a.startDrill(exercises.Setup{Kind: k.ID(), Adaptive: adapts(k)}, "") }
		text := k.Title()
		if len(screenOf(k.ID()).variants) > 0 {
			text += " …"
			do = func() { a.show(newVariantsPage(a, k)) }
		}
		add(listItem{text: text, gap: i == 0, do: do}, sentence(k.Trains()))
	}
	p.list.right = len(p.list.items)
	if a.addAssignments(add) {
		p.list.at = p.list.right // the class waits
	}
	sessions, about, err := a.openPanels()
	if err != nil {
		sessions = []listItem{{text: "Calibration sessions", do: func() { a.trouble("The book cannot be read.", err, nil) }}}
		about = []string{"They cannot be read: choose the line to see why."}
	}
	if len(sessions) > 0 {
		p.list.at = p.list.right // the team waits
	}
	for i := range sessions {
		add(sessions[i], about[i])
	}
	add(listItem{text: "Proficiency test", gap: len(sessions) > 0, do: func() { newExamPage(a) }}, "A fixed form without feedback; at the end a certificate that says what it cannot claim.")
	add(listItem{text: "Progress", do: func() { newProgressPage(a, a.learner) }}, "Your tables: how large the errors are, which way they lean, whether they shrink.")
	classes, err := a.openClasses()
	if err != nil {
		classes = []listItem{{text: "Class review", do: func() { a.trouble("The book cannot be read.", err, nil) }}}
	}
	for _, item := range classes {
		add(item, aboutClasses)
	}
	add(listItem{text: "Settings", do: func() { a.push(newSettingsPage(a)) }}, "Trials, viewing time, rest, gap, surround and tab library.")
	add(listItem{text: "Display check", do: func() {
		a.show(newDisplayPage(a, func() { a.show(newMenuPage(a)) }))
	}}, a.checkedWords())
	add(listItem{text: "Somebody else", do: func() {
		people, err := a.cfg.Book.Learners(a.ctx)
		if err != nil {
			a.trouble("The book cannot be read.", err, nil)
			return
		}
		a.show(newWhoPage(a, people))
	}}, "Let another person practise.")
	add(listItem{text: "Leave", do: func() { a.quit(nil) }}, "Everything is kept.")
	return p
}

// checkedWords says how old the display check is.
func (a *app) checkedWords() string {
	if a.check.At.IsZero() {
		return "What this screen can show. It has not been checked yet."
	}
	words := "This screen was checked today."
	if days := int(a.now().Sub(a.check.At) / (24 * time.Hour)); days > 0 {
		words = fmt.Sprintf("This screen was checked %s ago.", count(days, "day", "days"))
	}
	if !a.check.Acceptable {
		words += " It did not show everything: see there."
	}
	return words
}

func shownKinds() []exercises.Kind {
	return slices.DeleteFunc(exercises.Kinds(), func(k exercises.Kind) bool { return !Shown(k.ID()) })
}

// adapts reports whether practice of a kind looks for what is weak by itself.
func adapts(k exercises.Kind) bool {
	return !k.Traits().AnswerDriven
}

func (p *menuPage) title() (string, string) { return "shadedrill", p.learner.Name }

func (p *menuPage) body(c *canvas, in rect) {
	in = in.inset(sideMargin)
	in, about := in.bottom(3)
	_, in = in.top(1)
	p.list.draw(c, in)
	c.paragraph(about, about.y, p.lines[p.list.at], c.tone.plain, false)
}

func (p *menuPage) keys() []keyHelp {
	return append(p.list.keys(), help("?", "help", "?"), help("q", "leave", "q"))
}

func (p *menuPage) key(k string) bool {
	if k == "q" || k == "escape" {
		p.quit(nil)
		return true
	}
	return p.list.key(k, p.say)
}

func (p *menuPage) pick(i int) { p.list.pick(i) }
