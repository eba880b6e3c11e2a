package trainer

import (
	"errors"
	"sync"
	"testing"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
)

// What breaks beside the loop ends the trainer in order, and nothing else.
func TestAPanicBesideTheLoopIsAnError(t *testing.T) {
	screen := tcell.NewSimulationScreen("UTF-8")
	if err := screen.Init(); err != nil {
		t.Fatal(err)
	}
	defer screen.Fini()
	a := &app{screen: screen, pages: []page{&whoPage{}}}
	a.guarded(func() { panic("a defect") })()
	for !a.done && screen.HasPendingEvent() {
		a.handle(screen.PollEvent())
	}
	if b, ok := errors.AsType[*Broken](a.err); !a.done || !ok || b.What != "a defect" || len(b.Stack) == 0 {
		t.Errorf("done %v with %v", a.done, a.err)
	}
}

// Many trainers in one process look at one sheet, made once, and at another under
// another lamp; a library of the same name with other tabs has its own.
func TestTrainersShareTheirSheets(t *testing.T) {
	var wait sync.WaitGroup
	seen := make([]*tabs.Sheet, 32)
	for i := range seen {
		wait.Go(func() {
			s, err := newShelf(nil)
			if err != nil {
				t.Error(err)
				return
			}
			sheet, err := s.sheet(0, []string{"", "A"}[i%2], exercises.Level{})
			if err != nil {
				t.Error(err)
				return
			}
			sheet.Prepare()
			seen[i] = sheet
		})
	}
	wait.Wait()
	for i, s := range seen {
		if s == nil || s != seen[i%2] {
			t.Fatalf("trainer %d has a sheet of its own", i)
		}
	}
	if seen[0] == seen[1] {
		t.Error("lamplight shows the sheet of daylight")
	}
	one, two := sharedSheet(named(t, 70), "", nil), sharedSheet(named(t, 60), "", nil)
	if one == two || one.Lab(0).L < two.Lab(0).L {
		t.Error("two libraries of one name share a sheet")
	}
}

func named(t *testing.T, l float64) *tabs.Library {
	library, err := tabs.New("own", "", []tabs.Group{{Name: "one", Tabs: []tabs.Tab{{Name: "tab", Lab: colour.Lab{L: l, A: 2, B: 18}}}}})
	if err != nil {
		t.Fatal(err)
	}
	return library
}
