package transfer

import (
	"bytes"
	"context"
	"encoding/json"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

// isoDuration is the part of ISO 8601 durations that is written; none where no time
// was taken.
var isoDuration = regexp.MustCompile(`^(PT[0-9]+\.[0-9]{2}S)?$`)

// FuzzStatements: whatever a book holds, its learning records are JSON that a store
// takes: a score between its ends, a duration of the standard's form, numbers that
// are numbers, and one statement an answer.
func FuzzStatements(f *testing.F) {
	f.Add(uint64(1), "Ada Finch", `{"kind":"value-first","target":"#c0b090"}`, `{"colour":"#c0b091","total_ns":1500000000}`)
	f.Add(uint64(2), "=1+1", `{"kind":"line-up","patches":[{"role":"a","colour":"#c0b090"},{"role":"b","colour":"#d0c0a0"}],"part":"value"}`, `{"order":[1,0]}`)
	f.Add(uint64(3), "\u202eAda", `{"kind":"threshold","level":1e300}`, `{"choice":"left","number":-1}`)
	f.Add(uint64(4), "A", `{"kind":"\u0000"}`, `{"total_ns":9223372036854775807}`)
	f.Add(uint64(5), "A", `{"kind":"try-in","patches":[{"role":"delivered","colour":"#d0c0a0"}]}`, `{"directions":{"value":1,"chroma":-1},"choice":"seat"}`)
	f.Fuzz(func(t *testing.T, seed uint64, name, trial, answer string) {
		ctx := context.Background()
		var a scoring.Attempt
		if json.Unmarshal([]byte(trial), &a.Trial) != nil || json.Unmarshal([]byte(answer), &a.Answer) != nil {
			return
		}
		book := record.NewMemory()
		who, err := book.AddLearner(ctx, scoring.Learner{Name: name, At: start})
		if err != nil {
			return
		}
		s := recordtest.RandomSitting(who.ID, "S1", rand.New(rand.NewPCG(seed, 1)))
		s.Setup.Silent = false // of a silent drill that goes on nothing is told
		if book.StartSitting(ctx, s) != nil {
			return
		}
		a.Sitting, a.Learner, a.At = s.ID, who.ID, start.Add(time.Duration(seed%1000)*time.Second)
		if book.Append(ctx, a) != nil {
			return
		}
		var b bytes.Buffer
		if err := Export(ctx, book, record.Filter{}, &b, XAPI); err != nil {
			t.Fatalf("it cannot be exported: %v", err)
		}
		var list []statement
		if err := json.Unmarshal(b.Bytes(), &list); err != nil {
			t.Fatalf("%d statements (%v):\n%s", len(list), err, b.Bytes())
		}
		if faults := checkStatements(t, b.Bytes()); len(faults) > 0 {
			t.Errorf("against the standard: %s\n%s", strings.Join(faults, "; "), b.Bytes())
		}
		list = slices.DeleteFunc(list, func(s statement) bool { return s.Verb.ID != verbs+"answered" })
		if len(list) != 1 {
			t.Fatalf("%d answers:\n%s", len(list), b.Bytes())
		}
		r := list[0].Result
		if s := r.Score; s != nil && !(s.Scaled >= -1 && s.Scaled <= 1 && s.Raw >= s.Min && s.Raw <= s.Max) {
			t.Errorf("score %+v", *s)
		}
		if !isoDuration.MatchString(r.Duration) {
			t.Errorf("duration %q", r.Duration)
		}
		if list[0].Actor.Name != who.Name || list[0].Actor.Account.Name != string(who.ID) {
			t.Errorf("actor %+v", list[0].Actor)
		}
		if _, err := time.Parse(time.RFC3339Nano, list[0].Timestamp); err != nil {
			t.Error(err)
		}
	})
}
