package trainer

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring/record"
	"shadedrill/trainer/draw"
)

// troublePage says what went wrong. What has been answered is in the book all
// the same.
type troublePage struct {
	*app
	what  string
	err   error
	again func() // nil where another try cannot help
}

func (p *troublePage) title() (string, string) { return "shadedrill", "" }

func (p *troublePage) body(c *draw.Canvas, in draw.Rect) {
	in = in.Inset(draw.Margin)
	y := c.Paragraph(in, in.Y+1, p.what, c.Tone.Strong, true)
	y = c.Paragraph(in, y+1, p.err.Error(), c.Tone.Plain, false)
	if mend := fault.Hint(p.err); mend != "" {
		y = c.Paragraph(in, y+1, "hint: "+mend, c.Tone.Plain, false)
	}
	c.Paragraph(in, y+1, "Every answer given before this is kept.", c.Tone.Plain, false)
}

func (p *troublePage) keys() []draw.KeyHelp {
	var keys []draw.KeyHelp
	if p.again != nil {
		keys = append(keys, draw.Help("r", "try again", "r"))
	}
	if p.rescuer() != nil {
		keys = append(keys, draw.Help("w", "write a new book", "w"))
	}
	if p.learner.ID != "" {
		keys = append(keys, draw.Help("m", "menu", "m"))
	}
	return append(keys, draw.Help("q", "leave", "q"))
}

// rescuer is the book where it was taken away while it was open, and can go on in a
// new place.
func (p *troublePage) rescuer() record.Rescuer {
	if !errors.Is(p.err, record.ErrDisplaced) {
		return nil
	}
	r, _ := p.cfg.Book.(record.Rescuer)
	return r
}

// rescue writes all that the book held into a new one, and then what was refused.
func (p *troublePage) rescue() {
	ctx, written := writing(p.ctx)
	defer written()
	path, err := p.rescuer().Rescue(ctx, p.cfg.RescueInto...)
	if err != nil {
		p.err = err
		return
	}
	if p.again != nil {
		p.again()
	} else {
		p.show(newMenuPage(p.app))
	}
	p.say("Everything is in a new book, " + filepath.Base(path) + ". Answers go there from now on.")
}

func (p *troublePage) key(k string) bool {
	switch k {
	case "r", "enter":
		if p.again == nil {
			p.say("Trying again cannot help here.")
			return true
		}
		p.again()
	case "w":
		if p.rescuer() == nil {
			return false
		}
		p.rescue()
	case "m":
		if p.learner.ID == "" {
			return false
		}
		lost := p.sendUnsent()
		p.show(newMenuPage(p.app))
		if lost != nil {
			p.say("It could not be written. An answer is asked for again when its drill goes on.")
		}
	case "q", "escape":
		p.quit(nil)
	default:
		return false
	}
	return true
}

func (p *troublePage) pick(int) {}

// grace is how long the writing of an answer goes on after the trainer was told to
// stop. House choice: a book that others write to is free again long before.
const grace = 10 * time.Second

// writing is the context in which an answer that was given goes into the book: it
// outlives that of the run, which may end in that moment.
func writing(ctx context.Context) (context.Context, func()) {
	lasting, cancel := context.WithCancel(context.WithoutCancel(ctx))
	stop := context.AfterFunc(ctx, func() { time.AfterFunc(grace, cancel) })
	return lasting, func() { stop(); cancel() }
}

// sendUnsent writes what is not in the book yet before the trainer ends: settings whose
// page was not left, and, a last time, an answer that the book has refused.
func (a *app) sendUnsent() error {
	ctx, written := writing(a.ctx)
	defer written()
	for _, page := range a.pages {
		if p, ok := page.(*settingsPage); ok {
			if err := p.keep(); err != nil {
				return fmt.Errorf("what was set could not be written to the book: %w", err)
			}
		}
		p, ok := page.(*drillPage)
		// What the book took before something broke is not given to it once more.
		if !ok || p.unsent == nil || p.drill.Given() > len(p.given) {
			continue
		}
		if _, _, err := p.drill.Answer(ctx, *p.unsent); err != nil {
			return fmt.Errorf("the last answer could not be written to the book: %w", err)
		}
		p.unsent = nil
	}
	return nil
}
