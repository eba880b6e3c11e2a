package review

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// Panel names a calibration session: who was asked, and how many answers each
// was to give.
type Panel struct {
	Name    string
	Within  string // as its sittings name it
	Kind    exercises.KindID
	Items   int // shared items
	Repeats int // how often each is shown
	People  []scoring.Learner
}

// panel is a session's answers: a row an item, a column a person.
//
//	attempts ──> cells[item][person] = answers in the order given ──> tables
type panel struct {
	asked  Panel
	people []scoring.Learner // those with an answer, by name
	items  []panelItem
	groups []string // value groups of the sheet, lightest first
}

type panelItem struct {
	name    string
	target  colour.Lab
	answers [][]panelAnswer // by person
}

type panelAnswer struct {
	mark  scoring.Mark
	lab   colour.Lab // the colour answered
	tab   string     // "L78 C16 h86", or two with " – " between
	group int        // place of the value group, −1 if none
}

// PanelReport says whether the people of a calibration session agree with the
// truth, with each other and with themselves.
func PanelReport(ctx context.Context, book Record, asked Panel) (report.Report, error) {
	p, err := readPanel(ctx, book, asked)
	if err != nil {
		return report.Report{}, err
	}
	r := report.Report{Title: "Calibration session " + asked.Name, Cautions: scoring.Cautions}
	r.Lead = p.lead()
	if len(p.people) == 0 {
		return r, nil
	}
	r.Sections = []report.Section{p.peopleSection(), p.repeatSection(), p.agreementSection(), p.gaugeSection()}
	if len(p.people) == 2 {
		r.Sections = append(r.Sections, p.pairSection())
	}
	r.Sections = append(r.Sections, p.itemSection(), p.adviceSection())
	return r, nil
}

func readPanel(ctx context.Context, book Record, asked Panel) (*panel, error) {
	f := record.Filter{Within: asked.Within}
	sittings, err := book.Sittings(ctx, f)
	if err != nil {
		return nil, err
	}
	sheets := map[string]*tabs.Sheet{}
	sheetOf := map[scoring.SittingID]*tabs.Sheet{}
	p := &panel{asked: asked}
	for _, s := range sittings {
		id := s.Setup.SheetID
		if id == "" {
			continue
		}
		if sheets[id] == nil {
			if sheets[id], err = book.Sheet(ctx, id); err != nil {
				return nil, err
			}
			if p.groups == nil { // a session has one sheet
				for _, g := range sheets[id].Groups() {
					p.groups = append(p.groups, g.Name)
				}
			}
		}
		sheetOf[s.ID] = sheets[id]
	}
	byItem := map[string]map[scoring.LearnerID][]panelAnswer{}
	targets := map[string]colour.Lab{}
	for a, err := range book.Attempts(ctx, f) {
		if err != nil {
			return nil, err
		}
		name := a.Trial.Item
		if a.Trial.Part != "" {
			name += " " + a.Trial.Part
		}
		if byItem[name] == nil {
			byItem[name] = map[scoring.LearnerID][]panelAnswer{}
			targets[name] = a.Trial.Target.Lab()
		}
		byItem[name][a.Learner] = append(byItem[name][a.Learner], p.answer(a, sheetOf[a.Sitting]))
	}
	answered := map[scoring.LearnerID]bool{}
	for _, row := range byItem {
		for id := range row {
			answered[id] = true
		}
	}
	for _, l := range asked.People {
		if answered[l.ID] {
			p.people = append(p.people, l)
		}
	}
	slices.SortFunc(p.people, func(a, b scoring.Learner) int { return cmp.Compare(a.Name, b.Name) })
	for _, name := range slices.Sorted(maps.Keys(byItem)) {
		item := panelItem{name: name, target: targets[name]}
		for _, l := range p.people {
			item.answers = append(item.answers, byItem[name][l.ID])
		}
		p.items = append(p.items, item)
	}
	return p, nil
}

func (p *panel) answer(a scoring.Attempt, sheet *tabs.Sheet) panelAnswer {
	out := panelAnswer{mark: scoring.MarkOf(a, sheet), group: -1, lab: colour.Lab{L: math.NaN(), A: math.NaN(), B: math.NaN()}, tab: a.Answer.Tab}
	if a.Answer.Neighbour != "" {
		pair := []string{a.Answer.Tab, a.Answer.Neighbour}
		slices.Sort(pair) // "between a and b" is "between b and a"
		out.tab = pair[0] + " – " + pair[1]
	}
	if out.tab == "" {
		out.tab = a.Answer.Choice
	}
	if a.Answer.Colour != nil {
		out.lab = a.Answer.Colour.Lab()
	}
	if a.Answer.Group != "" {
		out.group = slices.Index(p.groups, a.Answer.Group)
	}
	return out
}

func (p *panel) lead() []string {
	asked := len(p.asked.People)
	if len(p.people) == 0 {
		return []string{fmt.Sprintf("%d %s asked; nobody has answered yet.", asked, plural(asked, "person was", "people were"))}
	}
	planned, given := 0, 0
	for i := range p.items {
		for j := range p.people {
			given += len(p.items[i].answers[j])
		}
	}
	planned = p.asked.Items * p.asked.Repeats * len(p.people)
	lead := fmt.Sprintf("%d of %d people took part: %d shared items, each shown %d times to each; %d answers.",
		len(p.people), asked, p.asked.Items, p.asked.Repeats, given)
	lines := []string{lead}
	if len(p.items) > 0 && given < planned {
		lines = append(lines, fmt.Sprintf("%d answers are missing; each table says what it left out.", planned-given))
	}
	for _, l := range p.people {
		if l.Simulated {
			lines = append(lines, "Some of these people are simulated: made up, with known errors.")
			break
		}
	}
	return lines
}

// errorsOf are a person's errors along an axis, one list an item; errors that
// could run one way only are left out, as in a learner's own tables.
func (p *panel) errorsOf(person int, of func(judged) float64) [][]float64 {
	var lists [][]float64
	for _, item := range p.items {
		var list []float64
		for _, a := range item.answers[person] {
			if a.mark.HasColour {
				if x := of(judged{target: item.target, d: a.mark.Difference, leans: a.mark.Leans}); !math.IsNaN(x) {
					list = append(list, x)
				}
			}
		}
		lists = append(lists, list)
	}
	return lists
}
