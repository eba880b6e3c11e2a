package trainer

import (
	"fmt"
	"slices"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/tests"
	"shadedrill/trainer/draw"
)

// examPage offers the forms of the test, and the certificates of those taken.
type examPage struct {
	offers
	under map[scoring.SetRef]bool // still to be taken, or gone on with
}

func newExamPage(a *app) {
	p := &examPage{offers: offers{app: a}, under: map[scoring.SetRef]bool{}}
	again := func() { newExamPage(a) }
	taken, err := record.Taken(a.ctx, a.cfg.Book, a.learner.ID, scoring.TestSet)
	if err == nil {
		err = p.offerForms(taken)
	}
	if err != nil {
		a.trouble("The book cannot be read.", err, again)
		return
	}
	finished := slices.DeleteFunc(taken, func(ref scoring.SetRef) bool { return p.under[ref] })
	for i, ref := range finished {
		name := "form " + ref.Name
		if ref.Take > 0 {
			name += fmt.Sprintf(", take %d", ref.Take)
		}
		p.list.Items = append(p.list.Items, draw.Item{Text: "Certificate of " + name, Gap: i == 0 && len(p.list.Items) > 0, Do: func() { a.certificate(ref) }})
		p.about = append(p.about, "The result, what it proves, and what not.")
	}
	a.show(p)
}

// offerForms offers what can be taken: the forms of the book, and open forms of before
// that have parts to do. Where there is nothing, a form can be laid down on the spot,
// so that somebody alone can measure themselves.
func (p *examPage) offerForms(taken []scoring.SetRef) error {
	open, err := record.OpenForms(p.ctx, p.cfg.Book, p.learner.ID)
	if err != nil {
		return err
	}
	earlier, err := p.testsOpen(taken)
	if err != nil {
		return err
	}
	add := func(text, about string, do func()) {
		p.list.Items = append(p.list.Items, draw.Item{Text: text, Do: do})
		p.about = append(p.about, about)
	}
	for _, set := range open {
		p.under[set.Progress.Ref] = true // no certificate of what was looked at and left
		if set.Progress.Begun() {
			add("Go on with "+set.Name(), "It was begun, and is still to be done.", func() { p.takeSet(set.Set) })
		} else {
			add("Take "+set.Name(), "It is taken once. "+itemWords(set.Set), func() { p.takeSet(set.Set) })
		}
	}
	for _, set := range earlier {
		p.under[set.Ref] = true
		add("Go on with "+set.Name(), "It was begun, and parts of it are still to do.", func() { p.takeSet(set) })
	}
	if len(p.list.Items) == 0 {
		add("Draw a new form and take it", "Its items are drawn now, by chance: nobody has seen them. Forms for a class: shadedrill exam new --help.", p.drawForm)
	}
	return nil
}

// itemWords say how many items each part has.
func itemWords(set scoring.Set) string {
	var parts []string
	for _, setup := range set.Parts {
		parts = append(parts, fmt.Sprint(setup.Items()))
	}
	return "Items: " + strings.Join(parts, " and ") + "."
}

// drawForm lays down the usual form under the next free name, and takes it.
func (p *examPage) drawForm() {
	const what = "A form cannot be laid down."
	list, err := p.cfg.Book.Forms(p.ctx)
	if err != nil {
		p.trouble(what, err, p.drawForm)
		return
	}
	test, err := scoring.StandardTest(fmt.Sprintf("own-%d", len(list)+1), scoring.UsualItems)
	if err == nil {
		test, err = test.Drawn(p.cfg.Chance)
	}
	if err != nil {
		p.trouble(what, err, nil)
		return
	}
	form, err := record.LayDown(p.ctx, p.cfg.Book, record.Form{Name: test.Ref.Name, Parts: test.Parts, Levels: scoring.UsualCuts(test), At: p.now()})
	if err != nil {
		p.trouble(what, err, p.drawForm)
		return
	}
	p.takeSet(form.Set())
}

func (p *examPage) title() (string, string) { return "Proficiency test", p.learner.Name }

