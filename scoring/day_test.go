package scoring

import (
	"testing"
	"time"
	_ "time/tzdata"
)

// Clocks that go forward or back at midnight, at one and at two (IANA time zone database,
// as Go carries it): every day begins on that day, ends where the next begins, and no day
// is left out or there twice.
func TestDaysHaveABeginningWhereClocksAreChanged(t *testing.T) {
	for _, name := range []string{"UTC", "Europe/London", "Atlantic/Azores", "America/Havana", "America/Santiago", "Africa/Cairo", "Asia/Beirut", "Pacific/Auckland", "Australia/Lord_Howe"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		end := time.Time{}
		for n := range 3 * 366 {
			noon := time.Date(2022, 1, 1+n, 12, 0, 0, 0, zone)
			start := StartOfDay(noon)
			if start.Day() != noon.Day() || !StartOfDay(start).Equal(start) || start.Add(-time.Millisecond).Day() == noon.Day() {
				t.Errorf("%s: %v begins at %v", name, noon, start)
			}
			if n > 0 && !start.Equal(end) {
				t.Errorf("%s: %v begins at %v, and the day before ends at %v", name, noon, start, end)
			}
			for _, hour := range []time.Duration{0, 30 * time.Minute, 90 * time.Minute, 22 * time.Hour} {
				at := start.Add(hour)
				if got := DaysBetween(at, NextDay(at)); got != 1 || !NextDay(at).After(at) {
					t.Errorf("%s: after %v comes %v, %d days later", name, at, NextDay(at), got)
				}
			}
			end = NextDay(noon)
			if n := DaysBetween(EndOfDay(noon), end); n != 1 {
				t.Errorf("%s: %v is %d days after %v", name, end, n, EndOfDay(noon))
			}
		}
	}
}

// The day is that of the desk: the book's UTC is another one for half of the world.
func TestDaysAreThoseOfTheDesk(t *testing.T) {
	was := time.Local
	t.Cleanup(func() { time.Local = was })
	at := time.Date(2026, 11, 29, 11, 30, 0, 0, time.UTC)
	for zone, want := range map[string]string{"UTC": "29 November 2026", "Pacific/Auckland": "30 November 2026", "Pacific/Honolulu": "29 November 2026"} {
		var err error
		if time.Local, err = time.LoadLocation(zone); err != nil {
			t.Fatal(err)
		}
		if got := Day(at); got != want {
			t.Errorf("in %s it says %s", zone, got)
		}
		if n := DaysBetween(at, at.Local()); n != 0 {
			t.Errorf("in %s the same moment is %d days later", zone, n)
		}
	}
}
