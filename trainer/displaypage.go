package trainer

import (
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/trainer/display"
	"shadedrill/trainer/draw"
)

// displayPage asks what the screen really shows. A program cannot find that out:
// between it and the eye lie a terminal, perhaps another one around it, a
// display and its settings. So it shows, and the person says.
type displayPage struct {
	*app
	next  func()
	step  int
	left  bool // where the small step is
	check scoring.DisplayCheck
	why   []string // what is not as it should be, once answered
}

const displaySteps = 4

// rampSteps is chosen so that no step of the ramp is the grey of the room.
const rampSteps = 14

func newDisplayPage(a *app, next func()) *displayPage {
	// Left or right by chance, so that nobody answers from habit.
	rng := rand.New(rand.NewPCG(uint64(a.now().UnixNano()), 1))
	return &displayPage{app: a, next: next, left: rng.IntN(2) == 0}
}

func (p *displayPage) title() (string, string) {
	if p.step >= displaySteps {
		return "Display check", ""
	}
	return "Display check", "question " + string(rune('1'+p.step)) + " of 4"
}

// displayQuestions are the four questions and what can be said to each.
var displayQuestions = [displaySteps]struct {
	ask   string
	also  string
	words []string
}{
	{"One of these two fields has a faint upright edge in its middle. Which?", "It is meant to be only just visible. Four questions tell what this screen shows, and so what its numbers are worth.",
		[]string{"the left", "the right", "I see none"}},
	{"Fourteen greys from black to white. Can you tell each from its neighbours?", "",
		[]string{"all of them", "the darkest run together", "the lightest run together", "both ends do"}},
	{"Step back or half close your eyes until the stripes blur. In which row do they melt into the grey beside them?", "",
		[]string{"1", "2", "3", "4", "5", "in none"}},
	{"Are night-tint, warm-light and automatic brightness modes switched off?", "They change colours while you work. Set the brightness so that the screen neither dazzles nor looks grey, and leave it there.",
		[]string{"yes, all off", "no, one is on", "I do not know"}},
}

func (p *displayPage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	if p.step >= displaySteps {
		p.drawVerdict(c, in)
		return
	}
	q := displayQuestions[p.step]
	y := c.Paragraph(in, in.Y+1, q.ask, c.Tone.Strong, false)
	if q.also != "" {
		y = c.Paragraph(in, y, q.also, c.Tone.Plain, false)
	}
	_, picture := in.Top(y - in.Y + 1)
	picture, _ = picture.Bottom(1)
	switch p.step {
	case 0:
		p.drawSmallStep(c, picture)
	case 1:
		p.drawRamp(c, picture)
	case 2:
		p.drawGamma(c, picture)
	}
}

func (p *displayPage) drawSmallStep(c *draw.Canvas, in draw.Rect) {
	w := min(in.W/2-4, in.H*3)
	h := min(in.H, 14)
	x := in.X + (in.W-2*w-6)/2
	y := in.Y + (in.H-h)/2
	for i := range 2 {
		field := draw.Box(x+i*(w+6), y, w, h)
		c.Swatch(field, display.SmallStep[0])
		if (i == 0) == p.left {
			c.Swatch(draw.Box(field.X+w/2, y, w-w/2, h), display.SmallStep[1])
		}
	}
}

func (p *displayPage) drawRamp(c *draw.Canvas, in draw.Rect) {
	greys := display.Ramp(rampSteps)
	w := in.W / len(greys)
	x := in.X + (in.W-w*len(greys))/2
	h := min(in.H, 10)
	for i, g := range greys {
		c.Swatch(draw.Box(x+i*w, in.Y+(in.H-h)/2, w, h), g)
	}
}

// drawGamma paints five rows, each stripes of black and white between two pieces
// of one flat grey. The stripes are whole cells: half-block characters come from
// a font, and many leave hairlines between them, which would change the light.
func (p *displayPage) drawGamma(c *draw.Canvas, in draw.Rect) {
	n := len(display.GammaGreys)
	pitch := max(2, min(in.H/n, 5))
	w := min(20, in.W/4) &^ 1 // even: as much black as white
	x := in.X + (in.W-3*w)/2
	y0 := in.Y + max(0, (in.H-n*pitch)/2)
	white, black := colour.Grey(255), colour.Grey(0)
	for i, g := range display.GammaGreys {
		y := y0 + i*pitch
		rows := pitch - 1
		c.Write(x-4, y+rows/2, string(rune('1'+i)), c.Tone.Strong, true)
		c.Swatch(draw.Box(x, y, 3*w, rows), g)
		for col := range w {
			stripe := white
			if col%2 == 1 {
				stripe = black
			}
			c.Swatch(draw.Box(x+w+col, y, 1, rows), stripe)
		}
	}
}

