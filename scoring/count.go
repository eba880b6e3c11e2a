package scoring

import "fmt"

// Count writes a number with its noun: "1 answer", "3 answers".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
