package panels

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"shadedrill/colour"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// verdict is the session in three sentences: one team or not and at whose bias, who is
// to correct what, and which shades to look at together.
func (p *panel) verdict() []string {
	if len(p.people) < 2 {
		return []string{"One person alone is no team: there is nobody to compare with."}
	}
	if !p.hasColours {
		return p.judgementVerdict()
	}
	return []string{p.teamSentence(), p.correctSentence(), p.shadesSentence()}
}

// stands is how far a person's answers lie from those of the others, item by item,
// along one axis.
type stands struct {
	person, axis int
	by           scoring.Estimate
}

// family keeps the chance of any false word about a team of steady people of one mind
// at 5 %: each of n intervals is as much wider (Bonferroni).
func family(n int) float64 { return 1 - (1-history.Level)/float64(max(n, 1)) }

// standing compares each person with all others over the items that both answered.
func (p *panel) standing() []stands {
	level := family(3 * len(p.people))
	var list []stands
	for i := range p.people {
		for axis := range history.Axes {
			var differences []float64
			for _, item := range p.items {
				mine, ok := meanPart(item.answers[i], axis)
				var others []float64
				for j, answers := range item.answers {
					if x, some := meanPart(answers, axis); some && j != i {
						others = append(others, x)
					}
				}
				if ok && len(others) > 0 {
					differences = append(differences, mine-history.Average(others))
				}
			}
			list = append(list, stands{i, axis, trend.Bias(differences, level)})
		}
	}
	return list
}

// meanPart is the mean of one part of the errors of somebody's answers to one item.
func meanPart(answers []answer, axis int) (float64, bool) {
	sum, n := 0.0, 0
	for _, a := range answers {
		if a.mark.HasColour {
			sum, n = sum+history.Axes[axis].Part(a.mark.Difference), n+1
		}
	}
	return sum / float64(n), n > 0
}

// leastShared is how many items make a word about a team worth saying; house choice.
const leastShared = 5

func (p *panel) teamSentence() string {
	limit := scoring.Perceptibility.Value
	var apart []stands
	missed := 0.0
	for _, s := range p.standing() {
		switch {
		case !s.by.HasInterval() || s.by.N < leastShared:
			return "It cannot be said yet whether this is one team: too few shades were answered by all."
		case !s.by.Covers(0) && math.Abs(s.by.Value) > limit:
			apart = append(apart, s)
		default:
			missed = max(missed, math.Abs(s.by.Lo), math.Abs(s.by.Hi))
		}
	}
	slices.SortStableFunc(apart, func(a, b stands) int {
		if math.Abs(a.by.Value) > math.Abs(b.by.Value) {
			return -1
		}
		return 1
	})
	if len(apart) == 0 {
		words := fmt.Sprintf("nobody's answers differ from those of the others by more than perceptibility, %.1f ΔE00, beyond chance", limit)
		if missed > scoring.Acceptability.Value {
			return fmt.Sprintf("Perhaps one team: %s; yet a difference of up to %.1f could have been missed, and more shades would tell.", words, missed)
		}
		return "One team: " + words + "."
	}
	if len(p.people) == 2 { // each stands apart from the other by the same
		apart = slices.DeleteFunc(apart, func(s stands) bool { return s.person == 1 })
	}
	than := "the others"
	if len(p.people) == 2 {
		than = p.people[1].Name
	}
	of := map[int][]string{} // a person's ways, the largest first
	var order []int
	for _, s := range apart {
		way := comparatives[history.Axes[s.axis].Key]
		word := way[0]
		if s.by.Value < 0 {
			word = way[1]
		}
		unit := ""
		if len(of[s.person]) == 0 {
			order, unit = append(order, s.person), " ΔE00"
		}
		of[s.person] = append(of[s.person], fmt.Sprintf("%.1f%s %s", math.Abs(s.by.Value), unit, word))
	}
	const most = 4
	var words []string
	for i, person := range order {
		if i == most {
			words = append(words, fmt.Sprintf("and %d more", len(order)-most))
			break
		}
		words = append(words, fmt.Sprintf("%s answers %s than %s", p.people[person].Name, strings.Join(of[person], " and "), than))
	}
	return "Not one team: " + strings.Join(words, ", ") + "."
}

func (p *panel) shadesSentence() string {
	found, known := p.dividing()
	switch {
	case known:
	case p.asked.Setup.Repeats == 1:
		return "Each shade was shown once, so that it cannot be told which shades divide the team and which only scatter."
	default:
		return "Too few shades were answered a second time to tell which divide the team and which only scatter."
	}
	const most = 5
	var names []string
	for _, s := range p.splits() {
		if found[s.item.name] && len(names) < most {
			names = append(names, s.item.target.LCh().String())
		}
	}
	if len(names) == 0 {
		return "No shade divides the team beyond what its members' own biases and scatter explain."
	}
	words := strings.Join(names, ", ")
	if more := len(found) - len(names); more > 0 {
		words += fmt.Sprintf(" and %d more", more)
	}
	return "Look together at " + words + ": there people differ by more than their biases and their own scatter explain."
}

