package sqlite_test

import (
	"context"
	"database/sql"
	"os"
	"path/filepath"
	"testing"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/record/sqlite"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/simulate"
)

// BenchmarkClassReview reviews a class, every mark computed from the record, and
// in the same run has SQLite count and average the same rows, which is the least
// that anything that looks at them all can take. With SHADEDRILL_HEAVY=1 the class
// has 1,000 learners with 1,000,000 answers, and the making of its books takes
// minutes. In the second class each has also sat a threshold drill, an assignment
// and a test, and some stop practising.
func BenchmarkClassReview(b *testing.B) {
	library, err := tabs.Load("natural")
	if err != nil {
		b.Fatal(err)
	}
	sheet := tabs.NewSheet(library, nil)
	plan := simulate.Plan{Learners: 20, Sittings: 25, Items: 20, Seed: 7, Improve: true, From: time.Date(2025, 1, 6, 0, 0, 0, 0, time.UTC),
		Setup: exercises.Setup{Kind: exercises.ValueFirst, Targets: exercises.NaturalTargets, Viewing: exercises.DefaultViewing(), Sheet: sheet}}
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		plan.Learners, plan.Sittings = 1000, 50
	}
	b.Run("value-first", func(b *testing.B) { benchmarkClassReview(b, plan) })
	form := recordtest.Form(b, "A", 1, 20, sheet, exercises.ValueFirst)
	plan.Improve = false
	plan.Class = &simulate.Class{Name: "all", Test: form, Pass: scoring.PassMark{Rule: scoring.PassMedian, Value: 2}}
	b.Run("thresholds", func(b *testing.B) { benchmarkClassReview(b, plan) })
}

func benchmarkClassReview(b *testing.B, plan simulate.Plan) {
	ctx := context.Background()
	path := filepath.Join(b.TempDir(), "class.db")
	book, err := sqlite.Open(ctx, path)
	if err != nil {
		b.Fatal(err)
	}
	defer book.Close()
	people := plan.Invent()
	if err := book.Merge(ctx, func(m record.Book) error { return plan.Fill(ctx, m, people, nil) }); err != nil {
		b.Fatal(err)
	}
	class := classes.Scope{Name: "all"}
	for _, p := range people {
		class.People = append(class.People, p.Learner)
	}
	plain, err := sql.Open("sqlite", "file:"+path+"?mode=ro")
	if err != nil {
		b.Fatal(err)
	}
	defer plain.Close()

	var reviewed, counted time.Duration
	for b.Loop() {
		start := time.Now()
		answers := 0
		rows, err := plain.QueryContext(ctx, "SELECT s.learner, count(*), max(a.at), avg(a.total), avg(a.target = a.answer) FROM attempt a JOIN sitting s ON s.id = a.sitting GROUP BY s.learner")
		if err != nil {
			b.Fatal(err)
		}
		for rows.Next() {
			var learner, n, at int64
			var total, same float64
			if err := rows.Scan(&learner, &n, &at, &total, &same); err != nil {
				b.Fatal(err)
			}
			answers += int(n)
		}
		if err := rows.Err(); err != nil || answers > plan.Answers() || answers < plan.Answers() && plan.Class == nil {
			b.Fatalf("%d answers counted, %v", answers, err)
		}
		counted += time.Since(start)

		start = time.Now()
		c, err := classes.Read(ctx, book, class, record.Filter{})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := c.Report("flag"); err != nil {
			b.Fatal(err)
		}
		reviewed += time.Since(start)
		sum := 0
		for _, r := range c.Rows {
			sum += r.Answers
		}
		if sum != answers {
			b.Fatalf("%d answers reviewed", sum)
		}
	}
	b.ReportMetric(reviewed.Seconds()/counted.Seconds(), "times-plain-SQL")
	b.ReportMetric(counted.Seconds()/float64(b.N)*1e3, "plain-SQL-ms")
	b.ReportMetric(reviewed.Seconds()/float64(b.N)*1e3, "review-ms")
}
