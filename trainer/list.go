package trainer

import "strings"

// list is one or two columns of choices with a selection: the menu, the learners,
// the settings. An item is taken (do) or has a value that can be turned (turn).
type list struct {
	items []listItem
	at    int
	from  int // first item shown of the left column
	// right is where the right column begins; 0 for a single one.
	right int
	// letters reaches the items beyond the ninth by a letter each. A page that has
	// keys of its own must not share them.
	letters bool
	// values is where the values begin, counted from the left.
	values int
}

type listItem struct {
	text  string
	extra string // faint, behind the text
	gap   bool   // an empty line above
	do    func()
	value func() string
	turn  func(by int) bool // false at an end of the range
}

// shortcuts are the keys that take an item at once; q leaves everywhere.
const shortcuts = "123456789abcdefghijklmnoprstuvwxyz"

// reach is how many items a key takes at once.
func (l *list) reach() int {
	if l.values > 0 { // there is nothing to take
		return 0
	}
	if l.letters {
		return min(len(l.items), len(shortcuts))
	}
	return min(len(l.items), 9)
}

// draw paints as many items as fit and keeps the selected one in sight.
func (l *list) draw(c *canvas, in rect) {
	if l.right == 0 {
		l.column(c, in, 0, len(l.items), &l.from)
		return
	}
	half := min(in.w/2, 46)
	top := 0
	l.column(c, rect{in.x, in.y, half - 2, in.h}, 0, l.right, &l.from)
	l.column(c, rect{in.x + half, in.y, in.w - half, in.h}, l.right, len(l.items), &top)
}

// column paints the items from first up to end.
func (l *list) column(c *canvas, in rect, first, end int, from *int) {
	*from = max(first, *from)
	if l.at >= first && l.at < end {
		*from = min(*from, l.at)
		for l.height(*from, l.at+1) > in.h && *from < l.at {
			*from++
		}
	}
	text := in.x + 5 // behind the number
	if l.reach() == 0 {
		text = in.x + 2
	}
	y := in.y
	for i := *from; i < end; i++ {
		item := l.items[i]
		if item.gap && i > *from {
			y++
		}
		if y >= in.y+in.h {
			c.write(in.x, in.y+in.h-1, "↓", c.tone.faint, false) // there is more
			break
		}
		ink, mark := c.tone.plain, " "
		if i == l.at {
			ink, mark = c.tone.strong, "▸"
		}
		c.write(in.x, y, mark, ink, true)
		if i < l.reach() {
			c.write(in.x+2, y, shortcuts[i:i+1], c.tone.faint, false)
		}
		x := c.write(text, y, c.clip(item.text, in.x+in.w-text), ink, i == l.at)
		if item.value != nil {
			c.write(in.x+l.values, y, c.clip(item.value(), in.w-l.values), ink, i == l.at)
		}
		if room := in.x + in.w - x - 3; item.extra != "" && room > 4 {
			c.write(x+3, y, c.clip(item.extra, room), c.tone.faint, false)
		}
		c.item(rect{in.x, y, in.w, 1}, i)
		y++
	}
}

// height is how many rows the items take, the first without the gap above it.
func (l *list) height(from, to int) int {
	n := 0
	for i := from; i < to; i++ {
		n++
		if l.items[i].gap && i > from {
			n++
		}
	}
	return n
}

// key handles a key; say takes the line for the person where nothing moves.
func (l *list) key(k string, say func(string)) bool {
	switch k {
	case "up":
		if l.at == 0 {
			say("This is the first line.")
		}
		l.at = max(0, l.at-1)
	case "down":
		if l.at == len(l.items)-1 {
			say("This is the last line.")
		}
		l.at = min(len(l.items)-1, l.at+1)
	case "home":
		l.at = 0
	case "end":
		l.at = len(l.items) - 1
	case "left", "right":
		if turn := l.items[l.at].turn; turn != nil {
			if by := map[string]int{"left": -1, "right": 1}[k]; !turn(by) {
				say("This is the end of the range.")
			}
			return true
		}
		if l.right == 0 {
			return false
		}
		l.across(k, say)
	case "enter":
		if l.items[l.at].do == nil {
			return false
		}
		l.items[l.at].do()
	default:
		i := strings.Index(shortcuts, k)
		if len(k) != 1 || i < 0 || i >= 9 && !l.letters || l.reach() == 0 {
			return false
		}
		if i >= len(l.items) {
			if i >= 9 {
				return false
			}
			say("There is no line with this number.")
			return true
		}
		l.at = i
		l.items[i].do()
	}
	return true
}

// across goes to the other column, to the line beside.
func (l *list) across(k string, say func(string)) {
	switch {
	case k == "left" && l.at < l.right, k == "right" && l.at >= l.right:
		say("There is no column further " + k + ".")
	case k == "right":
		l.at = l.beside(l.right, len(l.items), l.height(0, l.at+1))
	default:
		l.at = l.beside(0, l.right, l.height(l.right, l.at+1))
	}
}

// beside is the last item of a column that stands at or above a row.
func (l *list) beside(first, end, row int) int {
	at := first
	for i := first; i < end && l.height(first, i+1) <= row; i++ {
		at = i
	}
	return at
}

// pick selects by the first click and takes by the second; a value goes on, round
// and round.
func (l *list) pick(i int) {
	item := l.items[i]
	again := i == l.at
	l.at = i
	switch {
	case !again:
	case item.do != nil:
		item.do()
	case !item.turn(1):
		for item.turn(-1) {
		}
	}
}

func (l *list) keys() []keyHelp {
	arrows, at := help("↑ ↓", "choose", "down"), "1–9"
	if l.values > 0 {
		return []keyHelp{arrows, help("← →", "change", "right")}
	}
	if l.right > 0 {
		arrows = help("← ↑ ↓ →", "choose", "down")
	}
	if n := l.reach(); n < 9 {
		at = "1–" + shortcuts[n-1:n]
	} else if n > 9 {
		at += " a–" + shortcuts[n-1:n]
	}
	return []keyHelp{arrows, help("↵", "take", "enter"), help(at, "take at once", "")}
}
