package reports_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/simulate"
)

// What a page says in words is what its figures say, and no page says otherwise than
// another, in classes of any size with any number of answers.
func TestWordsAgreeWithFigures(t *testing.T) {
	sizes := [][3]int{{1, 1, 1}, {1, 2, 3}, {2, 3, 8}, {3, 1, 2}, {5, 6, 6}} // people, sittings, answers
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		for people := 1; people <= 30; people += 3 {
			for _, n := range [][2]int{{1, 200}, {2, 40}, {4, 12}, {7, 20}, {12, 16}, {20, 4}} {
				sizes = append(sizes, [3]int{people, n[0], n[1]})
			}
		}
	}
	sheet := reporttest.Sheet(t, "natural")
	test, err := scoring.StandardTest("A", 10)
	if err != nil {
		t.Fatal(err)
	}
	for i, n := range sizes {
		book := record.NewMemory()
		form := recordtest.DrawnForm(t, test, byte(i+1))
		form.Levels = scoring.UsualCuts(test)
		p := simulate.Plan{Learners: n[0], Sittings: n[1], Items: n[2], Seed: uint64(i) + 3, From: time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC),
			Setup: exercises.Setup{Kind: exercises.ValueFirst, Sheet: sheet, Adaptive: i%2 == 0},
			Class: &simulate.Class{Name: "Monday group", Test: form, Pass: scoring.PassMark{Rule: scoring.PassMedian, Value: 2}}}
		if err := p.Fill(context.Background(), book, p.Invent(), nil); err != nil {
			t.Fatal(err)
		}
		class, err := book.ClassByName(context.Background(), "Monday group")
		if err != nil {
			t.Fatal(err)
		}
		sessions(t, book, class, i)
		name := fmt.Sprintf("%d people, %d sittings of %d", n[0], n[1], n[2])
		pages := map[string]report.Report{}
		everyReport(t, book, class, p.From.AddDate(0, 0, 3*n[1]), func(of string, r report.Report, err error) {
			if err != nil {
				t.Errorf("%s, %s: %v", name, of, err)
				return
			}
			reporttest.Sound(t, name+", "+of, r)
			agree(t, name+", "+of, r)
			if _, twice := pages[of]; !twice {
				pages[of] = r
			}
		})
		agreeAcross(t, name, pages, n[1] < 4)
	}
}

