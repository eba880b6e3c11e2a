package recordtest

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// panels: what a lead laid down comes back as it was, a name is given once, and
// closing is for good.
func panels(t *testing.T, b record.Store) {
	lead := Person(t, b, "Ida Marsh")
	sheet := Sheet(t)
	setup := exercises.Setup{Kind: exercises.ValueFirst, Version: 1, Seed: 9, Count: 20, Repeats: 2, Targets: exercises.NaturalTargets,
		Silent: true, Viewing: exercises.Viewing{Limit: 5 * time.Second, Gap: 2, Light: "incandescent"}, Sheet: sheet}
	asked := record.Panel{Name: " Monday\x1b[31m  team", Setup: setup, By: lead.ID, At: Noon.Add(1234567 * time.Nanosecond)}

	_, err := b.AddPanel(ctx, asked)
	wantIs(t, err, record.ErrNotFound) // its sheet
	must(t, b.PutSheet(ctx, sheet))
	stranger := asked
	stranger.By = "nobody"
	_, err = b.AddPanel(ctx, stranger)
	wantIs(t, err, record.ErrNotFound)

	class := Class(t, b, "Their class")
	nowhere := asked
	nowhere.Class = "01J0000000000000000000000C"
	_, err = b.AddPanel(ctx, nowhere)
	wantIs(t, err, record.ErrNotFound)
	asked.Class = class.ID

	first, err := b.AddPanel(ctx, asked)
	must(t, err)
	same(t, "name and time", []any{first.Name, first.At}, []any{"Monday team", Noon.Add(time.Millisecond)})
	again := asked
	again.Name, again.Setup.Seed = "MONDAY Team", 10
	_, err = b.AddPanel(ctx, again)
	wantIs(t, err, record.ErrTaken)
	early, err := b.AddPanel(ctx, record.Panel{Name: "Early", At: Noon, Closed: Noon.Add(time.Hour),
		Setup: exercises.Setup{Kind: exercises.Whitening, Seed: 1, Count: 1, Repeats: 3, Options: map[string]string{"a": "b"}}})
	must(t, err)

	want := asked
	want.Name, want.At, want.Setup.Sheet, want.Setup.SheetID = "Monday team", Noon.Add(time.Millisecond), nil, sheet.Fingerprint()
	list, err := b.Panels(ctx)
	must(t, err)
	same(t, "by time", list, []record.Panel{early, want})
	found, err := b.PanelByName(ctx, "monday TEAM")
	must(t, err)
	same(t, "found by name", found, want)
	_, err = b.PanelByName(ctx, "Tuesday team")
	wantIs(t, err, record.ErrNotFound)

	must(t, b.ClosePanel(ctx, "monday team", Noon.Add(time.Hour)))
	must(t, b.ClosePanel(ctx, "Monday team", Noon.Add(2*time.Hour)))
	found, err = b.PanelByName(ctx, "Monday team")
	must(t, err)
	want.Closed = Noon.Add(time.Hour)
	same(t, "closed once", found, want)
	wantIs(t, b.ClosePanel(ctx, "Tuesday team", Noon), record.ErrNotFound)

	later := record.Panel{Name: "Later", At: Noon.Add(time.Hour), Setup: early.Setup}
	stop := errors.New("stop")
	wantIs(t, b.Merge(ctx, func(m record.Book) error {
		if _, err := m.AddPanel(ctx, later); err != nil {
			return err
		}
		if _, err := m.PanelByName(ctx, "later"); err != nil {
			return err
		}
		return errors.Join(m.ClosePanel(ctx, "Later", Noon.Add(2*time.Hour)), stop)
	}), stop)
	_, err = b.PanelByName(ctx, "Later")
	wantIs(t, err, record.ErrNotFound) // given up
	must(t, b.Merge(ctx, func(m record.Book) error {
		if _, err := m.AddPanel(ctx, later); err != nil {
			return err
		}
		return m.ClosePanel(ctx, "Later", Noon.Add(2*time.Hour))
	}))
	found, err = b.PanelByName(ctx, "Later")
	must(t, err)
	same(t, "laid down and closed at once", found.Closed, Noon.Add(2*time.Hour))

	for what, change := range map[string]func(*record.Panel){
		"no name":         func(p *record.Panel) { p.Name = "\x1b[2J" },
		"no time":         func(p *record.Panel) { p.At = time.Time{} },
		"no exercise":     func(p *record.Panel) { p.Setup.Kind = "" },
		"no seed":         func(p *record.Panel) { p.Setup.Seed = 0 },
		"no items":        func(p *record.Panel) { p.Setup.Count = 0 },
		"never shown":     func(p *record.Panel) { p.Setup.Repeats = 0 },
		"an order":        func(p *record.Panel) { p.Setup.OrderSeed = 3 },
		"adaptive":        func(p *record.Panel) { p.Setup.Adaptive = true },
		"escape in a key": func(p *record.Panel) { p.Setup.Task = "a\x1bb" },
	} {
		p := asked
		p.Name = "Refused"
		change(&p)
		if _, err := b.AddPanel(ctx, p); err == nil {
			t.Errorf("taken: %s", what)
		}
	}

	// The order is a person's own, and the same again.
	set := want.Set()
	ada, ben := set.SetupFor(0, "ADA"), set.SetupFor(0, "BEN")
	if ada.OrderSeed == ben.OrderSeed || ada.OrderSeed == 0 || ada.OrderSeed != set.SetupFor(0, "ADA").OrderSeed {
		t.Errorf("orders %d and %d", ada.OrderSeed, ben.OrderSeed)
	}
	if _, ok := set.Part(ada); !ok {
		t.Error("a session does not know its own setup")
	}
	ada.Seed++
	if _, ok := set.Part(ada); ok {
		t.Error("a session takes other items for its own")
	}
}

// panelAtOnce: of several who lay down a session of one name at the same moment
// one succeeds, and the others are told.
func panelAtOnce(t *testing.T, b record.Store) {
	var made atomic.Int32
	var wait sync.WaitGroup
	for i := range 8 {
		lead := Person(t, b, fmt.Sprintf("Lead %d", i))
		wait.Go(func() {
			_, err := b.AddPanel(ctx, record.Panel{Name: "Team", By: lead.ID, At: Noon,
				Setup: exercises.Setup{Kind: exercises.ValueFirst, Seed: uint64(i) + 1, Count: 5, Repeats: 2}})
			if err == nil {
				made.Add(1)
			} else {
				wantIs(t, err, record.ErrTaken)
			}
			s := scoring.Sitting{ID: record.NewSittingID(Noon), Learner: lead.ID, Started: Noon, Within: "panel:Team",
				Setup: exercises.Setup{Kind: exercises.ValueFirst}}
			if err := b.StartSitting(ctx, s); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	list, err := b.Sittings(ctx, record.Filter{Within: "panel:Team"})
	must(t, err)
	same(t, "sessions made and sittings begun", []int{int(made.Load()), len(list)}, []int{1, 8})
}
