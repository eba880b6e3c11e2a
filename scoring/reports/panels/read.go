package panels

import (
	"cmp"
	"context"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/reports/history"
)

// Book is the part of a book that a calibration session is read from.
type Book interface {
	history.Book
	Learner(context.Context, scoring.LearnerID) (scoring.Learner, error)
}

// panel is a session's answers: a row an item, a column a person.
//
//	attempts ──> cells[item][person] = answers in the order given ──> tables
type panel struct {
	asked   record.Panel
	by      string // its lead's name
	sheet   *tabs.Sheet
	planned int // answers of one person
	took    []participant
	atIt    []participant // who have not ended: only how far they are is told
	others  int           // sittings left out
	checked bool          // only those on checked displays are in it
	leftOut []participant // by that

	people []scoring.Learner // those with an answer, by name
	items  []item
	groups []string // value groups of the sheet, lightest first
	// What the answers of this exercise hold.
	hasColours, hasNumbers, hasGroups, hasChecks bool

	biases map[int][3]scoring.Estimate // by person, once asked for
	// divided are the items that divide the team, once asked for.
	divided      map[string]bool
	dividedKnown bool
}

// participant is somebody who began the session.
type participant struct {
	who     scoring.Learner
	sitting scoring.Sitting
	given   int
}

type item struct {
	name    string
	target  colour.Lab
	answers [][]answer // by person
}

type answer struct {
	mark   scoring.Mark
	judged history.Judged
	lab    colour.Lab // the colour answered
	word   string     // "L78 C16 h86", two with " – " between, the judgement, or the order
	group  int        // place of the value group, −1 if none
	number float64    // NaN if none
}

func read(ctx context.Context, book Book, asked record.Panel, view View) (*panel, error) {
	p := &panel{asked: asked, checked: view.Checked}
	var err error
	setup := asked.Setup
	if setup.SheetID != "" {
		if p.sheet, err = book.Sheet(ctx, setup.SheetID); err != nil {
			return nil, err
		}
		setup.Sheet = p.sheet
		for _, g := range p.sheet.Groups() {
			p.groups = append(p.groups, g.Name)
		}
	}
	if asked.By != "" {
		who, err := book.Learner(ctx, asked.By)
		if err != nil {
			return nil, err
		}
		p.by = who.Name
	}
	run, err := exercises.NewRun(setup)
	if err != nil {
		return nil, err
	}
	p.planned = run.Planned()
	bySitting, err := p.attempts(ctx, book)
	if err != nil {
		return nil, err
	}
	if err := p.choose(ctx, book, bySitting, view.Of); err != nil {
		return nil, err
	}
	p.lay(bySitting)
	return p, nil
}

// attempts reads the answers of every sitting under the session's name.
func (p *panel) attempts(ctx context.Context, book Book) (map[scoring.SittingID][]scoring.Attempt, error) {
	bySitting := map[scoring.SittingID][]scoring.Attempt{}
	for a, err := range book.Attempts(ctx, record.Filter{Within: p.asked.Set().Ref.String()}) {
		if err != nil {
			return nil, err
		}
		bySitting[a.Sitting] = append(bySitting[a.Sitting], a)
	}
	return bySitting, nil
}

