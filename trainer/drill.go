package trainer

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// drillPage is one drill on the screen, whatever its kind:
//
//	brief ──> rest ──> look ──(limit)──> covered
//	           ^        │ ^                │ │
//	           │        │ └──rest──space───┘ │
//	           │        └───────answer───────┘
//	           └── feedback <── stored ──┘           … after the last: summary
type drillPage struct {
	*app
	drill  *record.Drill
	kind   exercises.Kind
	screen ask.Screen
	traits exercises.Traits
	setup  exercises.Setup

	phase  phase
	trial  exercises.Trial
	asker  ask.Asker
	looks  int
	paused bool
	until  time.Time         // end of the rest
	left   time.Duration     // of the rest, while paused
	look   stopwatch         // this look
	spent  stopwatch         // all looks at this trial, and the time covered
	first  time.Duration     // when the first decision fell
	begun  bool              // the time of an exercise by hand runs
	unsent *exercises.Answer // given but not yet in the book
	given  []ask.Result
}

// largeSheet is how many tabs a sheet has that takes a noticeable time to prepare.
const largeSheet = 500

type phase int

const (
	briefing phase = iota
	resting
	looking
	covered
	over
)

func newDrillPage(a *app, d *record.Drill) (*drillPage, error) {
	setup := d.Sitting().Setup
	kind, err := exercises.ByID(setup.Kind)
	if err != nil {
		return nil, err
	}
	s := ask.ScreenOf(setup.Kind)
	if !ask.Shown(setup.Kind) {
		return nil, fmt.Errorf("the trainer has no screen for %s", strings.ToLower(kind.Title()))
	}
	p := &drillPage{app: a, drill: d, kind: kind, screen: s, traits: kind.Traits(), setup: setup}
	if sheet := setup.Sheet; sheet != nil && sheet.Len() > largeSheet {
		go a.guarded(sheet.Prepare)() // while the brief is read
	}
	if d.Given() > 0 {
		// Taken up again: what was given before belongs to the summary, and to
		// the scene under way.
		var marking scoring.Marking
		for at, err := range a.cfg.Book.Attempts(a.ctx, record.Filter{Sitting: d.Sitting().ID, Silent: true}) {
			if err != nil {
				return nil, err
			}
			p.given = append(p.given, ask.Result{Attempt: at, Mark: marking.Mark(at, setup.Sheet)})
		}
	}
	return p, nil
}

func (p *drillPage) room() colour.SRGB { return p.setup.Viewing.Surround }

// bare leaves the whole screen grey while the eyes rest.
func (p *drillPage) bare() bool { return p.phase == resting }

func (p *drillPage) title() (string, string) {
	name := p.name()
	if p.phase == briefing {
		if n := p.drill.Given(); n > 0 {
			return name, p.screen.TrialCount(p.drill.Planned()-n) + " to come"
		}
		return name, p.screen.TrialCount(p.drill.Planned())
	}
	right := p.counter()
	switch limit := p.setup.Viewing.Limit; {
	case p.phase == looking && p.begun:
		right = draw.ClockTime(p.spent.elapsed(p.now())) + "   " + right
	case p.phase == covered:
		right = "time is up   " + right
	case p.phase == looking && limit > 0:
		left := limit - p.look.elapsed(p.now())
		right = fmt.Sprintf("%d s   %s", (left+time.Second-1)/time.Second, right)
	}
	return name, right
}

// name is the exercise, and the lamp where it is not daylight.
func (p *drillPage) name() string {
	if p.phase == briefing {
		if set := p.drill.Sitting().SetTitle(); set != "" {
			return p.kind.Title() + ", " + set
		}
		if len(p.setup.Again) > 0 {
			return "Again: " + strings.ToLower(p.kind.Title())
		}
	}
	if id := p.setup.Viewing.Light; id != "" { // at every picture, so no light is sought in vain
		if l, err := colour.LightByID(id); err == nil && l.ID != colour.D65().ID {
			return p.kind.Title() + " under " + l.Name
		}
	}
	return p.kind.Title()
}

func (p *drillPage) counter() string {
	return fmt.Sprintf("%s %d of %d", p.screen.Unit(), p.drill.Given()+1, max(p.drill.Planned(), p.drill.Given()+1))
}

