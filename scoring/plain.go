package scoring

import "time"

// Plural chooses the word that goes with n.
func Plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Day is a day as people read it.
func Day(t time.Time) string { return t.Format("2 January 2006") }
