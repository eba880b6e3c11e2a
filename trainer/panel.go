package trainer

import (
	"errors"
	"fmt"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/ask"
	"shadedrill/trainer/draw"
)

// A calibration session is begun from the menu or from the command line. Its
// conditions are the lead's: no setting of whoever takes it goes into it.

// takePanel begins a session, or goes on with it where it was broken off.
func (a *app) takePanel(p record.Panel) {
	d, err := record.TakePanel(a.ctx, a.cfg.Book, p, a.learner, a.check, a.cfg.Clock)
	var refused *fault.Error
	switch {
	case errors.As(err, &refused):
		a.drills++ // the menu comes next, not the session once more
		a.trouble("This calibration session cannot be taken.", err, nil)
		return
	case err != nil:
		a.trouble("The calibration session cannot begin.", err, func() { a.takePanel(p) })
		return
	}
	a.drills++
	if _, more := d.Trial(); !more { // broken off after the last answer
		if err := d.End(a.ctx, false); err != nil {
			a.trouble("The end of the session could not be written to the book.", err, func() { a.takePanel(p) })
			return
		}
	}
	a.showDrill(d)
}

// openPanels are the sessions that the learner may begin or go on with.
func (a *app) openPanels() (list []draw.Item, about []string, err error) {
	panels, err := a.cfg.Book.Panels(a.ctx)
	if err != nil {
		return nil, nil, err
	}
	for _, p := range panels {
		if !ask.Shown(p.Setup.Kind) {
			continue
		}
		part, err := record.PartOf(a.ctx, a.cfg.Book, p, a.learner.ID)
		if err != nil {
			return nil, nil, err
		}
		if p.Refusal(part, a.learner.Name) != nil {
			continue
		}
		text := "Your team looks at the same shades: everybody on their own, without feedback before the end. It is taken once."
		extra := ""
		if part.Given > 0 {
			text = fmt.Sprintf("You broke it off after %s. It goes on where you left it.", draw.Count(part.Given, "answer", "answers"))
			extra = "broken off"
		}
		list = append(list, draw.Item{Text: "Calibration session " + p.Name, Extra: extra, Do: func() { a.takePanel(p) }})
		about = append(about, text)
	}
	return list, about, nil
}

// setName is what a sitting belongs to, as people call it; empty for none.
func setName(s scoring.Sitting) string {
	if _, ok := scoring.AssignmentWithin(s.Within); ok {
		return "assignment of your class"
	}
	if name, ok := record.PanelWithin(s.Within); ok {
		return "calibration session " + name
	}
	return partName(s.Within, s.Setup)
}

// planned is how many trials a sitting has at most; its setup's count where that
// cannot be found out.
func (a *app) planned(s scoring.Sitting) int {
	setup := s.Setup
	if setup.SheetID != "" {
		sheet, err := a.cfg.Book.Sheet(a.ctx, setup.SheetID)
		if err != nil {
			return setup.Count
		}
		setup.Sheet = sheet
	}
	run, err := exercises.NewRun(setup)
	if err != nil {
		return setup.Count
	}
	return run.Planned()
}