func (p *displayPage) drawVerdict(c *draw.Canvas, in draw.Rect) {
	y := in.Y + 1
	if p.check.Acceptable {
		y = c.Paragraph(in, y, "This screen shows what is needed.", c.Tone.Strong, true) + 1
	} else {
		y = c.Paragraph(in, y, "You can practise here, but compare numbers from this screen with care:", c.Tone.Strong, true) + 1
		for _, w := range p.why {
			y = c.Bullet(in, y, w)
		}
		y++
	}
	y = c.Paragraph(in, y, "What you said is kept with every drill. It says nothing about how true the colours are: the results are relative to this screen and this room.", c.Tone.Plain, false)
	another := "terminal"
	if p.cfg.System == display.Browser {
		another = "screen or browser"
	}
	c.Paragraph(in, y+1, "The check is repeated after a week and for another "+another+".", c.Tone.Faint, false)
}

func (p *displayPage) keys() []draw.KeyHelp {
	if p.step >= displaySteps {
		return []draw.KeyHelp{draw.Help("↵", "go on", "enter"), draw.Help("b", "answer again", "b"), draw.Help("q", p.wayOut(), "q")}
	}
	var keys []draw.KeyHelp
	for i, w := range displayQuestions[p.step].words {
		n := string(rune('1' + i))
		if w == n { // the rows are numbered already
			w = "row " + n
		}
		keys = append(keys, draw.Help(n, w, n))
	}
	if p.step > 0 {
		keys = append(keys, draw.Help("b", "back", "b"))
	}
	return append(keys, draw.Help("?", "help", "?"), draw.Help("q", p.wayOut(), "q"))
}

// wayOut is what q does here: there is no menu before somebody has said who they are.
func (p *displayPage) wayOut() string {
	if p.learner.ID != "" {
		return "menu"
	}
	return "leave"
}

// take keeps the check once all is answered, whichever key ends the page.
func (p *displayPage) take() {
	if p.step < displaySteps {
		return
	}
	p.app.check = p.check
	if p.cfg.Checked != nil {
		p.cfg.Checked(p.check)
	}
}

func (p *displayPage) key(k string) bool {
	switch {
	case (k == "q" || k == "escape") && p.learner.ID != "":
		p.take()
		p.toMenu()
		return true
	case k == "q" || k == "escape":
		p.take()
		p.quit(nil)
		return true
	case p.step >= displaySteps && (k == "enter" || k == "space"):
		p.take()
		p.next()
		return true
	case k == "b" || k == "backspace":
		if p.step == 0 {
			p.say("This is the first question.")
			return true
		}
		p.step = (p.step - 1) % displaySteps
		return true
	case p.step >= displaySteps:
		return false
	}
	if k == "enter" || k == "space" {
		p.say("Answer with one of the digits below.")
		return true
	}
	i, ok := draw.Digit(k)
	if !ok {
		return false
	}
	if i >= len(displayQuestions[p.step].words) {
		p.say("There is no answer with this number.")
		return true
	}
	p.answered(i)
	return true
}

func (p *displayPage) answered(i int) {
	switch p.step {
	case 0:
		p.check.SmallStep = display.NotSeen
		if i == 0 && p.left || i == 1 && !p.left {
			p.check.SmallStep = display.Seen
		}
	case 1:
		p.check.Ramp = []string{display.AllSteps, display.DarkLost, display.LightLost, display.BothLost}[i]
	case 2:
		p.check.Gamma = display.NoGrey
		if i < len(display.GammaGreys) {
			p.check.Gamma = display.GammaWords(i)
		}
	case 3:
		p.check.NightTint = []string{display.TintOff, display.TintOn, display.TintUnknown}[i]
	}
	p.step++
	if p.step == displaySteps {
		p.check.At = p.now()
		p.check.Colours = p.screen.Colors()
		p.check.Terminal = p.displayName()
		p.check.Acceptable, p.why = display.Judge(p.check.SmallStep, p.check.Ramp, p.check.Gamma, p.check.NightTint)
	}
}

func (p *displayPage) help() []string {
	return []string{"A program cannot find out what a screen really shows: between it and your eye lie a terminal, a display and its settings. So it shows, and you say. There is no wrong answer: where something is not seen, the check says what to change.",
		"You can practise in any case. What you said stays with every drill, and reports can leave out what was taken on a screen that did not show everything."}
}

// scene: a question is read before it is answered.
func (p *displayPage) scene() scene { return scene{of: "display check", given: p.step} }

func (p *displayPage) pick(int) {}
