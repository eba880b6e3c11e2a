package trainer

import (
	"fmt"
	"slices"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/learners"
	"shadedrill/trainer/draw"
)

// settingsPage sets how drills are looked at. What is set lies in the sittings,
// and the next start takes it from there; what was changed here goes into one that asks
// nothing, so that it is kept whether a drill follows or not.
type settingsPage struct {
	*app
	list   draw.List
	about  []string // a line for each setting
	before settings
}

// settings is all that can be set.
type settings struct {
	minutes, count, library int
	viewing                 exercises.Viewing
	targets                 exercises.Targets
}

func (a *app) settings() settings {
	return settings{a.minutes, a.count, a.library, a.viewing, a.targets}
}

// keep writes what was changed into the book.
func (p *settingsPage) keep() error {
	if p.settings() == p.before {
		return nil
	}
	sheet, err := p.shelf.sheet(p.library, p.viewing.Light, exercises.Level{})
	if err != nil {
		return err
	}
	ctx, written := writing(p.ctx)
	defer written()
	// The next start takes what the latest sitting says: this one is the latest, also where
	// the clock was set back since the one before.
	earlier, err := p.cfg.Book.Sittings(ctx, record.Filter{Learner: p.learner.ID})
	if err != nil {
		return err
	}
	at := p.now()
	if n := len(earlier); n > 0 && !at.After(earlier[n-1].Started) {
		at = earlier[n-1].Started.Add(time.Millisecond)
	}
	d, err := record.Begin(ctx, p.cfg.Book, scoring.Sitting{Learner: p.learner.ID, Display: p.check, Setup: exercises.Setup{Kind: shownKinds()[0].ID(), Seed: p.cfg.seed(p.drills),
		Count: p.count, Targets: p.targets, Minutes: p.minutes, Viewing: p.viewing, Sheet: sheet}}, func() time.Time { return at })
	if err == nil {
		err = d.End(ctx, true)
	}
	if err == nil {
		p.before = p.settings()
	}
	return err
}

// leave goes back once what was changed is in the book.
func (p *settingsPage) leave() {
	if err := p.keep(); err != nil {
		p.push(&troublePage{app: p.app, what: "What you set could not be written to the book. It holds until you leave.", err: err, again: func() {
			p.pop()
			p.leave()
		}})
		return
	}
	p.pop()
}

func newSettingsPage(a *app) *settingsPage {
	p := &settingsPage{app: a, list: draw.List{Values: 28}, before: a.settings()}
	for _, s := range []struct {
		name, about string
		value       func() string
		turn        func(by int) bool
	}{
		{"Practice a day", "How long the day's plan is. A short one a day teaches more than a long one a week.", func() string { return learners.AboutMinutes(float64(a.minutes)) },
			func(by int) bool {
				all := slices.Sorted(slices.Values(exercises.PlanMinutes))
				return turn(&a.minutes, all, by)
			}},
		{"Trials in a drill", "Of an exercise chosen from the menu.", func() string { return fmt.Sprint(a.count) },
			func(by int) bool { return turn(&a.count, []int{5, 10, 20, 30, 40, 60}, by) }},
		{"Longest look", "After this time the patches are covered. Seven seconds is common practice; no source is known for it.",
			func() string {
				if a.viewing.Limit <= 0 {
					return "no limit"
				}
				return seconds(a.viewing.Limit)
			},
			func(by int) bool {
				return turn(&a.viewing.Limit, []time.Duration{3 * time.Second, 5 * time.Second, 7 * time.Second, 10 * time.Second, 15 * time.Second, 30 * time.Second, 0}, by)
			}},
		{"Rest between trials", "Neutral grey, so that one trial does not colour the next.", func() string {
			if a.viewing.Rest <= 0 {
				return "none"
			}
			return seconds(a.viewing.Rest)
		}, func(by int) bool {
			return turn(&a.viewing.Rest, []time.Duration{0, time.Second / 2, time.Second, 2 * time.Second, 3 * time.Second, 5 * time.Second}, by)
		}},
		{"Gap between the patches", "Edge to edge the smallest differences are seen; across a gap it is more like life.", func() string {
			if a.viewing.Gap == 0 {
				return "edge to edge"
			}
			return scoring.Count(a.viewing.Gap, "cell", "cells")
		}, func(by int) bool { return turn(&a.viewing.Gap, []int{0, 1, 2, 4, 8, 12}, by) }},
		{"Surround", "The grey around the patches. A colour looks lighter on a darker one.", func() string {
			return fmt.Sprintf("grey, L* %.0f", a.viewing.Surround.Lab().L)
		}, func(by int) bool { return turn(&a.viewing.Surround, surrounds, by) }},
		{"Targets", "Any natural tooth colour, or exactly one of the tabs.", func() string {
			if a.targets == exercises.TabTargets {
				return "exactly a tab"
			}
			return "any natural tooth colour"
		}, func(by int) bool {
			return turn(&a.targets, []exercises.Targets{exercises.NaturalTargets, exercises.TabTargets}, by)
		}},
		{"Tab library", "The coarse one is easier to begin with.", func() string {
			l := a.shelf.libraries[a.library]
			return fmt.Sprintf("%s, %s", l.Name(), scoring.Count(l.Len(), "tab", "tabs"))
		}, func(by int) bool {
			to := a.library + by
			if to < 0 || to >= len(a.shelf.libraries) {
				return false
			}
			a.library = to
			return true
		}},
		{"Light", "Targets and tabs as they look under this lamp.", func() string {
			for _, l := range colour.Lights() {
				if l.ID == a.viewing.Light {
					return l.Name
				}
			}
			return colour.D65().Name
		}, func(by int) bool { return turn(&a.viewing.Light, lampChoices(), by) }},
	} {
		p.list.Items = append(p.list.Items, draw.Item{Text: s.name, Value: s.value, Turn: s.turn})
		p.about = append(p.about, s.about)
	}
	return p
}

// lampChoices are the lights to choose from; daylight is "".
func lampChoices() []string {
	ids := []string{""}
	for _, l := range colour.Lights() {
		if l.ID != colour.D65().ID {
			ids = append(ids, l.ID)
		}
	}
	return ids
}

// surrounds go from a dark room to a light one; L* 50 is the middle grey.
var surrounds = []colour.SRGB{colour.Grey(32), colour.Grey(64), colour.Grey(119), colour.Grey(185)}

// turn moves a value along a list; one that is not on it goes to its start.
func turn[T comparable](value *T, all []T, by int) bool {
	at := -1
	for i, v := range all {
		if v == *value {
			at = i
		}
	}
	if at < 0 {
		*value = all[0]
		return true
	}
	if at+by < 0 || at+by >= len(all) {
		return false
	}
	*value = all[at+by]
	return true
}

func (p *settingsPage) room() colour.SRGB { return p.viewing.Surround }

func (p *settingsPage) title() (string, string) { return "Settings", p.learner.Name }

func (p *settingsPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	lines, about := in.Top(len(p.list.Items))
	p.list.Draw(c, lines)
	c.Paragraph(about, about.Y+1, p.about[p.list.At], c.Tone.Plain, false)
}

func (p *settingsPage) keys() []draw.KeyHelp {
	return append(p.list.Keys(), draw.Help("⌫", "back", "backspace"), draw.Help("?", "help", "?"), draw.Help("q", "menu", "q"))
}

func (p *settingsPage) key(k string) bool {
	switch k {
	case "backspace", "escape", "enter", "q":
		p.leave()
		return true
	}
	return p.list.Key(k, p.say)
}

func (p *settingsPage) pick(i int) { p.list.Pick(i) }
