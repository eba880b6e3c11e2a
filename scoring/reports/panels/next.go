package panels

import (
	"fmt"
	"strings"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/agreement"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// adviceSection says in one line a person what to practise next.
func (p *panel) adviceSection() report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "person", Title: "person", Left: true}, {Key: "next", Title: "what to practise next", Left: true}, {Key: "command", Title: "with", Left: true, Command: true}}}
	for i, l := range p.people {
		advice, drill := p.judgementAdvice(i), string(p.asked.Setup.Kind)
		if p.hasColours {
			advice, drill = p.advice(i)
		}
		t.Rows = append(t.Rows, []report.Cell{report.Text(l.Name), report.Text(advice), report.Text(strings.TrimSpace("shadedrill practise "+drill) + fmt.Sprintf(" --learner %q", l.Name))})
	}
	return report.Section{Key: "next", Title: "What to practise next", Table: t}
}

// advice takes the first of these that holds: a bias beyond half of perceptibility
// along the axis where it is largest, unsteady answers along the axis where they
// scatter most, errors beyond acceptability. House rule.
func (p *panel) advice(person int) (words, drill string) {
	if _, known := p.toldOf(person); !known {
		return tooFewShades, ""
	}
	if worst, found := p.worstBias(person); found {
		of := attributes[history.Axes[worst.axis].Key]
		return fmt.Sprintf("answers are %s %s: practise %s alone", worst.word(), history.BySize(worst.e), of), fmt.Sprintf("%s --attribute %s", exercises.SeenAlone(of), of)
	}
	scatter, axis := 0.0, ""
	for _, a := range history.Axes {
		if e := agreement.Repeatability(p.errorsOf(person, a.Of), history.Level).SD; e.Defined() && e.Value > scatter {
			scatter, axis = e.Value, attributes[a.Key]
		}
	}
	// Value is taken in steps of a group, which scatter by themselves.
	if scatter > 1.5*scoring.Perceptibility.Value {
		return fmt.Sprintf("answers to the same item scatter by %.1f in %s: practise with tab targets", scatter, axis), "value-first --targets tabs"
	}
	e := trend.Median(history.Flat(p.errorsOf(person, history.Size)), history.Level)
	switch {
	case !e.Defined():
		return tooFewShades, ""
	case e.Value > scoring.Acceptability.Value:
		return "no bias beyond half of perceptibility, yet half the answers are beyond acceptability: go on with value first", "value-first"
	}
	return "no bias beyond half of perceptibility and steady answers: keep in practice", ""
}

var attributes = map[string]string{"bias_L": "value", "bias_C": "chroma", "bias_H": "hue"}

// enoughRight is the share of judgements that needs no more practice; house choice.
const enoughRight = 0.8

// judgementAdvice is for exercises whose answers are words or steps: the share
// right decides. House rule.
func (p *panel) judgementAdvice(person int) string {
	title := string(p.asked.Setup.Kind)
	if k, err := exercises.ByID(p.asked.Setup.Kind); err == nil {
		title = k.Title()
	}
	right := p.checkShare(person, "")
	again := p.sameAgain(person)
	switch {
	case !right.Defined():
		return "too few answers to tell"
	case right.HasInterval() && right.Hi < enoughRight:
		return fmt.Sprintf("%.0f %% of judgements right: practise %s with feedback", 100*right.Value, title)
	case again.HasInterval() && again.Hi < 0.75:
		return fmt.Sprintf("the same answer again in %.0f %%: take more time over %s", 100*again.Value, title)
	}
	return fmt.Sprintf("%.0f %% of judgements right: keep in practice", 100*right.Value)
}
