package history_test

import (
	"fmt"
	"sync"
	"testing"

	"shadedrill/exercises"
)

var asked struct {
	sync.Mutex
	trials map[string][]exercises.Trial
}

// questions are the trials of a drill that does not depend on the answers. What one
// observer was asked is kept for the next: making the trials takes longer than
// answering them.
func questions(t testing.TB, s exercises.Setup) []exercises.Trial {
	t.Helper()
	kind, err := exercises.ByID(s.Kind)
	if err != nil {
		t.Fatal(err)
	}
	if s.Adaptive || kind.Traits().AnswerDriven {
		t.Fatalf("what %s asks depends on the answers", s.Kind)
	}
	key := fmt.Sprint(s)
	if !heavy() { // there it would be all in memory
		asked.Lock()
		defer asked.Unlock()
		if list, ok := asked.trials[key]; ok {
			return list
		}
	}
	run, err := exercises.NewRun(s)
	if err != nil {
		t.Fatal(err)
	}
	var list []exercises.Trial
	for trial, ok := run.Next(); ok; trial, ok = run.Next() {
		run.Take(trial, exercises.Answer{})
		list = append(list, trial)
	}
	if !heavy() {
		if asked.trials == nil {
			asked.trials = map[string][]exercises.Trial{}
		}
		asked.trials[key] = list
	}
	return list
}
