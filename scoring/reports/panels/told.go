package panels

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
)

// A bias has one truth on the page: what the sentence on top, the advice and the table
// say of it comes from here.

// told is a bias against the targets that is beyond chance.
type told struct {
	axis int
	e    scoring.Estimate
	// slight is one that nobody need correct: not beyond half of perceptibility.
	slight bool
}

// leastBias is the smallest bias worth correcting, half of perceptibility; house choice.
var leastBias = scoring.Perceptibility.Value / 2

func (b told) word() string {
	return history.BiasWord(b.e, history.Axes[b.axis].Above, history.Axes[b.axis].Below)
}

// toldOf are a person's biases, the largest first as the axes come; known is false where
// they answered too few shades to say anything.
func (p *panel) toldOf(person int) (list []told, known bool) {
	shades := 0
	for _, item := range p.items {
		for _, a := range item.answers[person] {
			if a.mark.HasColour && !a.mark.Sparse {
				shades++
				break
			}
		}
	}
	if shades < leastShared {
		return nil, false
	}
	for axis, e := range p.biasesOf(person) {
		known = known || history.Tells(e)
		if b := (told{axis, e, math.Abs(e.Value) <= leastBias}); b.word() != "" {
			list = append(list, b)
		}
	}
	return list, known
}

// worstBias is a person's largest bias that is worth correcting.
func (p *panel) worstBias(person int) (worst told, found bool) {
	list, _ := p.toldOf(person)
	for _, b := range list {
		if !b.slight && (!found || math.Abs(b.e.Value) > math.Abs(worst.e.Value)) {
			worst, found = b, true
		}
	}
	return worst, found
}

// biasOf says a person's biases in the words of the table.
func (p *panel) biasOf(person int) string {
	if _, known := p.toldOf(person); !known {
		return history.UntoldBias
	}
	return history.BiasWords(p.biasesOf(person), func(word string, e scoring.Estimate) string {
		if math.Abs(e.Value) <= leastBias {
			return "slightly " + word
		}
		return word
	})
}

const tooFewShades = "too few shades to tell"

// correctSentence names who has a bias against the truth worth correcting. Where it names
// nobody it says how large a bias could have been missed.
func (p *panel) correctSentence() string {
	var words, untold []string
	n, slight, missed := 0, 0, 0.0
	for i, l := range p.people {
		list, known := p.toldOf(i)
		if !known {
			untold = append(untold, l.Name)
			continue
		}
		slight += len(list)
		for _, e := range p.biasesOf(i) {
			switch {
			case !history.Tells(e) || e.Open() != 0:
				missed = math.Inf(1)
			default:
				missed = max(missed, math.Abs(e.Lo), math.Abs(e.Hi))
			}
		}
		worst, found := p.worstBias(i)
		if !found {
			continue
		}
		const most = 6
		if n++; n <= most {
			words = append(words, fmt.Sprintf("%s %s (%s %s)", l.Name, attributes[history.Axes[worst.axis].Key], worst.word(), history.BySize(worst.e)))
		} else if n == most+1 {
			words = append(words, "and others below")
		}
	}
	if len(untold) == len(p.people) {
		return "Who has a bias against the targets cannot be said yet: too few shades were answered."
	}
	line := "Against the targets nobody has a bias that is worth correcting"
	switch {
	case n > 0:
		line = "To correct: " + strings.Join(words, ", ")
	case missed > scoring.Acceptability.Value:
		line = "Against the targets no bias worth correcting was found; yet " + missedWords(missed) + " could have been missed, and more shades would tell"
	case slight > 0:
		line += fmt.Sprintf(": what there is, is at most %.1f", leastBias)
	}
	if len(untold) > 0 {
		const most = 4
		if more := len(untold) - most; more > 0 {
			untold = append(untold[:most], fmt.Sprintf("%d more", more))
		}
		line += "; of " + strings.Join(untold, ", ") + " it cannot be said yet"
	}
	return line + "."
}

func missedWords(size float64) string {
	if math.IsInf(size, 0) {
		return "a large one"
	}
	return fmt.Sprintf("one of up to %.1f", size)
}
