package trainer

import "strings"

// list is one or two columns of choices with a selection: the menu, the learners.
type list struct {
	items []listItem
	at    int
	from  int // first item shown of the left column
	// right is where the right column begins; 0 for a single one.
	right int
	// letters reaches the items beyond the ninth by a letter each. A page that has
	// keys of its own must not share them.
	letters bool
}

type listItem struct {
	text  string
	extra string // faint, behind the text
	gap   bool   // an empty line above
	do    func()
}

// shortcuts are the keys that take an item at once; q leaves everywhere.
const shortcuts = "123456789abcdefghijklmnoprstuvwxyz"

func (l *list) reach() int {
	if l.letters {
		return min(len(l.items), len(shortcuts))
	}
	return min(len(l.items), 9)
}

// draw paints as many items as fit and keeps the selected one in sight.
func (l *list) draw(a *app, in rect) {
	if l.right == 0 {
		l.column(a, in, 0, len(l.items), &l.from)
		return
	}
	half := min(in.w/2, 46)
	top := 0
	l.column(a, rect{in.x, in.y, half - 2, in.h}, 0, l.right, &l.from)
	l.column(a, rect{in.x + half, in.y, in.w - half, in.h}, l.right, len(l.items), &top)
}

// column paints the items from first up to end.
func (l *list) column(a *app, in rect, first, end int, from *int) {
	c := a.canvas
	*from = max(first, *from)
	if l.at >= first && l.at < end {
		*from = min(*from, l.at)
		for l.height(*from, l.at+1) > in.h && *from < l.at {
			*from++
		}
	}
	y := in.y
	for i := *from; i < end; i++ {
		item := l.items[i]
		if item.gap && i > *from {
			y++
		}
		if y >= in.y+in.h {
			c.write(in.x, in.y+in.h-1, "↓", a.tone.faint, false) // there is more
			break
		}
		ink, mark := a.tone.plain, " "
		if i == l.at {
			ink, mark = a.tone.strong, "▸"
		}
		c.write(in.x, y, mark, ink, true)
		if i < l.reach() {
			c.write(in.x+2, y, shortcuts[i:i+1], a.tone.faint, false)
		}
		x := c.write(in.x+5, y, clip(c, item.text, in.w-5), ink, i == l.at)
		if room := in.x + in.w - x - 3; item.extra != "" && room > 4 {
			c.write(x+3, y, clip(c, item.extra, room), a.tone.faint, false)
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

func (l *list) key(a *app, k string) bool {
	switch k {
	case "up":
		if l.at == 0 {
			a.say("This is the first line.")
		}
		l.at = max(0, l.at-1)
	case "down":
		if l.at == len(l.items)-1 {
			a.say("This is the last line.")
		}
		l.at = min(len(l.items)-1, l.at+1)
	case "home":
		l.at = 0
	case "end":
		l.at = len(l.items) - 1
	case "left", "right":
		if l.right == 0 {
			return false
		}
		l.across(a, k)
	case "enter":
		l.items[l.at].do()
	default:
		i := strings.Index(shortcuts, k)
		if len(k) != 1 || i < 0 || i >= 9 && !l.letters {
			return false
		}
		if i >= len(l.items) {
			if i >= 9 {
				return false
			}
			a.say("There is no line with this number.")
			return true
		}
		l.at = i
		l.items[i].do()
	}
	return true
}

// across goes to the other column, to the line beside.
func (l *list) across(a *app, k string) {
	switch {
	case k == "left" && l.at < l.right, k == "right" && l.at >= l.right:
		a.say("There is no column further " + k + ".")
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

// pick selects by the first click and takes by the second.
func (l *list) pick(i int) {
	if i == l.at {
		l.items[i].do()
	}
	l.at = i
}

func (l *list) keys() []keyHelp {
	arrows, at := help("↑ ↓", "choose", "down"), "1–9"
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
