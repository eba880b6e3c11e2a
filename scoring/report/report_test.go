package report_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/google/go-cmp/cmp"
	"github.com/olekukonko/tablewriter/pkg/twwidth"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
)

var update = flag.Bool("update", false, "write the golden files anew")

var third = 1 / float64(len("abc"))

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", name, diff)
	}
}

// sample has every kind of cell, shared and several warnings, hostile names, a
// section without rows and two tables that share a column.
func sample() report.Report {
	few := "needs at least 6 attempts"
	est := func(v, lo, hi float64, n int, w ...string) report.Estimated {
		return report.Estimated{Estimate: scoring.Interval(v, lo, hi, 0.95, n, w...), Decimals: 2}
	}
	share := report.Estimated{Estimate: scoring.Interval(0.75, 0.5061, 0.8982, 0.95, 16), Percent: true}
	bias := est(-0.434, -0.751, -0.11, 40)
	bias.Signed = true
	return report.Report{
		Title: "Progress of \x1b[31mRed\u202e (simulated)",
		Lead:  []string{"Forty answers in two sittings."},
		Sections: []report.Section{
			{
				Key: "accuracy", Title: "How large the errors are",
				Table: &report.Table{
					Columns: []report.Column{
						{Key: "kind", Title: "exercise", Left: true}, {Key: "n", Title: "answers"},
						{Key: "mean_dE00", Title: "median ΔE00"}, {Key: "accepted", Title: "accepted"},
						{Key: "bias", Title: "bias"}, {Key: "band", Title: "band", Left: true},
					},
					Rows: [][]report.Cell{
						{report.Text("=2+2"), report.Count(40), est(1.234, 1.05, 1.44, 40), share, bias, report.Word{Key: "acceptable", Shown: "within acceptability"}},
						{report.Text("thirds\nof a tooth"), report.Count(3), est(2.5, 1, 4, 3, few), report.Estimated{Estimate: scoring.Undefined(0, "no answers yet"), Percent: true},
							report.Estimated{Estimate: scoring.Point(0, 3, few, "all alike"), Decimals: 2, Signed: true}},
					},
				},
				Notes: []string{"A bias below 0 is too dark."},
			},
			{
				Key: "regions", Title: "Where",
				Table: &report.Table{
					Columns: []report.Column{{Key: "region", Title: "region", Left: true}, {Key: "n", Title: "answers"}, {Key: "whiter", Title: "ΔWI_D"}, {Key: "right", Title: "right", Left: true}},
					Rows: [][]report.Cell{
						{report.Text("L78 C16"), report.Count(2), report.Number{Value: third, Decimals: 1, Signed: true}, report.Yes(true)},
						{report.Text("日本 @x"), report.Count(2), report.Number{Value: math.NaN(), Decimals: 1}, report.Yes(false)},
					},
				},
			},
			{Key: "thresholds", Title: "Thresholds", Table: &report.Table{None: "nothing yet", Columns: []report.Column{{Key: "task", Title: "task", Left: true}, {Key: "threshold", Title: "threshold", Estimates: true}}}},
		},
		Cautions: []string{"For education only."},
	}
}

