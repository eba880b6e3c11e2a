package trainer

import (
	"fmt"
	"strconv"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/history"
	"shadedrill/trainer/draw"
)

// What an instructor decides about an assignment is reached from the class:
//
//	class ──a──> assignments ──> what to decide ──> whom, until when, why ──> the class again

// assignments lists what the class was given.
func (p *classPage) assignments() {
	given, err := p.cfg.Book.Assignments(p.ctx, p.of.ID)
	if err != nil {
		p.trouble("The assignments cannot be read.", err, nil)
		return
	}
	if len(given) == 0 {
		p.say("Nothing was assigned yet: shadedrill class assign")
		return
	}
	list := &choicePage{app: p.app, head: "Assignments of " + p.of.Name, about: "About which is something to be decided?"}
	for _, a := range given {
		extra := "due " + scoring.Moment(a.DueNow())
		if !a.Gone().IsZero() {
			extra = "taken back"
		}
		list.list.Items = append(list.list.Items, draw.Item{Text: assignmentTitle(a), Extra: extra, Do: func() { p.decide(a) }})
	}
	p.push(list)
}

func assignmentTitle(a scoring.Assignment) string {
	return fmt.Sprintf("Assignment %d (%s): %s", a.Number, a.Code(), history.KindTitle(a.Setup.Kind))
}

// decide lists what can be decided about one.
func (p *classPage) decide(a scoring.Assignment) {
	list := &choicePage{app: p.app, head: assignmentTitle(a), about: classes.AssignmentWords(a) + "."}
	add := func(text string, do func()) {
		list.list.Items = append(list.list.Items, draw.Item{Text: text, Do: do})
	}
	if a.Gone().IsZero() {
		add("another due date", func() {
			p.askDay("Until when is it in time?", func(until time.Time) (wrong string) {
				return p.rule(a, scoring.Ruling{What: scoring.DueMoved, Until: until})
			})
		})
		add("more time for one person", func() { p.askWhom(a, scoring.Extended) })
		add("excuse one person", func() { p.askWhom(a, scoring.Excused) })
		add("leave an item out of everybody's grade", func() { p.askItem(a) })
		add("take the assignment back", func() { p.askRemove(a) })
	} else {
		add("give it again", func() {
			if wrong := p.rule(a, scoring.Ruling{What: scoring.Removed, Back: true}); wrong != "" {
				p.say(wrong)
			}
		})
	}
	p.push(list)
}

// askDay asks for a day, or a day and a time.
func (p *classPage) askDay(ask string, take func(time.Time) string) {
	p.push(&linePage{app: p.app, head: "Assignment", ask: ask, hint: "a day, whose end counts, or a day and a time: 2026-12-01 or 2026-12-01 17:00", take: func(text string) string {
		until, ok := DueAt(text)
		if !ok {
			return "That is neither a day nor a day and a time."
		}
		return take(until)
	}})
}

// askWhom asks for a person of the class, with what stands for them.
func (p *classPage) askWhom(a scoring.Assignment, what scoring.RulingKind) {
	list := &choicePage{app: p.app, head: assignmentTitle(a), about: map[scoring.RulingKind]string{scoring.Extended: "Who has more time?", scoring.Excused: "Who need not do it?"}[what]}
	for _, who := range p.class.People {
		r := scoring.Ruling{What: what, Learner: who.ID}
		old, stands := a.Standing(r)
		item := draw.Item{Text: who.Name}
		switch {
		case stands && what == scoring.Excused:
			item.Extra = "is excused; choose to take that back"
		case stands:
			item.Extra = "has until " + scoring.Moment(old.Until)
		}
		item.Do = func() {
			if what == scoring.Extended {
				p.askDay("Until when is "+who.Name+" in time?", func(until time.Time) string {
					r.Until = until
					return p.rule(a, r)
				})
				return
			}
			r.Back = stands
			if wrong := p.rule(a, r); wrong != "" {
				p.say(wrong)
			}
		}
		list.list.Items = append(list.list.Items, item)
	}
	if len(list.list.Items) == 0 {
		p.say("Nobody is in the class.")
		return
	}
	p.push(list)
}

// askItem asks which item, and why. One that is left out counts again when it is named
// a second time.
func (p *classPage) askItem(a scoring.Assignment) {
	hint := "its number, from the list of items in the class review"
	if drops := a.Drops(); len(drops) > 0 {
		hint += fmt.Sprintf("; left out now, and to be named to count again: %v", drops)
	}
	p.push(&linePage{app: p.app, head: assignmentTitle(a), ask: "Which item is left out?", hint: hint, take: func(text string) string {
		item, err := strconv.Atoi(text)
		if err != nil {
			return "That is no number of an item."
		}
		r := scoring.Ruling{What: scoring.Dropped, Item: item}
		if _, r.Back = a.Standing(r); r.Back {
			return p.rule(a, r)
		}
		p.push(&linePage{app: p.app, head: assignmentTitle(a), ask: fmt.Sprintf("Why does item %d not count?", item), hint: "It is written down with your name.", take: func(why string) string {
			r.Why = why
			return p.rule(a, r)
		}})
		return ""
	}})
}

// askRemove asks before an assignment is taken back.
func (p *classPage) askRemove(a scoring.Assignment) {
	list := &choicePage{app: p.app, head: assignmentTitle(a), about: "Nobody can begin it any more and nobody is graded by it. Answers stay in the book, and it can be given again."}
	list.list.Items = []draw.Item{
		{Text: "leave it as it is", Do: p.pop},
		{Text: "take it back", Do: func() {
			if wrong := p.rule(a, scoring.Ruling{What: scoring.Removed}); wrong != "" {
				p.say(wrong)
			}
		}},
	}
	p.push(list)
}

// rule decides it and goes back to the class, or says why it is not to be.
func (p *classPage) rule(a scoring.Assignment, r scoring.Ruling) (wrong string) {
	now, err := p.cfg.Book.Assignment(p.ctx, a.Number) // somebody else may have decided meanwhile
	if err == nil {
		r.At, r.By = p.now(), p.learner.ID
		now, err = record.Rule(p.ctx, p.cfg.Book, now, r)
	}
	if err != nil {
		if hint := fault.Hint(err); hint != "" {
			return err.Error() + ". " + hint
		}
		return err.Error()
	}
	for p.top() != page(p) {
		p.pop()
	}
	p.say(classes.RulingWords(now, r, p.nameOf) + ".")
	return ""
}

func (p *classPage) nameOf(id scoring.LearnerID) string {
	for _, who := range p.class.People {
		if who.ID == id {
			return who.Name
		}
	}
	return "somebody who is not in the class"
}

// DueAt reads a day, which ends at midnight, or a day and a time, in the user's
// time zone; false for anything else.
func DueAt(text string) (time.Time, bool) {
	if t, err := time.ParseInLocation(time.DateOnly, text, time.Local); err == nil {
		return scoring.EndOfDay(t.Add(12 * time.Hour)), true
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04"} {
		if t, err := time.ParseInLocation(layout, text, time.Local); err == nil {
			return t, true
		}
	}
	return time.Time{}, false
}