// choose takes the sitting of each person that counts: the first with an answer
// that asked what was laid down. Other people than those of a group are not
// looked at.
func (p *panel) choose(ctx context.Context, book Book, bySitting map[scoring.SittingID][]scoring.Attempt, only []scoring.Learner) error {
	sittings, err := book.Sittings(ctx, record.Filter{Within: p.asked.Set().Ref.String()})
	if err != nil {
		return err
	}
	of := map[scoring.LearnerID]bool{}
	for _, s := range sittings {
		n := len(bySitting[s.ID])
		under := s.Setup.Silent && s.Ended.IsZero()
		if under {
			for _, err := range book.Attempts(ctx, record.Filter{Sitting: s.ID, Light: true, Silent: true}) {
				if err != nil {
					return err
				}
				n++
			}
		}
		outside := only != nil && !slices.ContainsFunc(only, func(l scoring.Learner) bool { return l.ID == s.Learner })
		switch {
		case n == 0 || outside:
			continue
		case of[s.Learner] || !p.asks(s.Setup):
			p.others++
			continue
		}
		of[s.Learner] = true
		who, err := book.Learner(ctx, s.Learner)
		if err != nil {
			return err
		}
		switch one := (participant{who, s, n}); {
		case p.checked && !s.DisplayState().Trusted():
			p.leftOut = append(p.leftOut, one)
		case under:
			p.atIt = append(p.atIt, one)
		default:
			p.took = append(p.took, one)
		}
	}
	var everybody []scoring.Learner
	for _, one := range slices.Concat(p.took, p.atIt) {
		everybody = append(everybody, one.who)
	}
	for i, l := range record.ToldApart(everybody) {
		if i < len(p.took) {
			p.took[i].who = l
		} else {
			p.atIt[i-len(p.took)].who = l
		}
	}
	slices.SortFunc(p.took, byName)
	slices.SortFunc(p.atIt, byName)
	return nil
}

func byName(a, b participant) int {
	return cmp.Or(cmp.Compare(record.NameKey(a.who.Name), record.NameKey(b.who.Name)), cmp.Compare(a.who.ID, b.who.ID))
}

// begun are all who have an answer, by name.
func (p *panel) begun() []participant {
	all := slices.Concat(p.took, p.atIt)
	slices.SortFunc(all, byName)
	return all
}

// asks reports whether a sitting asked what the session asks.
func (p *panel) asks(s exercises.Setup) bool {
	_, ok := p.asked.Set().Part(s)
	return ok
}

// lay puts the answers into rows and columns.
func (p *panel) lay(bySitting map[scoring.SittingID][]scoring.Attempt) {
	byItem := map[string]*item{}
	for person, t := range p.took {
		p.people = append(p.people, t.who)
		var marking scoring.Marking
		for _, a := range bySitting[t.sitting.ID] {
			name := a.Trial.Item
			if a.Trial.Part != "" {
				name += " " + a.Trial.Part
			}
			in := byItem[name]
			if in == nil {
				in = &item{name: name, target: a.Trial.Target.Lab(), answers: make([][]answer, len(p.took))}
				byItem[name] = in
			}
			in.answers[person] = append(in.answers[person], p.answer(a, marking.Mark(a, p.sheet)))
		}
	}
	for _, name := range slices.Sorted(maps.Keys(byItem)) {
		p.items = append(p.items, *byItem[name])
	}
}

func (p *panel) answer(a scoring.Attempt, mark scoring.Mark) answer {
	nan := math.NaN()
	out := answer{mark: mark, judged: history.Judge(a, mark, p.sheet), group: -1, number: nan, lab: colour.Lab{L: nan, A: nan, B: nan}, word: a.Answer.Tab}
	if a.Answer.Neighbour != "" {
		pair := []string{a.Answer.Tab, a.Answer.Neighbour}
		slices.Sort(pair) // "between a and b" is "between b and a"
		out.word = pair[0] + " – " + pair[1]
	}
	if out.word == "" {
		out.word = a.Answer.Choice
	}
	if out.word == "" && len(a.Answer.Order) > 0 { // as placed, counted from 1
		var places []string
		for _, i := range a.Answer.Order {
			places = append(places, strconv.Itoa(i+1))
		}
		out.word = strings.Join(places, " ")
	}
	if a.Answer.Colour != nil {
		out.lab = a.Answer.Colour.Lab()
	}
	if a.Answer.Group != "" {
		out.group = slices.Index(p.groups, a.Answer.Group)
	}
	if a.Answer.Number != nil {
		out.number = *a.Answer.Number
	}
	p.hasColours = p.hasColours || mark.HasColour
	p.hasGroups = p.hasGroups || out.group >= 0
	p.hasNumbers = p.hasNumbers || a.Answer.Number != nil
	p.hasChecks = p.hasChecks || len(mark.Checks) > 0
	return out
}
