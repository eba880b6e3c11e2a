package sqlbook

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"shadedrill/exercises"
)

// Reading a setup beside those before gives what reading it alone gives, and no
// two of them share what one might change.
func TestSetupsReadOneAfterAnother(t *testing.T) {
	list := []exercises.Setup{
		{Kind: "halfway", Seed: 1, Count: 20},
		{Kind: "halfway", Seed: math.MaxUint64, Count: 20},
		{Kind: "halfway", Seed: 0, Count: 20},
		{Kind: "halfway", Seed: 0, Count: 21},
		{Kind: "threshold", Seed: 5, Task: `"seed":7`, Options: map[string]string{"seed": "9", "method": "x"}, OrderSeed: 3},
		{Kind: "threshold", Seed: 6, Task: `"seed":7`, Options: map[string]string{"seed": "9", "method": "x"}, OrderSeed: 3},
		{Kind: "threshold", Seed: 6, Task: `"seed":8`, Options: map[string]string{"seed": "9", "method": "x"}, OrderSeed: 4},
	}
	var before parsed
	var got []exercises.Setup
	for i, want := range list {
		text, err := json.Marshal(want)
		if err != nil {
			t.Fatal(err)
		}
		s, err := before.setupOf(text)
		if err != nil || !reflect.DeepEqual(s, want) {
			t.Errorf("%d: %+v, %v; want %+v", i, s, err, want)
		}
		got = append(got, s)
	}
	got[5].Options["method"] = "another"
	if text, _ := json.Marshal(list[5]); got[4].Options["method"] != "x" {
		t.Error("two setups share their options")
	} else if s, err := before.setupOf(text); err != nil || s.Options["method"] != "x" {
		t.Errorf("a change came back: %+v, %v", s, err)
	}
	if _, err := before.setupOf([]byte(`{"seed":`)); err == nil {
		t.Error("half a setup was read")
	}
}
