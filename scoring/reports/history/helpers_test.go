package history_test

import (
	"errors"
	"strings"
	"testing"

	"shadedrill/scoring/reports/history"
)

// A panic of a helper is an error, and the others go on with their work.
func TestAPanicOfAHelperIsAnError(t *testing.T) {
	h := history.NewHelpers()
	done := make(chan bool, 100)
	for i := range 100 {
		h.Do(func() error {
			if i == 3 {
				var none []int
				_ = none[i]
			}
			done <- true
			return nil
		})
	}
	err := h.Wait()
	var p *history.Panic
	if !errors.As(err, &p) || !strings.Contains(err.Error(), "index out of range") || !strings.Contains(string(p.Stack), "helpers_test.go") {
		t.Errorf("%v", err)
	}
	if len(done) != 99 || !h.Failed() {
		t.Errorf("%d jobs done, failed: %v", len(done), h.Failed())
	}
}
