package sqlbook

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"sync"
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

// Several read at once, more setups than are remembered, and each gets its own; those
// that ask again what somebody missed are nobody else's, and not remembered.
func TestSetupsReadSideBySide(t *testing.T) {
	var before parsed
	var readers sync.WaitGroup
	for who := range 4 {
		readers.Go(func() {
			for i := range mostParsed + 50 {
				text := fmt.Appendf(nil, `{"kind":"halfway","seed":%d,"count":%d,"options":{"a":"b"}}`, who, i)
				s, err := before.setupOf(text)
				if err != nil || s.Seed != uint64(who) || s.Count != i || len(s.Options) != 1 {
					t.Errorf("%s was read as %+v, %v", text, s, err)
					return
				}
				s.Options[fmt.Sprint(who)] = "changed"
				check, err := before.displayCheck(fmt.Appendf(nil, `{"colours":%d}`, i))
				if err != nil || check.Colours != i {
					t.Errorf("check %d: %+v, %v", i, check, err)
					return
				}
			}
		})
	}
	readers.Wait()
	if n, m := len(before.setups), len(before.checks); n > mostParsed || m > mostParsed {
		t.Errorf("%d setups and %d checks are remembered", n, m)
	}
	before = parsed{}
	if _, err := before.setupOf([]byte(`{"kind":"halfway","seed":1,"count":1,"again":[{"kind":"halfway"}]}`)); err != nil || len(before.setups) != 0 {
		t.Errorf("what is asked again is remembered: %v", err)
	}
}

// Forms read from the same texts share nothing that one might change, and another text is
// another form.
func TestFormsReadOneAfterAnother(t *testing.T) {
	var before parsed
	levels := []byte(`[{"level":"superior","from":0.85}]`)
	parts := []byte(`[{"kind":"halfway","count":9,"seed":4,"options":{"method":"x"}}]`)
	cuts, list, err := before.formOf(levels, parts)
	if err != nil || len(cuts) != 1 || len(list) != 1 {
		t.Fatal(cuts, list, err)
	}
	cuts[0].From, list[0].Count, list[0].Options["method"] = 0, 1, "y"
	cuts, list, err = before.formOf(levels, parts)
	if err != nil || cuts[0].From != 0.85 || list[0].Count != 9 || list[0].Options["method"] != "x" {
		t.Errorf("what one reader changed another sees: %v, %v, %v", cuts, list, err)
	}
	if _, list, err = before.formOf(levels, []byte(`[{"kind":"halfway","count":10,"seed":4}]`)); err != nil || list[0].Count != 10 {
		t.Errorf("another form: %v, %v", list, err)
	}
	for range 2 {
		if _, _, err := before.formOf(levels, []byte("[")); err == nil {
			t.Error("a damaged form is read")
		}
	}
}