func (p *drillPage) body(c *draw.Canvas, in draw.Rect) {
	switch p.phase {
	case briefing:
		p.drawBrief(c, in)
	case resting:
		p.drawRest(c, in)
	case looking, covered:
		line, in := in.Top(2)
		write := func(y int, text string) {
			c.Write(line.X+draw.Margin, y, c.Clip(text, line.W-2*draw.Margin), c.Tone.Plain, false)
		}
		write(line.Y, p.asker.Prompt()) // stays: it may name what is asked about
		if p.phase == covered {
			write(line.Y+1, "The look is over: answer from memory, or look again with the space bar.")
		}
		p.asker.Draw(c, in, p.phase == covered)
	}
}

func (p *drillPage) drawBrief(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	y := c.Paragraph(in, in.Y+1, draw.Sentence(p.kind.Trains()), c.Tone.Plain, false) + 1
	for _, l := range p.screen.Briefing(p.setup) {
		y = c.Bullet(in, y, l)
	}
	v := p.setup.Viewing
	if v.Limit > 0 {
		y = c.Bullet(in, y, fmt.Sprintf("A look lasts %s. You may look again, but the first impression is usually the best.", seconds(v.Limit)))
	}
	if v.Rest > 0 {
		y = c.Bullet(in, y, fmt.Sprintf("Between the trials the screen is grey for %s, so that the eyes rest.", seconds(v.Rest)))
	}
	if len(p.setup.Again) > 0 {
		y = c.Bullet(in, y, "These are questions of the last weeks that you missed, just as they were asked.")
	}
	if p.setup.Silent {
		c.Bullet(in, y, "There is no feedback before the end.")
	}
}

func (p *drillPage) drawRest(c *draw.Canvas, in draw.Rect) {
	_, line := in.Middle(stageWidth, stageHeight).Bottom(1)
	text := "Rest your eyes. " + draw.UpperFirst(p.counter()) + " comes by itself."
	if p.looks > 0 {
		text = "Rest your eyes. The next look comes by itself."
	}
	c.Write(line.X+draw.Margin, line.Y, text, c.Tone.Faint, false)
	keys := "?  help   q  leave"
	c.Write(line.X+line.W-draw.Margin-c.Width(keys), line.Y, keys, c.Tone.Faint, false)
}

func (p *drillPage) keys() []draw.KeyHelp {
	common := []draw.KeyHelp{draw.Help("?", "help", "?"), draw.Help("q", "leave", "q")}
	switch p.phase {
	case briefing:
		keys := []draw.KeyHelp{draw.Help("↵", "begin", "enter")}
		if p.screen.Worked != nil {
			keys = append(keys, draw.Help("w", "watch one first", "w"))
		}
		return append(append(keys, draw.Help("g", "glossary", "g")), common...)
	case covered: // what is added stands last, so that nothing else moves
		return append(append(p.asker.Keys(), common...), draw.Help("Space", "look again", "space"))
	case looking:
		return append(p.asker.Keys(), common...)
	}
	return common
}

func (p *drillPage) key(k string) bool {
	if k == "q" || k == "escape" {
		p.leave()
		return true
	}
	switch p.phase {
	case briefing:
		if k == "w" && p.screen.Worked != nil {
			p.worked()
			return true
		}
		if k != "enter" && k != "space" {
			return false
		}
		p.next()
		return true
	case resting:
		if k == "?" {
			return false
		}
		// What is typed into the rest was meant for what came before.
		return true
	case covered:
		if k == "space" {
			p.rest()
			return true
		}
	case looking:
		if k == "space" && !p.traits.ByHand && !p.traits.Unhurried {
			p.say("The look is not over yet: the space bar takes another look after it.")
			return true
		}
	case over:
		return false
	}
	return p.take(p.asker.Key(k))
}

func (p *drillPage) pick(i int) {
	if p.phase == looking || p.phase == covered {
		p.take(p.asker.Pick(i))
	}
}

// take acts on an asker's reply.
func (p *drillPage) take(r ask.Reply) bool {
	if r.Unknown {
		return false
	}
	if r.Say != "" {
		p.say(r.Say)
	}
	if r.Begun {
		p.first, p.spent, p.begun = 0, stopwatch{}, p.traits.ByHand
		p.spent.start(p.now())
	}
	if r.Decided && p.first == 0 {
		p.first = p.spent.elapsed(p.now().Add(-p.way))
	}
	if r.Answer != nil && p.pace.held {
		p.say(hasty)
		return true
	}
	if r.Answer != nil {
		now := p.now()
		a := *r.Answer
		a.Total = p.spent.elapsed(now.Add(-p.way))
		if a.First = p.first; a.First == 0 {
			a.First = a.Total
		}
		a.Looks, a.TimedOut = p.looks, p.phase == covered
		p.unsent = &a
		p.send()
	}
	return true
}

