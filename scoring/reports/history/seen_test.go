package history

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
)

// Which tabs are taken for which is told of tabs alone: the teeth of a stock are counted
// in the order of the stock, and would be told as whatever tabs have their numbers.
func TestTeethOfAStockAreNoTabs(t *testing.T) {
	l, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(l, nil)
	trial := exercises.Trial{Kind: exercises.Combination, Target: sheet.Shown(0)}
	for i := range sheet.Len() {
		name := sheet.Measured(i).LCh().String()
		trial.Patches = append(trial.Patches, exercises.Patch{Role: fmt.Sprintf("stock %d %s", sheet.GroupOf(i), name), Colour: sheet.Shown(i)})
	}
	stock := exercises.Stock(trial)
	a := scoring.Attempt{Trial: trial, Answer: exercises.TakeStock(stock[1], exercises.Redo)}
	m := scoring.MarkOf(a, sheet)
	if !m.HasSheet {
		t.Fatal("the tooth is not found in its stock")
	}
	in := &scoring.Sitting{Setup: exercises.Setup{Kind: exercises.Combination, Sheet: sheet}}
	got := askedIn(in, in.Setup.Kind).see(&a, &m, in)
	if got.Tab != -1 || got.TabTaken != -1 {
		t.Errorf("seen as tab %d, taken for tab %d", got.TabTaken, got.Tab)
	}
}

// A sitting taken as a whole is what it is when taken answer by answer.
func TestTakingAllIsTakingEach(t *testing.T) {
	l, err := tabs.Load("starter")
	if err != nil {
		t.Fatal(err)
	}
	sheet := tabs.NewSheet(l, nil)
	for _, keep := range []bool{false, true} {
		for _, kind := range []exercises.KindID{exercises.ValueFirst, exercises.Thirds, exercises.Bench, exercises.Threshold} {
			setup := exercises.Setup{Kind: kind, Count: 40, Seed: 3, Sheet: sheet, SheetID: sheet.Fingerprint(), Adaptive: true,
				Options: map[string]string{scoring.OptionPart: "2 of 3"}}
			if kind == exercises.Threshold {
				setup.Task = exercises.TaskAccept
			}
			run, err := exercises.NewRun(setup)
			if err != nil {
				t.Fatal(err)
			}
			k, err := exercises.ByID(kind)
			if err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(1, 2))
			var list []scoring.Attempt
			for trial, more := run.Next(); more && len(list) < 50; trial, more = run.Next() {
				a := k.Simulate(trial, setup, observer.Observer{Noise: 1, SeenAt: 1}, rng)
				run.Take(trial, a)
				list = append(list, scoring.Attempt{Trial: trial, Answer: a, At: time.Unix(int64(len(list)), 0)})
			}
			in := scoring.Sitting{Setup: setup, Within: "assignment:one"}
			all, each := &Sitting{Sitting: in, keep: keep}, &Sitting{Sitting: in, keep: keep}
			all.Take(list...)
			for _, a := range list {
				each.Take(a)
			}
			if all.Count() != len(list) || len(list) < 2 || !reflect.DeepEqual(all, each) {
				t.Errorf("%s: %+v\ninstead of\n%+v", kind, all, each)
			}
			if keep && (len(all.Seen) != len(list) || len(all.Seen[0].Scores) > 0 && !strings.HasPrefix(all.Seen[0].Scores[0].Item.Name, "2-")) {
				t.Errorf("%s: seen %+v", kind, all.Seen)
			}
		}
	}
}

// A sitting that is said to be one and holds very many answers is marked in parts, so that
// it need not be held whole; what it is worth is the same.
func TestLongSittingIsMarkedInParts(t *testing.T) {
	in := scoring.Sitting{ID: "S1", Setup: exercises.Setup{Kind: exercises.ValueFirst}}
	r := &reader{sittings: map[scoring.SittingID]*scoring.Sitting{"S1": &in}, byKind: map[exercises.KindID]*Kind{}, keep: true}
	all := &Sitting{Sitting: in, keep: true}
	for n := range 2*mostWaiting + 7 {
		a := scoring.Attempt{Sitting: "S1", At: time.Unix(int64(n), 0), Trial: exercises.Trial{Kind: exercises.ValueFirst, Ordinal: n}}
		all.Take(a)
		if r.add(a); len(r.waiting) > mostWaiting {
			t.Fatalf("%d answers wait", len(r.waiting))
		}
	}
	r.hand()
	if got := r.byKind[exercises.ValueFirst].Sittings; len(got) != 1 || !reflect.DeepEqual(got[0], all) {
		t.Errorf("%+v\ninstead of\n%+v", got, all)
	}
}
