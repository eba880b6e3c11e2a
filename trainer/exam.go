package trainer

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/exam"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/tests"
	"shadedrill/trainer/draw"
)

// Exam is a form of the proficiency test and the sheet that it is taken with, where
// a part has none of its own.
type Exam struct {
	Form  exam.Form
	Sheet *tabs.Sheet
}

// StandardExam is the usual form: see [exam.Standard].
func StandardExam(name string, items int) (Exam, error) {
	var sheets []*tabs.Sheet
	for _, library := range []string{"starter", "natural"} {
		l, err := tabs.Load(library)
		if err != nil {
			return Exam{}, err
		}
		sheets = append(sheets, tabs.NewSheet(l, nil))
	}
	form, err := exam.Standard(name, items, sheets[0], sheets[1])
	return Exam{form, sheets[0]}, err
}

// takeExam begins the parts of a form that are not done, or shows why not.
func (a *app) takeExam(e Exam) {
	a.drills++ // whatever comes of it, the menu comes next
	next, err := exam.Next(a.ctx, a.cfg.Book, a.learner.ID, e.Form, e.Form.Setups(e.Sheet))
	var differs *exam.Differs
	switch {
	case errors.As(err, &differs):
		a.trouble("This form cannot be taken.", err, nil)
		return
	case err != nil:
		a.trouble("The book cannot be read.", err, func() { a.takeExam(e) })
		return
	}
	a.cfg.Within, a.cfg.Then = next.Within, next.Open
	if len(next.Begun) > 0 {
		d, err := record.Resume(a.ctx, a.cfg.Book, next.Begun[0], a.cfg.Clock)
		if err != nil {
			a.trouble("The test cannot be taken up again. What was given is kept.", err, nil)
			return
		}
		if _, more := d.Trial(); !more { // broken off after the last answer
			if err := d.End(a.ctx, false); err != nil {
				a.trouble("The end of the test could not be written to the book.", err, func() { a.takeExam(e) })
				return
			}
		}
		a.showDrill(d)
		return
	}
	a.cfg.Then = next.Open[1:]
	a.startDrill(next.Open[0], next.Within)
}

// examPage offers the forms of the test, and the certificates of those taken.
type examPage struct{ offers }

// offered forms; any other name is taken from the command line.
var offeredForms = []string{"A", "B", "C", "D"}

func newExamPage(a *app) {
	p := &examPage{offers{app: a}}
	taken, err := a.examsTaken()
	if err != nil {
		a.trouble("The book cannot be read.", err, func() { newExamPage(a) })
		return
	}
	for _, name := range offeredForms {
		p.list.Items = append(p.list.Items, draw.Item{Text: "Take form " + name, Extra: takenWords(taken, name), Do: func() {
			e, err := StandardExam(name, exam.UsualItems)
			if err != nil {
				a.trouble("This form cannot be taken.", err, nil)
				return
			}
			a.takeExam(e)
		}})
		p.about = append(p.about, "Another form asks other items by the same rules. One that was seen before is easier.")
	}
	open, err := a.examsOpen(taken)
	if err != nil {
		a.trouble("The book cannot be read.", err, func() { newExamPage(a) })
		return
	}
	for i, e := range open {
		p.list.Items = append(p.list.Items, draw.Item{Text: "Go on with form " + e.Form.Name, Gap: i == 0, Do: func() { a.takeExam(e) }})
		p.about = append(p.about, "It was begun, and parts of it are still to do.")
	}
	for i, within := range taken {
		form, take, _ := exam.ParseWithin(within)
		p.list.Items = append(p.list.Items, draw.Item{Text: fmt.Sprintf("Certificate of form %s, take %d", form, take), Gap: i == 0, Do: func() { a.certificate(within) }})
		p.about = append(p.about, "The result, what it can claim, and what it cannot.")
	}
	a.show(p)
}

// examsTaken lists what the learner took, oldest first.
func (a *app) examsTaken() ([]string, error) {
	sittings, err := a.cfg.Book.Sittings(a.ctx, record.Filter{Learner: a.learner.ID})
	if err != nil {
		return nil, err
	}
	var list []string
	seen := map[string]bool{}
	for _, s := range sittings {
		if _, _, ok := exam.ParseWithin(s.Within); ok && !seen[s.Within] {
			seen[s.Within] = true
			list = append(list, s.Within)
		}
	}
	return list, nil
}