// send puts the answer into the book; only then is it marked and shown. When
// the book refuses, the answer is kept and can be sent again.
func (p *drillPage) send() {
	ctx, written := writing(p.ctx)
	attempt, mark, err := p.drill.Answer(ctx, *p.unsent)
	written()
	if errors.Is(err, record.ErrTaken) || errors.Is(err, record.ErrEnded) {
		p.unsent = nil // the same drill was gone on with elsewhere: that answer stands
		p.pause(p.now())
		what, mend := "This drill was gone on with in another window meanwhile. What was answered there counts.", "go on there; or go to the menu, close the other window, and start again to go on with the drill here"
		if errors.Is(err, record.ErrEnded) {
			what, mend = "This drill was ended meanwhile, in another window or by whoever runs your class or team. What was answered before that is kept.", "go to the menu"
		}
		p.push(&troublePage{app: p.app, what: what, err: fault.New("the answer given here was not taken", mend)})
		return
	}
	if err != nil {
		p.pause(p.now())
		p.push(&troublePage{app: p.app, what: "The answer could not be written to the book. It is kept here.", err: err, again: func() {
			p.pop()
			p.send()
		}})
		return
	}
	p.unsent = nil
	p.look.stop(p.now())
	p.spent.stop(p.now())
	p.given = append(p.given, ask.Result{Attempt: attempt, Mark: mark})
	f := ask.Feedback{Attempt: attempt, Mark: mark, Setup: p.setup}
	if p.setup.Silent || p.screen.Quiet {
		p.next()
		return
	}
	p.phase = resting // what lies under the feedback must not show the trial
	p.push(newFeedbackPage(p, f))
}

// next asks the next trial, after a rest, or ends the drill.
func (p *drillPage) next() {
	t, ok := p.drill.Trial()
	if !ok {
		p.finish(false)
		return
	}
	p.trial = t
	p.looks, p.first, p.spent, p.begun = 0, 0, stopwatch{}, false
	asker, err := p.screen.Ask(ask.Question{Trial: t, Setup: p.setup, Earlier: p.sceneOf(t)})
	if err != nil {
		p.trouble("The trial cannot be shown.", err, nil)
		return
	}
	p.asker = asker
	p.rest()
}

// stage tells one picture of the drill from the next: another trial, another
// look, the rest between them. The seconds in the title are no stage.
func (p *drillPage) stage() scene {
	if p.phase == resting {
		return scene{of: "drill", rests: true}
	}
	return p.scene()
}

// footRows is what the keys of any step take in the smallest window, the look again
// included; a test goes through the steps.
func (p *drillPage) footRows(int) int {
	if p.phase == briefing {
		return 0
	}
	return 2
}

// scene is one picture and one question: keys that answer wait until it was seen. In
// the rest every key is swallowed anyway.
func (p *drillPage) scene() scene {
	if p.phase == resting {
		return scene{}
	}
	at := scene{of: "drill", given: p.drill.Given(), looks: p.looks}
	if p.phase == briefing {
		at.of = "brief"
	}
	if s, ok := p.asker.(ask.Stepped); ok && p.asker != nil {
		at.step = s.Step()
	}
	return at
}

// finish ends the drill in the book and shows the summary.
func (p *drillPage) finish(left bool) {
	if err := p.drill.End(p.ctx, left); err != nil {
		p.push(&troublePage{app: p.app, what: "The end of the drill could not be written to the book.", err: err, again: func() {
			p.pop()
			p.finish(left)
		}})
		return
	}
	p.phase = over
	sitting := p.drill.Sitting()
	if !left && p.goOnWithSet(sitting) {
		return
	}
	if ref := sitting.Set(); ref.Kind == scoring.TestSet {
		p.certificate(ref)
		return
	}
	p.show(newSummaryPage(p.app, p.drill, p.kind, p.given))
}

// sceneOf lists the answers given to the scene of a trial.
func (p *drillPage) sceneOf(t exercises.Trial) []scoring.Attempt {
	var scene []scoring.Attempt
	for _, r := range p.given {
		if t.Part != "" && r.Attempt.Trial.Scene == t.Scene {
			scene = append(scene, r.Attempt)
		}
	}
	return scene
}

func (p *drillPage) help() []string { return helpOf(p.kind, p.setup) }

// helpOf is what the help says of an exercise.
func helpOf(kind exercises.Kind, setup exercises.Setup) []string {
	s := ask.ScreenOf(kind.ID())
	lines := append([]string{draw.Sentence(kind.Trains())}, s.Briefing(setup)...)
	if s.Notes != nil {
		lines = append(lines, s.Notes()...)
	}
	return lines
}
