package draw

import (
	"strings"

	"github.com/gdamore/tcell/v2"
)

// A key is a short name: "enter", "left", "a", "?". Letters that no page uses in
// both cases are read in lower case, so that caps lock breaks nothing; a name is
// typed through [app.typed], which keeps the case.

// KeyHelp is a key as the foot of the screen shows it. Press is the key that a
// click on it stands for.
type KeyHelp struct {
	Show  string
	Does  string
	Press string
}

// Help is a KeyHelp in one line.
func Help(show, does, press string) KeyHelp { return KeyHelp{show, does, press} }

var named = map[tcell.Key]string{
	tcell.KeyEnter: "enter", tcell.KeyLeft: "left", tcell.KeyRight: "right", tcell.KeyUp: "up", tcell.KeyDown: "down",
	tcell.KeyHome: "home", tcell.KeyEnd: "end", tcell.KeyPgUp: "page up", tcell.KeyPgDn: "page down",
	tcell.KeyBackspace: "backspace", tcell.KeyBackspace2: "backspace", tcell.KeyDelete: "delete",
	tcell.KeyEscape: "escape", tcell.KeyTab: "tab", tcell.KeyBacktab: "shift-tab",
}

// KeyName returns the name of a pressed key and, where it types something, the
// text typed.
func KeyName(ev *tcell.EventKey) (name, typed string) {
	if ev.Key() == tcell.KeyRune {
		typed = string(ev.Rune())
		if ev.Modifiers()&(tcell.ModCtrl|tcell.ModAlt|tcell.ModMeta) != 0 {
			return strings.ToLower(ev.Name()), ""
		}
		if typed == " " {
			return "space", typed
		}
		return strings.ToLower(typed), typed
	}
	if n, ok := named[ev.Key()]; ok {
		return n, ""
	}
	return strings.ToLower(ev.Name()), ""
}

// Digit reads "1" … "9" as 0 … 8.
func Digit(key string) (int, bool) {
	if len(key) == 1 && key[0] >= '1' && key[0] <= '9' {
		return int(key[0] - '1'), true
	}
	return 0, false
}
