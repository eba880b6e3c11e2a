package reports_test

import (
	"regexp"
	"slices"
	"testing"
	"time"

	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

// A day in a report is the reader's: at desks that are 25 hours apart no moment has the
// same one.
func TestReportsTellTheReadersDays(t *testing.T) {
	was := time.Local
	t.Cleanup(func() { time.Local = was })
	day := regexp.MustCompile(`\b\d{4}-\d\d-\d\d\b|\b\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)[a-z]* \d{4}\b`)
	seen := 0
	for _, odd := range recordtest.OddBooks() {
		if !slices.Contains([]string{"a roster that changed", "a test of which one item was answered"}, odd.Name) {
			continue
		}
		b := odd.Fill(t, 1)
		told := map[string][]string{} // by report, at the eastern desk
		for _, hours := range []int{14, -11} {
			time.Local = time.FixedZone("", hours*3600)
			n := map[string]int{}
			everyReport(t, b, b.Class, b.Now.Local(), func(name string, r report.Report, err error) {
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				days := day.FindAllString(reporttest.Text(t, r), -1)
				if hours == 14 {
					told[name] = append(told[name], days...)
					return
				}
				for _, d := range days {
					if seen++; told[name][n[name]] == d {
						t.Errorf("%s, %s: %s is the day at both desks", odd.Name, name, d)
					}
					n[name]++
				}
			})
		}
	}
	if seen < 30 {
		t.Errorf("only %d days were read", seen)
	}
}