func write(t *testing.T, r report.Report, f report.Format, width int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := report.Write(&b, r, f, report.Layout{Width: width}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	golden(t, "sample.txt", write(t, sample(), report.FormatText, 0))
	golden(t, "sample-60.txt", write(t, sample(), report.FormatText, 60))
	golden(t, "sample.csv", write(t, sample(), report.FormatCSV, 0))
	golden(t, "sample.json", write(t, sample(), report.FormatJSON, 0))
}

func TestTextFitsAnyPaperAndLosesNothing(t *testing.T) {
	for width := 40; width <= 140; width++ {
		got := string(write(t, sample(), report.FormatText, width))
		for line := range strings.Lines(got) {
			if w := twwidth.Width(strings.TrimSuffix(line, "\n")); w > width {
				t.Fatalf("at width %d a line takes %d cells: %q", width, w, line)
			}
		}
		flat := strings.Join(strings.Fields(got), "")
		for _, want := range []string{"1.23(1.05to1.44)", "−0.43(−0.75to−0.11)", "75(51to90)%", "undefined", "noanswersyet"} {
			if !strings.Contains(flat, want) {
				t.Fatalf("at width %d %q is missing:\n%s", width, want, got)
			}
		}
	}
}

// An interval with fewer than twenty behind it is called rough by every writer, whatever
// the report says of it; one with twenty is not.
func TestRoughIntervalsAreCalledSo(t *testing.T) {
	for _, f := range []report.Format{report.FormatText, report.FormatCSV, report.FormatJSON, report.FormatHTML} {
		for _, c := range []struct {
			e     scoring.Estimate
			rough bool
		}{
			{scoring.Interval(1.2, 0.8, 1.8, 0.95, 19), true}, {scoring.Interval(1.2, 0.8, 1.8, 0.95, 2, "few"), true}, {scoring.AtLeast(2.6, 0.95, 12), true},
			{scoring.Interval(1.2, 0.8, 1.8, 0.95, scoring.FewItems), false}, {scoring.Point(1.2, 5), false}, {scoring.Undefined(5, "no"), false},
		} {
			r := report.Report{Sections: []report.Section{{Key: "s", Table: &report.Table{
				Columns: []report.Column{{Key: "e", Title: "e", Estimates: true}}, Rows: [][]report.Cell{{report.Estimate(c.e)}}}}}}
			if got := string(write(t, r, f, 100)); strings.Contains(got, "the interval is rough") != c.rough {
				t.Errorf("%s, %+v: %s", f, c.e, got)
			}
		}
	}
}

func TestNothingUndefinedIsPrintedAsANumber(t *testing.T) {
	r := report.Report{Sections: []report.Section{{Key: "s", Table: &report.Table{
		Columns: []report.Column{{Key: "e", Title: "e"}, {Key: "x", Title: "x"}},
		Rows:    [][]report.Cell{{report.Estimated{Estimate: scoring.Undefined(2, "too few")}, report.Number{Value: math.Inf(1)}}},
	}}}}
	for _, f := range report.Formats() {
		got := string(write(t, r, f, 0))
		for _, bad := range []string{"NaN", "Inf", "∞"} {
			if strings.Contains(got, bad) {
				t.Errorf("%s contains %s:\n%s", f, bad, got)
			}
		}
		if !strings.Contains(got, "too few") {
			t.Errorf("%s does not give the reason:\n%s", f, got)
		}
	}
}

func TestCSVIsOneRectangleThatReadersTake(t *testing.T) {
	rows, err := csv.NewReader(bytes.NewReader(write(t, sample(), report.FormatCSV, 0))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if rows[0][0] != "section" || rows[1][0] != "accuracy" || rows[1][2] != "kind" || rows[len(rows)-1][0] != "regions" {
		t.Errorf("sections are not named: %q", rows)
	}
	one := sample()
	one.List, one.Sections = true, one.Sections[2:]
	if got, want := string(write(t, one, report.FormatCSV, 0)), "task,threshold,threshold_lo,threshold_hi,threshold_n,threshold_warnings\n"; got != want {
		t.Errorf("an empty table is %q, want its header %q", got, want)
	}
}

func TestJSONHasOneShape(t *testing.T) {
	r := report.Report{List: true, Title: "T", Sections: sample().Sections[1:2]}
	var is struct {
		Version  int
		Title    string
		Regions  []map[string]any
		Cautions []string
	}
	if err := json.Unmarshal(write(t, r, report.FormatJSON, 0), &is); err != nil {
		t.Fatal(err)
	}
	rows := is.Regions
	if len(rows) != 2 || rows[0]["whiter"] != 0.3333333333 || rows[1]["whiter"] != nil || rows[0]["right"] != true {
		t.Errorf("rows are %v", rows)
	}
	if is.Version != 1 || is.Title != "T" || is.Cautions == nil {
		t.Errorf("a list says of itself %+v", is)
	}
	r.Sections[0].Table.Rows = nil
	if got := string(write(t, r, report.FormatJSON, 0)); !strings.Contains(got, `"regions": []`) {
		t.Errorf("no rows are %q, want []", got)
	}
}

func TestSharesAreOfOneToMachines(t *testing.T) {
	r := report.Report{List: true, Sections: []report.Section{{Key: "s", Table: &report.Table{
		Columns: []report.Column{{Key: "a", Title: "a, %"}, {Key: "b", Title: "b"}},
		Rows:    [][]report.Cell{{report.Share(0.25, 0), report.Percent(scoring.Point(0.75, 4))}},
	}}}}
	for format, want := range map[report.Format]string{report.FormatText: "25  75 %", report.FormatCSV: "0.25,0.75,", report.FormatJSON: `{"a": 0.25, "b": {"value":0.75`, report.FormatHTML: ">25<"} {
		if got := string(write(t, r, format, 0)); !strings.Contains(got, want) {
			t.Errorf("%s has no %s:\n%s", format, want, got)
		}
	}
}

// Half a table says of which row it tells, though no single column tells the rows apart;
// words stay whole as long as there is room for them.
func TestAPartedTableNamesItsRows(t *testing.T) {
	table := &report.Table{Columns: []report.Column{{Key: "set", Title: "set", Left: true}, {Key: "item", Title: "item", Left: true}}}
	for i := range 4 {
		table.Columns = append(table.Columns, report.Column{Key: fmt.Sprint("e", i), Title: "perceptibility/acceptability"})
	}
	for i := range 3 {
		row := []report.Cell{report.Text("assignment"), report.Text(fmt.Sprintf("%03d", i+1))}
		for range 4 {
			row = append(row, report.Estimated{Estimate: scoring.Interval(0.5, -1, 1, 0.95, 9, "few"), Decimals: 2, Signed: true})
		}
		table.Rows = append(table.Rows, row)
	}
	got := string(write(t, report.Report{Sections: []report.Section{{Key: "s", Table: table}}}, report.FormatText, 80))
	parts := strings.Count(got, "assignment  001 ")
	if parts < 2 || strings.Count(got, "assignment  ") != 3*parts || strings.Count(got, "perceptibility/acceptability") != 4 || strings.Count(got, "¹ few") != 1 {
		t.Errorf("the table is\n%s", got)
	}
}

func TestSpreadsheetText(t *testing.T) {
	for in, want := range map[string]string{
		"Ada":             "Ada",
		"=1+1":            "'=1+1",
		"  =1+1":          "'  =1+1",
		"+44 20":          "'+44 20",
		"-2":              "-2",
		"-2.5":            "-2.5",
		"-2+cmd|' /C x'!": "'-2+cmd|' /C x'!",
		"@SUM(A1)":        "'@SUM(A1)",
		"＝1":              "'＝1",
		"\t=1":            "' =1",
		"\r=1":            "' =1",
		"+3":              "+3", // read as the number 3, which runs nothing
		"--3":             "'--3",
		"a;=1+1":          "a;'=1+1",
		"a; =1+1;@b":      "a;' =1+1;'@b",
		"a;\"=1":          "a;'\"=1",
		"'=1":             "''=1",
		"too light; dark": "too light; dark",
		"1=1":             "1=1",
		"":                "",
	} {
		if got := report.Spreadsheet(in); got != want {
			t.Errorf("Spreadsheet(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestUnknownFormatNamesTheOthers(t *testing.T) {
	err := report.Write(&bytes.Buffer{}, sample(), "pdf", report.Layout{})
	hinted, ok := err.(interface{ Hint() string })
	if !ok || !strings.Contains(hinted.Hint(), "csv") {
		t.Errorf("the error %v has no hint that lists the formats", err)
	}
}

func FuzzClean(f *testing.F) {
	for _, s := range []string{"Ada", "\x1b[31m", "a\u202eb", "\xff", "日\u200d本\u0085\u2028", "=x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got := report.Clean(s)
		for _, r := range got {
			if unicode.IsControl(r) || unicode.Is(unicode.Cf, r) && r != '\u200c' && r != '\u200d' {
				t.Fatalf("Clean(%q) = %q keeps %U", s, got, r)
			}
		}
		if report.Clean(got) != got {
			t.Fatalf("Clean is not settled on %q", s)
		}
		table := &report.Table{Columns: []report.Column{{Key: "x", Title: s, Left: true}}, Rows: [][]report.Cell{{report.Text(s)}}}
		r := report.Report{Title: s, Sections: []report.Section{{Key: "k", Title: s, Table: table, Notes: []string{s}}}}
		for _, format := range report.Formats() {
			var b bytes.Buffer
			if err := report.Write(&b, r, format, report.Layout{Width: 20}); err != nil {
				t.Fatal(err)
			}
			if bytes.ContainsAny(b.Bytes(), "\x1b\u202e\u2066") {
				t.Fatalf("%s lets an escape through: %q", format, b.Bytes())
			}
			if format == report.FormatJSON && !json.Valid(b.Bytes()) {
				t.Fatalf("broken JSON: %q", b.Bytes())
			}
			if format == report.FormatCSV {
				if rows, err := csv.NewReader(&b).ReadAll(); err != nil || s != "" && got != "" && len(rows) != 2 {
					t.Fatalf("broken CSV for %q: %v %v", s, rows, err)
				}
			}
		}
	})
}

func BenchmarkCSV(b *testing.B) {
	rows := make([][]report.Cell, 1000)
	for i := range rows {
		rows[i] = []report.Cell{report.Text(fmt.Sprint("learner ", i)), report.Number{Value: float64(i) / 7}}
	}
	r := report.Report{Sections: []report.Section{{Key: "k", Table: &report.Table{Columns: []report.Column{{Key: "a"}, {Key: "b"}}, Rows: rows}}}}
	b.ReportAllocs()
	for b.Loop() {
		var out bytes.Buffer
		if err := report.Write(&out, r, report.FormatCSV, report.Layout{}); err != nil {
			b.Fatal(err)
		}
	}
}

// No writer tells of a zero below zero.
func TestNoZeroIsNegative(t *testing.T) {
	zero := math.Copysign(0, -1)
	r := report.Report{Sections: []report.Section{{Key: "s", Table: &report.Table{Columns: []report.Column{{Key: "x", Title: "x"}, {Key: "y", Title: "y"}},
		Rows: [][]report.Cell{{report.Number{Value: zero, Decimals: 2, Signed: true}, report.Signed(scoring.Interval(-0.001, -0.004, zero, 0.95, 30))}}}}}}
	for _, f := range report.Formats() {
		var b bytes.Buffer
		if err := report.Write(&b, r, f, report.Layout{}); err != nil {
			t.Fatal(err)
		}
		for _, bad := range []string{"−0.00", ",-0,", ": -0,"} {
			if strings.Contains(b.String(), bad) {
				t.Errorf("%s says %q:\n%s", f, bad, b.String())
			}
		}
	}
	if got := report.SignedWords(-0.004); got != "0.00" {
		t.Errorf("−0.004 is %q in a sentence", got)
	}
}
