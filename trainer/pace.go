package trainer

import (
	"time"
)

// Nobody decides about colours in the blink of an eye. A key that comes with a new
// picture was meant for the one before, or was pressed twice, or lies under an
// elbow: it answers nothing. All three times are house rules; keyboards wait 250 to
// 660 ms before the first repeat and then repeat every 25 to 40 ms (common defaults,
// from memory).
const (
	// unseen is how long a picture must have stood before any key counts.
	unseen = 300 * time.Millisecond
	// stillDown is how long the key that brought the picture is taken for still down.
	stillDown = 800 * time.Millisecond
	// heldGap is the longest time between two presses of one key that are taken for a key
	// held down, or hammered.
	heldGap = unseen
)

// paced is a page on which a key must not come too soon.
type paced interface {
	// scene is another one whenever a key may mean something else than before.
	scene() scene
}

// The pages on which a key must not come too soon.
var _, _, _, _, _ paced = (*drillPage)(nil), (*feedbackPage)(nil), (*summaryPage)(nil), (*workedPage)(nil), (*displayPage)(nil)

// scene is one picture and one question; the zero value is none.
type scene struct {
	of           string // the page's own word
	given, looks int    // answers and looks of a drill, or questions
	rests        bool   // the screen is grey
	step         string // of an exercise
}

// pace remembers when the picture was first seen and which key brought it.
type pace struct {
	page  page
	scene scene
	shown time.Time // zero while it was not drawn yet
	by    string    // the key that brought it
	last  string    // the key pressed last …
	at    time.Time // … and when
	held  bool      // the key that is being handled repeats
}

// sceneOf is what a paced page is at; none for any other.
func sceneOf(p page) scene {
	if s, ok := p.(paced); ok {
		return s.scene()
	}
	return scene{}
}

// turned notes that a key, or time, has brought another picture.
func (a *app) turned(by string) {
	if a.done {
		return
	}
	p := a.top()
	if at := sceneOf(p); p != a.pace.page || at != a.pace.scene {
		a.pace.page, a.pace.scene, a.pace.shown, a.pace.by = p, at, time.Time{}, by
	}
}

// seen notes that the picture is on the screen.
func (a *app) seen() {
	a.turned("")
	if a.pace.shown.IsZero() {
		a.pace.shown = a.now()
	}
}

// strike notes a key that was pressed.
func (a *app) strike(name string, at time.Time) {
	p := &a.pace
	p.held = name == p.last && at.Sub(p.at) < heldGap
	if name != p.last {
		p.by = "" // whatever brought the picture has been let go
	}
	p.last, p.at = name, at
}

// tooSoon reports whether a key, or a click, on a paced page was not meant for the
// picture that is there.
func (a *app) tooSoon(name string, at time.Time) bool {
	if sceneOf(a.top()) == (scene{}) || name == "q" || name == "escape" || name == "?" {
		return false
	}
	p := a.pace
	stood := at.Sub(p.shown)
	switch {
	case p.shown.IsZero(), stood < unseen:
		return true
	case name != "" && name == p.by && stood < stillDown:
		return true
	}
	return p.held && (name == "enter" || name == "space")
}

// hasty is what somebody is told who was too quick.
const hasty = "Faster than anybody can look: it counts for nothing. Please press again."
