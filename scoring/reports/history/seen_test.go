package history

import (
	"fmt"
	"testing"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
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
	got := see(a, m, &scoring.Sitting{Setup: exercises.Setup{Kind: exercises.Combination, Sheet: sheet}})
	if got.Tab != -1 || got.TabTaken != -1 {
		t.Errorf("seen as tab %d, taken for tab %d", got.TabTaken, got.Tab)
	}
}
