package report

import "testing"

// An axis is little longer than its numbers, and its ticks can be counted: 15 above a
// largest value of 10.05 would leave a third of the picture empty.
func TestAnAxisIsLittleLongerThanItsNumbers(t *testing.T) {
	if s := newScale(0, 10.05, 5, true); s.hi != 12 || len(s.ticks) != 7 {
		t.Errorf("0 to 10.05 is drawn from %g to %g with %d ticks", s.lo, s.hi, len(s.ticks))
	}
	for n := range 4000 {
		hi := 0.013 * float64(n+1)
		for _, lo := range []float64{0, -hi / 3, hi / 1.7} {
			s := newScale(lo, hi, 5, true)
			if s.lo > lo+1e-9 || s.hi < hi-1e-9 || s.hi-s.lo > 1.5*(hi-lo) || len(s.ticks) < 3 || len(s.ticks) > 14 {
				t.Fatalf("%g to %g is drawn from %g to %g with ticks %v", lo, hi, s.lo, s.hi, s.ticks)
			}
		}
	}
}
