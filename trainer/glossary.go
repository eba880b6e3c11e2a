package trainer

import (
	"fmt"

	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

// Word is a term of the trade or of colour science, and what it means here.
type Word struct{ Term, Means string }

// Glossary is the twelve words that a learner's screens use. What is not in it does not
// stand on the first view of a feedback or of a summary.
func Glossary() []Word {
	return []Word{
		{"value", "How light or dark a colour is. It is looked at first: an error in it shows from farthest away."},
		{"chroma", "How strong a colour is, from grey to full."},
		{"hue", "Which colour it is; in teeth, redder or yellower."},
		{"shade", "Value, chroma and hue together, as it is ordered."},
		{"tab", "One colour to compare with, named by its lightness L, chroma C and hue angle h: L78 C16 h86. A library is a set of tabs, a value group those of one lightness."},
		{"target", "What has to be matched. What is held beside it is the candidate."},
		{"third", "The neck (cervical), middle and edge (incisal) part of a tooth. Each has its own shade."},
		{"ΔE00", fmt.Sprintf("How different two colours are, as one number. Half of observers see %.1f (perceptibility), half accept %.1f (acceptability).", scoring.Perceptibility.Value, scoring.Acceptability.Value)},
		{"bias", "An error that goes one way: answers that are too dark, say, again and again."},
		{"restoration", "What is made for the mouth: a crown, a denture tooth. At try-in it is held beside what was prescribed."},
		{"step", "The distance from one value group, or from one colour of the whitening ladder, to the next."},
		{"lamp", "The light in which is looked. Two surfaces that match in daylight may part under another one; the pair then breaks."},
	}
}

// glossaryPage explains the words.
type glossaryPage struct {
	*app
	text draw.Prose
}

func (p *glossaryPage) title() (string, string) { return "Glossary", "" }

func (p *glossaryPage) body(c *draw.Canvas, in draw.Rect) {
	_, in = in.Inset(draw.Margin).Top(1)
	const terms = 13
	var lines []draw.Line
	for _, w := range Glossary() {
		pad := w.Term
		for c.Width(pad) < terms {
			pad += " "
		}
		for i, l := range c.Wrap(w.Means, min(in.W, 90)-terms) {
			if i > 0 {
				pad = fmt.Sprintf("%*s", terms, "")
			}
			lines = append(lines, draw.Line{Text: pad + l})
		}
	}
	p.text.Draw(c, in, lines)
}

func (p *glossaryPage) keys() []draw.KeyHelp {
	return append(p.text.Keys(), draw.Help("⌫", "back", "backspace"))
}

func (p *glossaryPage) key(k string) bool {
	switch k {
	case "backspace", "escape", "enter", "g", "q":
		p.pop()
	case "?":
		p.say("This is the glossary; the help is on the page below.")
	default:
		return p.text.Key(k)
	}
	return true
}

func (p *glossaryPage) pick(int) {}