// sessions are two that the class took, with people of their own biases.
func sessions(t *testing.T, b record.Store, class scoring.Class, seed int) {
	t.Helper()
	ctx := context.Background()
	people, err := b.Roster(ctx, class.ID)
	if err != nil {
		t.Fatal(err)
	}
	for s, shown := range []int{1, 2} {
		kind, _ := exercises.ByID(exercises.ValueFirst)
		at := time.Date(2026, 1, 4+s, 0, 0, 0, 0, time.UTC)
		asked, err := b.AddPanel(ctx, record.Panel{Name: fmt.Sprintf("Round %d", s+1), At: at, Setup: exercises.Setup{Kind: kind.ID(), Version: kind.Version(), Seed: uint64(s) + 9,
			Count: 1 + 4*seed%9, Repeats: shown, Silent: true, Viewing: exercises.DefaultViewing(), Sheet: reporttest.Sheet(t, "natural")}})
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(uint64(seed), uint64(s)))
		for _, who := range people[:min(len(people), 5)] {
			d, err := record.Take(ctx, b, asked.Set(), who, scoring.DisplayCheck{}, func() time.Time { return at.Add(time.Hour) })
			if err != nil {
				t.Fatal(err)
			}
			eye := observer.Observer{BiasL: 1.5 * rng.NormFloat64(), BiasC: rng.NormFloat64(), BiasH: rng.NormFloat64(), Noise: 0.3 + rng.Float64()}
			for {
				trial, ok := d.Trial()
				if !ok {
					break
				}
				if _, _, err := d.Answer(ctx, kind.Simulate(trial, d.Sitting().Setup, eye, rng)); err != nil {
					t.Fatal(err)
				}
			}
			if err := d.End(ctx, false); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// biasWords is what three estimates say, told anew.
func biasWords(t testing.TB, table *report.Table, row int) (words []string, told bool) {
	t.Helper()
	for _, a := range history.Axes {
		e := reporttest.Estimate(t, table, row, a.Key)
		if !e.HasInterval() || e.Lo == e.Hi {
			continue
		}
		told = true
		switch {
		case e.Lo > 0:
			words = append(words, a.Above)
		case e.Hi < 0:
			words = append(words, a.Below)
		}
	}
	return words, told
}

// saysBias holds a sentence about a bias against the estimates.
func saysBias(said string, words []string, told bool) string {
	said = strings.Replace(said, "too strong in chroma", "too chromatic", 1) // a learner's page has plainer words
	for _, a := range history.Axes {
		for _, w := range []string{a.Above, a.Below} {
			if named := strings.Contains(said, w); named != slices.Contains(words, w) {
				return fmt.Sprintf("%q, yet the intervals say %q", said, words)
			}
		}
	}
	switch {
	case len(words) > 0:
	case told && !strings.Contains(said, history.NoBias), !told && strings.Contains(said, "none"):
		return fmt.Sprintf("%q, where intervals tell: %v", said, told)
	}
	return ""
}

func text(t testing.TB, table *report.Table, row int, column string) string {
	t.Helper()
	return report.Words(reporttest.Cell(t, table, row, column))
}

func has(table *report.Table, columns ...string) bool {
	for _, key := range columns {
		if !slices.ContainsFunc(table.Columns, func(c report.Column) bool { return c.Key == key }) {
			return false
		}
	}
	return true
}

var fewShades = regexp.MustCompile(`\b[1-4] shared item`)

// agree holds the words of a report against its own figures.
func agree(t *testing.T, name string, r report.Report) {
	t.Helper()
	wrong := func(format string, args ...any) {
		t.Helper()
		t.Errorf("%s: %s", name, fmt.Sprintf(format, args...))
	}
	lead := strings.Join(r.Lead, "\n")
	// Of a session of fewer shades nothing is said of anybody's bias.
	few := fewShades.MatchString(lead)
	sections := map[string]*report.Table{}
	for _, s := range r.Sections {
		if s.Table == nil {
			continue
		}
		sections[s.Key] = s.Table
		for row := range s.Table.Rows {
			if has(s.Table, "bias_L", "bias_C", "bias_H", "bias") {
				words, told := biasWords(t, s.Table, row)
				said := text(t, s.Table, row, "bias")
				if few && said == history.UntoldBias {
					continue
				}
				if why := saysBias(said, words, told); why != "" {
					wrong("%s: %s", s.Key, why)
				}
			}
			if has(s.Table, "slope", "trend", "p") {
				agreeTrend(wrong, reporttest.Estimate(t, s.Table, row, "slope"), text(t, s.Table, row, "trend"))
			}
			if has(s.Table, "change", "verdict") {
				if e, ok := reporttest.Cell(t, s.Table, row, "change").(report.Estimated); ok {
					agreeChange(wrong, e.Estimate, text(t, s.Table, row, "verdict"))
				}
			}
		}
	}
	if effect := sections["learners"]; effect != nil && has(effect, "verdict") {
		improved := 0
		for row := range effect.Rows {
			if text(t, effect, row, "verdict") == "improved" {
				improved++
			}
		}
		if strings.Contains(lead, "improved beyond their own uncertainty") && !strings.Contains(lead, fmt.Sprintf("%d of ", improved)) {
			wrong("%d improved in the table, and on top %q", improved, lead)
		}
		if change := sections["change"]; len(change.Rows) > 0 && text(t, change, 0, "who") == "those who stayed" {
			e := reporttest.Estimate(t, change, 0, "change")
			first := r.Lead[0]
			if shrank := e.HasInterval() && e.Hi < 0; shrank != strings.Contains(first, "shrank") {
				wrong("%q, where the change is %v to %v", first, e.Lo, e.Hi)
			}
			if grew := e.HasInterval() && e.Lo > 0; grew != strings.Contains(first, "grew") {
				wrong("%q, where the change is %v to %v", first, e.Lo, e.Hi)
			}
		}
	}
	if rows, details := sections["learners"], sections["details"]; rows != nil && details != nil {
		agreeClass(t, wrong, lead, rows, details)
	}
	if next, bias := sections["next"], sections["bias"]; next != nil && bias != nil && !few {
		agreePanel(t, wrong, lead, next, bias)
	}
	if result := sections["result"]; result != nil {
		agreeCertificate(t, wrong, r, result)
	}
	if bias, glance := sections["bias"], sections["glance"]; bias != nil && glance != nil && len(bias.Rows) > 0 {
		row := slices.IndexFunc(bias.Rows, func(row []report.Cell) bool {
			return row[0] == report.Cell(report.Word{Key: "all", Shown: "all exercises"})
		})
		if row < 0 && len(bias.Rows) == 1 {
			row = 0
		}
		for _, line := range r.Lead {
			if strings.HasPrefix(line, "Bias:") && row >= 0 {
				words, told := biasWords(t, bias, row)
				if why := saysBias(line, words, told); why != "" {
					wrong("on top: %s", why)
				}
			}
		}
	}
}

func agreeTrend(wrong func(string, ...any), slope scoring.Estimate, word string) {
	switch {
	case !slope.HasInterval():
		if word != "cannot be told yet" && word != "not yet known" {
			wrong("the trend is %q, where the change has no interval", word)
		}
	case strings.Contains(word, "grow") && !(slope.Value > 0 && slope.Lo >= 0), strings.Contains(word, "shrink") && !(slope.Value < 0 && slope.Hi <= 0),
		strings.HasPrefix(word, "no trend") && !slope.Covers(0):
		wrong("the trend is %q, where the change is %.4f (%.4f to %.4f) of %d", word, slope.Value, slope.Lo, slope.Hi, slope.N)
	}
}

func agreeChange(wrong func(string, ...any), change scoring.Estimate, verdict string) {
	ok := true
	switch verdict {
	case "improved":
		ok = change.HasInterval() && change.Hi < 0
	case "got worse":
		ok = change.HasInterval() && change.Lo > 0
	case "no change beyond chance":
		ok = change.Covers(0)
	case "cannot be told":
		ok = !change.HasInterval()
	}
	if !ok {
		wrong("%q, where the change is %v to %v", verdict, change.Lo, change.Hi)
	}
}

// agreeClass holds the rows of a class review against the numbers behind them.
func agreeClass(t *testing.T, wrong func(string, ...any), lead string, rows, details *report.Table) {
	t.Helper()
	flagged := 0
	for row := range rows.Rows {
		who := text(t, rows, row, "learner")
		if text(t, details, row, "learner") != who {
			t.Fatalf("%s stands beside %s", who, text(t, details, row, "learner"))
		}
		words, told := biasWords(t, details, row)
		if why := saysBias(text(t, rows, row, "bias"), words, told); why != "" {
			wrong("%s: %s", who, why)
		}
		trend := text(t, rows, row, "trend")
		if trend != "perhaps growing" {
			agreeTrend(wrong, reporttest.Estimate(t, details, row, "slope"), trend)
		}
		flag, limit := text(t, rows, row, "flag"), scoring.Acceptability.Value
		if flag != "" {
			flagged++
		}
		if (trend == "errors grow") != strings.Contains(flag, "errors grow") {
			wrong("%s: trend %q, flag %q", who, trend, flag)
		}
		size, known := reporttest.Cell(t, details, row, "bias_all").(report.Number)
		if bound, ok := reporttest.Cell(t, details, row, "bias_all").(report.Word); ok {
			v, err := strconv.ParseFloat(bound.Key, 64)
			size, known = report.Number{Value: v}, err == nil && strings.HasPrefix(bound.Shown, "at least ")
		}
		if known && (size.Value > limit) != strings.Contains(flag, "beyond acceptability: too") {
			wrong("%s: a bias of %v, flag %q", who, size.Value, flag)
		}
		if known && len(words) == 0 && size.Value != 0 || !known && len(words) > 0 {
			wrong("%s: biases %q and in all %v", who, words, size.Value)
		}
		if e := reporttest.Estimate(t, rows, row, "median_dE00"); strings.Contains(flag, "scatter") && !(e.Lo > limit) {
			wrong("%s: flag %q, median %v to %v", who, flag, e.Lo, e.Hi)
		}
	}
	if flagged > 0 && !strings.Contains(lead, fmt.Sprintf("%d of %d need", flagged, len(rows.Rows))) || flagged == 0 && !strings.Contains(lead, "needs a look") {
		wrong("%d are flagged, and on top %q", flagged, lead)
	}
	if len(rows.Rows) == 1 && strings.Contains(lead, "no bias worth correcting") {
		wrong("of one learner: %q", lead)
	}
}

// agreePanel holds the advice of a session and its second sentence against the biases.
func agreePanel(t *testing.T, wrong func(string, ...any), lead string, next, bias *report.Table) {
	t.Helper()
	half := scoring.Perceptibility.Value / 2
	for row := range next.Rows {
		who, advice := text(t, next, row, "person"), text(t, next, row, "next")
		worst := 0.0
		for _, a := range history.Axes {
			e := reporttest.Estimate(t, bias, row, a.Key)
			if e.HasInterval() && e.Lo < e.Hi && !e.Covers(0) {
				worst = math.Max(worst, math.Abs(e.Value))
			}
		}
		_, told := biasWords(t, bias, row)
		switch {
		case worst > half && !(strings.HasPrefix(advice, "answers are too") && strings.Contains(advice, fmt.Sprintf("%.1f", worst))),
			worst <= half && strings.HasPrefix(advice, "answers are too"), !told && strings.HasPrefix(advice, "no bias"):
			wrong("%s: %q, where the largest bias is %v", who, advice, worst)
		case len(next.Rows) > 1 && len(next.Rows) < 6 && (worst > half) != strings.Contains(lead, who+" value (") && (worst > half) != strings.Contains(lead, who+" chroma (") && (worst > half) != strings.Contains(lead, who+" hue ("):
			wrong("%s: a bias of %v, and on top %q", who, worst, lead)
		case strings.Contains(lead, "nobody has a bias") && worst > half:
			wrong("%s: a bias of %v, and on top %q", who, worst, lead)
		}
	}
}

// agreeCertificate holds level, bands and words of a certificate against its numbers.
func agreeCertificate(t *testing.T, wrong func(string, ...any), r report.Report, result *report.Table) {
	t.Helper()
	share := reporttest.Cell(t, result, 0, "result").(report.Estimated)
	level, _ := scoring.MatchCuts.Classify(share.Estimate, "items")
	said := text(t, result, 0, "meaning")
	if !strings.HasPrefix(said, string(level)) && said != "no level" {
		wrong("%q of %v", said, share.Value)
	}
	if len(r.Sign) > 0 {
		shown := strings.Fields(report.Words(share))[0]
		if want := fmt.Sprintf("%s: %s %% right.", strings.ToUpper(string(level[:1]))+string(level[1:]), shown); !strings.HasPrefix(r.Lead[0], want) {
			wrong("%q, and in the table %s", r.Lead[0], report.Words(share))
		}
	}
	if e := reporttest.Estimate(t, result, 1, "result"); e.Defined() && text(t, result, 1, "meaning") != scoring.BandOf(e.Value).Words() {
		wrong("%q of %v", text(t, result, 1, "meaning"), e.Value)
	}
	for i, a := range history.Axes {
		e, said := reporttest.Estimate(t, result, 2+i, "result"), text(t, result, 2+i, "meaning")
		named := e.HasInterval() && e.Lo < e.Hi && !e.Covers(0)
		if named != (said == a.Above || said == a.Below) || e.Defined() && !named && !strings.Contains(said, map[bool]string{true: "no bias", false: "cannot be told"}[history.Tells(e)]) {
			wrong("%q of %v (%v to %v)", said, e.Value, e.Lo, e.Hi)
		}
	}
}

// agreeAcross holds pages against each other: the class review says of a learner what the
// learner's own pages say.
func agreeAcross(t *testing.T, name string, pages map[string]report.Report, practiceAlone bool) {
	t.Helper()
	review := pages["class review"]
	rows, details := reporttest.Section(t, review, "learners"), reporttest.Section(t, review, "details")
	list := reporttest.Section(t, pages["tests"], "exams")
	for row := range rows.Rows {
		who := text(t, rows, row, "learner")
		for other := range list.Rows {
			if text(t, list, other, "learner") != who {
				continue
			}
			want := fmt.Sprintf("%s, %s %%", text(t, list, other, "class"), strings.Fields(text(t, list, other, "right"))[0])
			if said := text(t, rows, row, "exam_class"); said != want {
				t.Errorf("%s, %s: %q in the review, %q among the tests", name, who, said, want)
			}
		}
		if !practiceAlone {
			continue
		}
		own := reporttest.Section(t, pages["progress of "+who], "bias")
		if len(own.Rows) != 1 {
			continue
		}
		for _, a := range history.Axes {
			here, there := reporttest.Estimate(t, details, row, a.Key), reporttest.Estimate(t, own, 0, a.Key)
			if here.Defined() && (here.Value != there.Value || here.Lo != there.Lo && here.HasInterval()) {
				t.Errorf("%s, %s, %s: %v in the review, %v in the progress", name, who, a.Key, here, there)
			}
		}
	}
}
