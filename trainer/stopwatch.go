package trainer

import (
	"fmt"
	"strings"
	"time"
)

// stopwatch adds up time while it runs.
type stopwatch struct {
	sum   time.Duration
	since time.Time
	runs  bool
}

func (s *stopwatch) start(now time.Time) {
	if !s.runs {
		s.since, s.runs = now, true
	}
}

func (s *stopwatch) stop(now time.Time) {
	if s.runs {
		s.sum += max(0, now.Sub(s.since))
		s.runs = false
	}
}

func (s *stopwatch) elapsed(now time.Time) time.Duration {
	if s.runs {
		return s.sum + max(0, now.Sub(s.since))
	}
	return s.sum
}

// seconds writes a duration for people: "7 seconds", "1 second", "1.5 seconds".
func seconds(d time.Duration) string {
	s := strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.1f", d.Seconds()), "0"), ".")
	if s == "1" {
		return "1 second"
	}
	return s + " seconds"
}