func (p *panel) judgementVerdict() []string {
	all := p.rightOfAll()
	var apart, practise []string
	untold := 0
	for i, l := range p.people {
		e := p.rightOf(i, family(len(p.people)))
		if !e.HasInterval() || len(p.items) < leastShared {
			untold++
			continue
		}
		if !e.Covers(all) {
			apart = append(apart, fmt.Sprintf("%s has %.0f %% of judgements right", l.Name, 100*e.Value))
		}
		if own := p.checkShare(i, ""); own.HasInterval() && own.Hi < enoughRight {
			practise = append(practise, l.Name)
		}
	}
	lines := []string{fmt.Sprintf("One team: nobody judges better or worse than the team, %.0f %% right, beyond chance.", 100*all)}
	if math.IsNaN(all) || untold == len(p.people) {
		return []string{"It cannot be said yet whether this is one team: there are too few answers."}
	}
	if len(apart) > 0 {
		lines[0] = fmt.Sprintf("Not one team: %s; all together %.0f %%.", strings.Join(apart, ", "), 100*all)
	}
	if len(practise) == 0 {
		lines = append(lines, "Nobody needs more practice of it, as far as these answers tell.")
	} else {
		lines = append(lines, "To practise with feedback: "+strings.Join(practise, ", ")+".")
	}
	return lines
}

// rightOf is the share of a person's judgements that were right.
func (p *panel) rightOf(person int, level float64) scoring.Estimate {
	var hits, sizes []int
	for _, item := range p.items {
		n, of := 0, 0
		for _, a := range item.answers[person] {
			for _, c := range a.mark.Checks {
				if of++; c.Right {
					n++
				}
			}
		}
		hits, sizes = append(hits, n), append(sizes, of)
	}
	return trend.ShareClustered(hits, sizes, 1, level)
}

// rightOfAll is the mean over people; NaN without a judgement.
func (p *panel) rightOfAll() float64 {
	var list []float64
	for i := range p.people {
		if e := p.rightOf(i, history.Level); e.Defined() {
			list = append(list, e.Value)
		}
	}
	return history.Average(list)
}

// mostShades and mostSwatches bound the section of swatches.
const (
	mostShades   = 6
	mostSwatches = 8
)

// shadeSection shows the colours themselves: target, consensus and each person's.
func (p *panel) shadeSection() report.Section {
	t := &report.Table{Columns: []report.Column{{Key: "item", Title: "item", Left: true}, {Key: "target", Title: "target", Left: true}, {Key: "consensus", Title: "consensus", Left: true}}}
	people := p.people[:min(len(p.people), mostSwatches)]
	for i, l := range people {
		t.Columns = append(t.Columns, report.Column{Key: fmt.Sprintf("person_%d", i+1), Title: l.Name, Left: true})
	}
	found, _ := p.dividing()
	list := p.splits()
	slices.SortStableFunc(list, func(a, b split) int { // what divides the team first, then what it is farthest apart over
		switch {
		case found[a.item.name] == found[b.item.name]:
			return 0
		case found[a.item.name]:
			return -1
		}
		return 1
	})
	for _, s := range list[:min(len(list), mostShades)] {
		row := []report.Cell{report.Text(s.item.name), swatch(s.item.target), swatch(s.consensus)}
		for i := range people {
			var labs []colour.Lab
			for _, a := range s.item.answers[i] {
				if a.mark.HasColour {
					labs = append(labs, a.lab)
				}
			}
			if len(labs) == 0 {
				row = append(row, report.Empty{})
				continue
			}
			row = append(row, swatch(meanColour(labs)))
		}
		t.Rows = append(t.Rows, row)
	}
	title, notes := "Shades to look at together", []string{"Those that divide the team first, then those over which people are farthest apart: each person's mean answer beside target and consensus, the median of the people."}
	if len(found) == 0 {
		title, notes = "Shades over which people are farthest apart", []string{"Each person's mean answer beside target and consensus, the median of the people."}
	}
	if len(people) < len(p.people) {
		notes = append(notes, fmt.Sprintf("The first %d people; the table of items has all.", len(people)))
	}
	return report.Section{Key: "shades", Title: title, Table: t, Notes: notes}
}

// swatch is a colour as a screen shows it.
func swatch(c colour.Lab) report.Cell {
	shown, _ := c.SRGB()
	return report.Shade(shown)
}
