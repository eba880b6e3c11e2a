package scoring

import "time"

// Days are those of the calendar, in the zone of the moment: from one midnight to the
// next, whether the clocks are changed between them or not.

// StartOfDay is the first moment of the day of t. Where clocks go forward at midnight, as
// in the Azores, Cuba and Chile, there is none, and the day begins at one.
func StartOfDay(t time.Time) time.Time {
	year, month, day := t.Date()
	start := time.Date(year, month, day, 0, 0, 0, 0, t.Location())
	if start.Day() != day { // an hour too early
		_, start = start.ZoneBounds()
	}
	return start
}

// NextDay is the first moment of the day after that of t.
func NextDay(t time.Time) time.Time {
	year, month, day := t.Date()
	return StartOfDay(time.Date(year, month, day+1, 12, 0, 0, 0, t.Location()))
}

// EndOfDay is the last moment of the day of t that a book can keep.
func EndOfDay(t time.Time) time.Time { return NextDay(t).Add(-time.Millisecond) }

// DaysBetween is how many days of the calendar lie between two moments, as the zone of
// the second has them; below 0 where the first is later.
func DaysBetween(from, to time.Time) int {
	number := func(t time.Time) int64 {
		year, month, day := t.Date()
		return time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / (24 * 60 * 60)
	}
	return int(number(to) - number(from.In(to.Location())))
}