func takenWords(taken []string, name string) string {
	n := 0
	for _, within := range taken {
		if form, _, _ := exam.ParseWithin(within); form == name {
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
		fmt.Sprintf("%d items whose targets are tabs of a coarse library, then %d with any tooth colour and a finer one: about a quarter of an hour.", exam.UsualItems, exam.UsualItems),
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
		"The class is by cut-offs that can be set; no standard stands behind them. When the interval of the share right reaches over a cut-off, the certificate says so: that many items cannot separate the classes.",
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

func (a *app) certificate(within string) {
	r, err := tests.Certificate(a.ctx, a.cfg.Book, a.learner, within, exam.HouseCuts)
	if err != nil {
		a.trouble("The certificate cannot be made.", err, func() { a.certificate(within) })
		return
	}
	form, take, _ := exam.ParseWithin(within)
	a.show(&certificatePage{app: a, report: r,
		print: fmt.Sprintf("shadedrill exam report --form %s --take %d --learner %q -o certificate.html", form, take, a.learner.Name)})
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
	return append(append([]draw.KeyHelp{draw.Help("↵", "menu", "enter")}, p.text.Keys()...), draw.Help("?", "help", "?"), draw.Help("q", "leave", "q"))
}

func (p *certificatePage) key(k string) bool {
	switch k {
	case "enter", "m", "backspace", "escape":
		p.show(newMenuPage(p.app))
	case "q":
		p.quit(nil)
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *certificatePage) pick(int) {}

func (p *certificatePage) help() []string { return (&examPage{}).help() }

func isExam(within string) bool {
	_, _, ok := exam.ParseWithin(within)
	return ok
}

// examOf makes the test again that a sitting is part of; false where the sitting
// does not say enough for that.
func (a *app) examOf(s scoring.Sitting) (Exam, bool) {
	name, _, ok := exam.ParseWithin(s.Within)
	if !ok {
		return Exam{}, false
	}
	if form, ok := exam.FormOf(name, s.Setup); ok {
		sheet, err := a.cfg.Book.Sheet(a.ctx, s.Setup.SheetID)
		return Exam{form, sheet}, err == nil
	}
	e, err := StandardExam(name, s.Setup.Items())
	return e, err == nil
}

// goOnWithExam takes up a test that was broken off, so that its other parts follow;
// false when they are not known.
func (a *app) goOnWithExam(s scoring.Sitting) bool {
	e, ok := a.examOf(s)
	if !ok {
		return false
	}
	next, err := exam.Next(a.ctx, a.cfg.Book, a.learner.ID, e.Form, e.Form.Setups(e.Sheet))
	if err != nil || !slices.Contains(next.Begun, s.ID) {
		return false
	}
	a.takeExam(e)
	return true
}

// examsOpen lists the tests that have answers and parts still to do, other than the
// usual forms, whose own lines go on with them.
func (a *app) examsOpen(taken []string) ([]Exam, error) {
	var list []Exam
	for _, within := range taken {
		sittings, err := a.cfg.Book.Sittings(a.ctx, record.Filter{Learner: a.learner.ID, Within: within})
		if err != nil {
			return nil, err
		}
		e, ok := a.examOf(sittings[0])
		if !ok || slices.Contains(offeredForms, e.Form.Name) && e.Form.Parts[0].Items == exam.UsualItems && e.Form.Parts[0].Sheet != nil {
			continue
		}
		next, err := exam.Next(a.ctx, a.cfg.Book, a.learner.ID, e.Form, e.Form.Setups(e.Sheet))
		if err != nil {
			continue // taken with other items under the same name: its line is not this one
		}
		if next.Within == within && len(next.Open) < len(e.Form.Parts) {
			list = append(list, e)
		}
	}
	return list, nil
}

// partName says which part of a test a drill is: "part 1 of 2"; empty for others.
func partName(within string, s exercises.Setup) string {
	form, _, ok := exam.ParseWithin(within)
	if !ok {
		return ""
	}
	name := "proficiency test, form " + form
	if part, of := exam.PartOf(s); of > 1 {
		name += fmt.Sprintf(", part %d of %d", part, of)
	}
	return strings.TrimSpace(name)
}
