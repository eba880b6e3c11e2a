package draw

import (
	"fmt"
	"slices"
	"strings"
)

// List is one or two columns of choices with a selection: the menu, the learners,
// the settings. An item is taken (do) or has a value that can be turned (turn).
type List struct {
	Items []Item
	At    int
	from  int // first item shown of the left column
	// Right is where the right column begins; 0 for a single one.
	Right int
	// Letters reaches each item by a letter of its own, the first of its text that is
	// free. A page that has keys of its own must not share them.
	Letters bool
	// Values is where the values begin, counted from the left.
	Values int
}

// Item is a line of a list: one to take (Do), or one whose value is turned (Value, Turn).
type Item struct {
	Text  string
	Extra string // faint, behind the text
	Gap   bool   // an empty line above
	Do    func()
	Value func() string
	Turn  func(by int) bool // false at an end of the range
	// Passing is for a line that is there today and gone tomorrow: it gets one of the
	// letters that the others leave, whose letters so never change.
	Passing bool
}

// shortcuts are the keys that take an item at once, one an item, "" for none: digits,
// or letters of the items' own. q leaves and g explains everywhere.
func (l *List) shortcuts() []string {
	keys := make([]string, len(l.Items))
	if l.Values > 0 { // there is nothing to take
		return keys
	}
	if !l.Letters {
		for i := range min(9, len(keys)) {
			keys[i] = string(rune('1' + i))
		}
		return keys
	}
	taken := map[rune]bool{'q': true, 'g': true}
	for _, passing := range []bool{false, true} {
		for i, item := range l.Items {
			if item.Passing != passing {
				continue
			}
			for _, r := range strings.ToLower(item.Text) + "abcdefghijklmnoprstuvwxyz" {
				if r >= 'a' && r <= 'z' && !taken[r] {
					taken[r], keys[i] = true, string(r)
					break
				}
			}
		}
	}
	return keys
}

// Draw paints as many items as fit and keeps the selected one in sight.
func (l *List) Draw(c *Canvas, in Rect) {
	if l.Right == 0 {
		l.column(c, in, 0, len(l.Items), &l.from)
		return
	}
	half := min(in.W/2, 46)
	top := 0
	l.column(c, Rect{in.X, in.Y, half - 2, in.H}, 0, l.Right, &l.from)
	l.column(c, Rect{in.X + half, in.Y, in.W - half, in.H}, l.Right, len(l.Items), &top)
}

// column paints the items from first up to end.
func (l *List) column(c *Canvas, in Rect, first, end int, from *int) {
	*from = max(first, *from)
	if l.At >= first && l.At < end {
		*from = min(*from, l.At)
		for l.height(*from, l.At+1) > in.H && *from < l.At {
			*from++
		}
	}
	text := in.X + 5 // behind the number
	keys := l.shortcuts()
	if l.Values > 0 {
		text = in.X + 2
	}
	y := in.Y
	for i := *from; i < end; i++ {
		item := l.Items[i]
		if item.Gap && i > *from {
			y++
		}
		if y >= in.Y+in.H {
			c.Write(in.X, in.Y+in.H-1, "↓", c.Tone.Faint, false) // there is more
			break
		}
		ink, mark := c.Tone.Plain, " "
		if i == l.At {
			ink, mark = c.Tone.Strong, "▸"
		}
		c.Write(in.X, y, mark, ink, true)
		c.Write(in.X+2, y, keys[i], c.Tone.Faint, false)
		x := c.Write(text, y, c.Clip(item.Text, in.X+in.W-text), ink, i == l.At)
		if item.Value != nil {
			c.Write(in.X+l.Values, y, c.Clip(item.Value(), in.W-l.Values), ink, i == l.At)
		}
		if room := in.X + in.W - x - 3; item.Extra != "" && room > 4 {
			c.Write(x+3, y, c.Clip(item.Extra, room), c.Tone.Faint, false)
		}
		c.Item(Rect{in.X, y, in.W, 1}, i)
		y++
	}
}

// height is how many rows the items take, the first without the gap above it.
func (l *List) height(from, to int) int {
	n := 0
	for i := from; i < to; i++ {
		n++
		if l.Items[i].Gap && i > from {
			n++
		}
	}
	return n
}

// Key handles a key; say takes the line for the person where nothing moves.
func (l *List) Key(k string, say func(string)) bool {
	switch k {
	case "up":
		if l.At == 0 {
			say("This is the first line.")
		}
		l.At = max(0, l.At-1)
	case "down":
		if l.At == len(l.Items)-1 {
			say("This is the last line.")
		}
		l.At = min(len(l.Items)-1, l.At+1)
	case "home":
		l.At = 0
	case "end":
		l.At = len(l.Items) - 1
	case "left", "right":
		if turn := l.Items[l.At].Turn; turn != nil {
			if by := map[string]int{"left": -1, "right": 1}[k]; !turn(by) {
				say("This is the end of the range.")
			}
			return true
		}
		if l.Right == 0 {
			return false
		}
		l.across(k, say)
	case "enter":
		if l.Items[l.At].Do == nil {
			return false
		}
		l.Items[l.At].Do()
	default:
		i := slices.Index(l.shortcuts(), k)
		if _, digit := Digit(k); i < 0 && digit && !l.Letters && l.Values == 0 {
			say("There is no line with this number.")
			return true
		}
		if i < 0 || k == "" {
			return false
		}
		l.At = i
		l.Items[i].Do()
	}
	return true
}

// across goes to the other column, to the line beside.
func (l *List) across(k string, say func(string)) {
	switch {
	case k == "left" && l.At < l.Right, k == "right" && l.At >= l.Right:
		say("There is no column further " + k + ".")
	case k == "right":
		l.At = l.beside(l.Right, len(l.Items), l.height(0, l.At+1))
	default:
		l.At = l.beside(0, l.Right, l.height(l.Right, l.At+1))
	}
}

// beside is the last item of a column that stands at or above a row.
func (l *List) beside(first, end, row int) int {
	at := first
	for i := first; i < end && l.height(first, i+1) <= row; i++ {
		at = i
	}
	return at
}

// Pick selects by the first click and takes by the second; a value goes on, round
// and round.
func (l *List) Pick(i int) {
	item := l.Items[i]
	again := i == l.At
	l.At = i
	switch {
	case !again:
	case item.Do != nil:
		item.Do()
	case !item.Turn(1):
		for item.Turn(-1) {
		}
	}
}

// Keys are what the list answers, for the foot of the screen.
func (l *List) Keys() []KeyHelp {
	arrows, at := Help("↑ ↓", "choose", "down"), "1–9"
	if l.Values > 0 {
		return []KeyHelp{arrows, Help("← →", "change", "right")}
	}
	if l.Right > 0 {
		arrows = Help("← ↑ ↓ →", "choose", "down")
	}
	if n := len(l.Items); l.Letters {
		at = "letter"
	} else if n == 1 {
		at = "1"
	} else if n < 9 {
		at = fmt.Sprintf("1–%d", n)
	}
	return []KeyHelp{arrows, Help("↵", "take", "enter"), Help(at, "take at once", "")}
}
