package scoring

import (
	"strings"
	"time"
)

// Plural chooses the word that goes with n.
func Plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Day is a day as people read it: the one that it was at this desk. The book keeps its
// times in UTC, where the day is another one in the morning of the east and the evening
// of the west.
func Day(t time.Time) string { return t.Local().Format("2 January 2006") }

// Date is the same day in a form that sorts, for lists and tables.
func Date(t time.Time) string { return t.Local().Format(time.DateOnly) }

// Moment is a day and a time with its zone, so that it means the same on every desk.
func Moment(t time.Time) string { return Zoned(t, "2006-01-02 15:04") }

// Zoned is a moment in a layout of one's own, with its zone.
func Zoned(t time.Time, layout string) string {
	return strings.Replace(t.Local().Format(layout+" -07:00"), " +00:00", " UTC", 1)
}
