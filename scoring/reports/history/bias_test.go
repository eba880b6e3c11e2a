package history

import (
	"math"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
)

// dated are sittings of some answers each, a day apart, all with one error in value.
func dated(from time.Time, sittings, answers int, error float64) *Kind {
	k := &Kind{}
	for i := range sittings {
		s := &Sitting{First: from.AddDate(0, 0, i)}
		for n := range answers {
			off := 0.01 * float64(n%2) // some scatter, or there is no interval
			s.Judged = append(s.Judged, Judged{D: colour.Difference{L: error + off}, Free: exercises.Axes{L: true, C: true, H: true}, Weight: 1})
		}
		k.Sittings = append(k.Sittings, s)
	}
	return k
}

// Who answered too light last year and no longer does has no bias now, whatever exercise
// it was; few large sittings are not fewer than six.
func TestABiasIsThatOfNow(t *testing.T) {
	start := time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		then, now *Kind
		want      float64
		n         int
	}{
		"many small sittings": {dated(start, 30, 20, 2), dated(start.AddDate(0, 6, 0), 12, 20, 0), 0, 240},
		"the newer first":     {dated(start.AddDate(0, 6, 0), 12, 20, 0), dated(start, 30, 20, 2), 0, 240},
		"large sittings":      {dated(start, 30, 20, 2), dated(start.AddDate(0, 6, 0), 6, 100, 0), 0, 600},
		"too few of now":      {dated(start, 30, 20, 2), dated(start.AddDate(0, 6, 0), 6, 20, 0), 1, 240},
	} {
		e := BiasOfKinds([]*Kind{c.then, c.now}).Estimates[0]
		if math.Abs(e.Value-c.want) > 0.02 || e.N != c.n {
			t.Errorf("%s: a bias of %.2f from %d answers, want %.0f from %d", name, e.Value, e.N, c.want, c.n)
		}
	}
}