func (p *examPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	in.W = min(in.W, 100)
	in, about := in.Bottom(2)
	y := in.Y + 1
	for _, l := range []string{
		fmt.Sprintf("The usual form: %d items whose targets are tabs, then %d with any tooth colour, about a quarter of an hour. Right is an acceptable match, within %.1f ΔE00.", scoring.UsualItems, scoring.UsualItems, scoring.Acceptability.Value),
		"The same items for everybody who takes the form, fixed viewing, nothing adapts, and no comment before the end. A test that is broken off goes on where it was left; it is taken once.",
	} {
		y = c.Bullet(in, y, l)
	}
	_, in = in.Top(y - in.Y + 1)
	p.list.Draw(c, in)
	c.Paragraph(about, about.Y, p.about[p.list.At], c.Tone.Plain, false)
}

func (p *examPage) help() []string {
	return []string{
		"The levels belong to the form; the usual ones are house choices, no standard stands behind them, and a school sets its own. Where the interval of the share right reaches into another level, the certificate says that so few items cannot tell the two apart.",
		"Forms with other exercises, numbers of items, libraries and levels: shadedrill exam new --help. Certificates for printing: shadedrill exam report --help.",
	}
}

// certificatePage shows the certificate of one taking.
type certificatePage struct {
	*app
	report report.Report
	print  string // the command that makes a page of it
	width  int
	lines  []draw.Line
	text   draw.Prose
}

func (a *app) certificate(test scoring.SetRef) {
	r, err := tests.Certificate(a.ctx, a.cfg.Book, a.learner, test.String())
	if err != nil {
		a.trouble("The certificate cannot be made.", err, func() { a.certificate(test) })
		return
	}
	which := test.Name
	if test.Take > 0 {
		which += fmt.Sprintf(" --take %d", test.Take)
	}
	a.show(&certificatePage{app: a, report: r,
		print: fmt.Sprintf("shadedrill exam report --form %s --learner %q -o certificate.html", which, a.learner.Name)})
}

func (p *certificatePage) title() (string, string) { return "Certificate", p.learner.Name }

func (p *certificatePage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	if p.width != in.W {
		p.width = in.W
		p.lines = reportLines(p.report, in.W)
		p.lines = append(p.lines, draw.Line{}, draw.Line{Text: "As a page to print:", Faint: true})
		for _, l := range c.Wrap(p.print, in.W) {
			p.lines = append(p.lines, draw.Line{Text: l, Faint: true})
		}
	}
	p.text.Draw(c, in, p.lines)
}

func (p *certificatePage) keys() []draw.KeyHelp {
	return append(append([]draw.KeyHelp{draw.Help("↵", "menu", "enter")}, p.text.Keys()...), draw.Help("?", "help", "?"), draw.Help("q", "menu", "q"))
}

func (p *certificatePage) key(k string) bool {
	switch k {
	case "enter", "m", "backspace", "escape":
		p.show(newMenuPage(p.app))
	case "q":
		p.toMenu()
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *certificatePage) pick(int) {}

func (p *certificatePage) help() []string { return (&examPage{}).help() }

// testOf makes the test again that a sitting is part of; false where neither the book
// nor the sitting says enough for that.
func (a *app) testOf(s scoring.Sitting) (scoring.Set, bool) {
	ref := s.Set()
	if ref.Kind != scoring.TestSet {
		return scoring.Set{}, false
	}
	if ref.Print != "" {
		form, _, ok, err := record.FormOf(a.ctx, a.cfg.Book, s)
		return form.Set(), ok && err == nil
	}
	sheet, err := a.cfg.Book.Sheet(a.ctx, s.Setup.SheetID)
	if err != nil {
		return scoring.Set{}, false
	}
	return scoring.TestOf(ref.Name, s.Setup, sheet)
}

// testsOpen lists the open forms of before that have answers and parts still to do.
func (a *app) testsOpen(taken []scoring.SetRef) ([]scoring.Set, error) {
	var list []scoring.Set
	for _, ref := range taken {
		if ref.Print != "" {
			continue
		}
		sittings, err := a.cfg.Book.Sittings(a.ctx, record.Filter{Learner: a.learner.ID, Within: ref.String()})
		if err != nil {
			return nil, err
		}
		test, ok := a.testOf(sittings[0])
		if !ok {
			continue
		}
		p, err := record.ProgressOf(a.ctx, a.cfg.Book, test, a.learner.ID)
		if err != nil {
			return nil, err
		}
		// Where other items were taken under the same name, its line is not this one.
		if p.Ref == ref && p.Given() > 0 && len(p.Others) == 0 {
			list = append(list, test)
		}
	}
	return list, nil
}
