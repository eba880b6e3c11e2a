package trainer

import (
	"fmt"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/tests"
	"shadedrill/trainer/draw"
)

// examPage offers the forms of the test, and the certificates of those taken.
type examPage struct{ offers }

// offered forms; any other name is taken from the command line.
var offeredForms = []string{"A", "B", "C", "D"}

func newExamPage(a *app) {
	p := &examPage{offers{app: a}}
	taken, err := record.Taken(a.ctx, a.cfg.Book, a.learner.ID, scoring.TestSet)
	if err != nil {
		a.trouble("The book cannot be read.", err, func() { newExamPage(a) })
		return
	}
	for _, name := range offeredForms {
		p.list.Items = append(p.list.Items, draw.Item{Text: "Take form " + name, Extra: takenWords(taken, name), Do: func() {
			test, err := scoring.StandardTest(name, scoring.UsualItems)
			if err != nil {
				a.trouble("This form cannot be taken.", err, nil)
				return
			}
			a.takeSet(test)
		}})
		p.about = append(p.about, "Another form asks other items by the same rules. One that was seen before is easier.")
	}
	open, err := a.testsOpen(taken)
	if err != nil {
		a.trouble("The book cannot be read.", err, func() { newExamPage(a) })
		return
	}
	for i, test := range open {
		p.list.Items = append(p.list.Items, draw.Item{Text: "Go on with " + test.Name(), Gap: i == 0, Do: func() { a.takeSet(test) }})
		p.about = append(p.about, "It was begun, and parts of it are still to do.")
	}
	for i, ref := range taken {
		p.list.Items = append(p.list.Items, draw.Item{Text: fmt.Sprintf("Certificate of form %s, take %d", ref.Name, ref.Take), Gap: i == 0, Do: func() { a.certificate(ref) }})
		p.about = append(p.about, "The result, what it can claim, and what it cannot.")
	}
	a.show(p)
}

func takenWords(taken []scoring.SetRef, form string) string {
	n := 0
	for _, ref := range taken {
		if ref.Name == form {
			n++
		}
	}
	switch n {
	case 0:
		return ""
	case 1:
		return "begun or taken before"
	}
	return fmt.Sprintf("begun or taken %d times before", n)
}

func (p *examPage) title() (string, string) { return "Proficiency test", p.learner.Name }

func (p *examPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	in.W = min(in.W, 100)
	in, about := in.Bottom(2)
	y := in.Y + 1
	for _, l := range []string{
		fmt.Sprintf("%d items whose targets are tabs of a coarse library, then %d with any tooth colour and a finer one: about a quarter of an hour.", scoring.UsualItems, scoring.UsualItems),
		"The same items for everybody who takes the form, fixed viewing, nothing adapts, and no comment before the end. A test that is broken off goes on where it was left.",
	} {
		y = c.Bullet(in, y, l)
	}
	_, in = in.Top(y - in.Y + 1)
	p.list.Draw(c, in)
	c.Paragraph(about, about.Y, p.about[p.list.At], c.Tone.Plain, false)
}

func (p *examPage) help() []string {
	return []string{
		"The level is read from cut-offs that can be changed; no standard stands behind them. Where the interval of the share right crosses a cut-off, the certificate says that so few items cannot tell the two levels apart.",
		"Other exercises, numbers of items and libraries: shadedrill exam take --help. Certificates for printing: shadedrill exam report --help.",
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
	r, err := tests.Certificate(a.ctx, a.cfg.Book, a.learner, test.String(), scoring.HouseCuts)
	if err != nil {
		a.trouble("The certificate cannot be made.", err, func() { a.certificate(test) })
		return
	}
	a.show(&certificatePage{app: a, report: r,
		print: fmt.Sprintf("shadedrill exam report --form %s --take %d --learner %q -o certificate.html", test.Name, test.Take, a.learner.Name)})
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

// testOf makes the test again that a sitting is part of; false where the sitting
// does not say enough for that.
func (a *app) testOf(s scoring.Sitting) (scoring.Set, bool) {
	ref := s.Set()
	if ref.Kind != scoring.TestSet {
		return scoring.Set{}, false
	}
	sheet, err := a.cfg.Book.Sheet(a.ctx, s.Setup.SheetID)
	if err != nil {
		return scoring.Set{}, false
	}
	return scoring.TestOf(ref.Name, s.Setup, sheet)
}

// testsOpen lists the tests that have answers and parts still to do, other than the
// usual forms, whose own lines go on with them.
func (a *app) testsOpen(taken []scoring.SetRef) ([]scoring.Set, error) {
	var list []scoring.Set
	for _, ref := range taken {
		sittings, err := a.cfg.Book.Sittings(a.ctx, record.Filter{Learner: a.learner.ID, Within: ref.String()})
		if err != nil {
			return nil, err
		}
		test, ok := a.testOf(sittings[0])
		if !ok || slices.Contains(offeredForms, ref.Name) && isUsual(test) {
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

// isUsual tells the usual form from one of named exercises.
func isUsual(test scoring.Set) bool {
	usual, err := scoring.StandardTest(test.Ref.Name, scoring.UsualItems)
	if err != nil {
		return false
	}
	return slices.EqualFunc(usual.Parts, test.Parts, scoring.Asks)
}
