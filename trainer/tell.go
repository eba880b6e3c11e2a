package trainer

import (
	"slices"
	"strings"

	"shadedrill/trainer/draw"
)

// Listener is a screen that wants to know more than cells: one in a browser, where
// the keys of the foot are buttons, and where a key can be on its way while the
// picture it was meant for is gone.
type Listener interface {
	// Told is called before each picture is put on the screen.
	Told(Telling)
}

// Telling is what stands beside a picture.
type Telling struct {
	// Scene is another number whenever a key may mean something else than before:
	// on another page, at another trial, look or step. Moving a selection does
	// not change it. A key that was pressed at an earlier scene was not meant for
	// this one.
	Scene uint64
	// Keys are the keys that do something now, in the order of the foot.
	Keys []Key
	// Typing says that letters are text.
	Typing bool
}

// Key is one key: the name under which it is pressed ("enter", "left", "a"), its
// sign, and what it does.
type Key struct{ Press, Show, Does string }

// staged is a page that says itself when its keys mean something else, where its
// title would change too often.
type staged interface{ stage() scene }

// stage is what decides whether two pictures are of one scene.
type stage struct {
	page  page
	scene scene
	title string // where the page has no scene of its own
	enter string // what the key Enter does: most answers are given with it
}

// tell tells a listening screen about the page that is drawn; nil is the notice
// that the window is too small.
func (a *app) tell(p page, keys []draw.KeyHelp) {
	l, ok := a.screen.(Listener)
	if !ok {
		return
	}
	at := stage{page: p}
	if s, ok := p.(staged); ok {
		at.scene = s.stage()
	} else if p != nil {
		left, right := p.title()
		at.title = left + "\n" + right
	}
	for _, k := range keys {
		if k.Press == "enter" {
			at.enter = k.Does
		}
	}
	if at != a.stage {
		a.stage = at
		a.scene++
	}
	if !slices.Equal(keys, a.foot) { // most pictures have the keys of the one before
		a.foot, a.footKeys = keys, nil
		for _, k := range keys {
			a.footKeys = append(a.footKeys, single(k)...)
		}
	}
	told := Telling{Scene: a.scene, Keys: a.footKeys}
	_, told.Typing = p.(typing)
	l.Told(told)
}

// signs are the signs of the foot that stand for one key each.
var signs = map[string]string{"←": "left", "→": "right", "↑": "up", "↓": "down", "↵": "enter", "⌫": "backspace",
	"Home": "home", "End": "end", "Space": "space", "Esc": "escape"}

// single splits what the foot shows in one into keys: "← →" is two, "1–3" three.
// Where it says as many things as there are keys, each gets its own.
func single(k draw.KeyHelp) []Key {
	shown := strings.Fields(k.Show)
	does := strings.Split(k.Does, ", ")
	if len(does) != len(shown) {
		does = nil
	}
	var keys []Key
	for i, show := range shown {
		what := k.Does
		if does != nil {
			what = does[i]
		}
		r := []rune(show)
		switch press, known := signs[show]; {
		case known:
			keys = append(keys, Key{press, show, what})
		case len(r) == 1:
			keys = append(keys, Key{show, show, what})
		case len(r) == 3 && (r[1] == '–' || r[1] == '…'):
			for c := r[0]; c <= r[2]; c++ {
				keys = append(keys, Key{string(c), string(c), what})
			}
		default:
			return []Key{{k.Press, k.Show, k.Does}}
		}
	}
	return keys
}
