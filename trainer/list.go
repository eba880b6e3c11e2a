package trainer

// list is a column of choices with a selection: the menu, the learners.
type list struct {
	items []listItem
	at    int
	from  int // first item shown
}

type listItem struct {
	text  string
	extra string // faint, behind the text
	gap   bool   // an empty line above
	do    func()
}

// draw paints as many items as fit and keeps the selected one in sight.
func (l *list) draw(a *app, in rect) {
	c := a.canvas
	l.from = min(l.from, l.at)
	for l.height(l.from, l.at+1) > in.h && l.from < l.at {
		l.from++
	}
	y := in.y
	for i := l.from; i < len(l.items); i++ {
		item := l.items[i]
		if item.gap && i > l.from {
			y++
		}
		if y >= in.y+in.h {
			break
		}
		ink, mark := a.tone.plain, " "
		if i == l.at {
			ink, mark = a.tone.strong, "▸"
		}
		c.write(in.x, y, mark, ink, true)
		if i < 9 {
			c.write(in.x+2, y, string(rune('1'+i)), a.tone.faint, false)
		}
		x := c.write(in.x+5, y, clip(c, item.text, in.w-5), ink, i == l.at)
		if room := in.x + in.w - x - 3; item.extra != "" && room > 4 {
			c.write(x+3, y, clip(c, item.extra, room), a.tone.faint, false)
		}
		c.item(rect{in.x, y, in.w, 1}, i)
		y++
	}
}

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
	case "enter":
		l.items[l.at].do()
	default:
		i, ok := digit(k)
		if !ok {
			return false
		}
		if i >= len(l.items) {
			a.say("There is no line with this number.")
			return true
		}
		l.at = i
		l.items[i].do()
	}
	return true
}

// pick selects by the first click and takes by the second.
func (l *list) pick(i int) {
	if i == l.at {
		l.items[i].do()
	}
	l.at = i
}

func (l *list) keys() []keyHelp {
	return []keyHelp{help("↑ ↓", "choose", "down"), help("↵", "take", "enter"), help("1–9", "take at once", "")}
}
