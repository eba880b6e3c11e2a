package report_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"regexp"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/scoring/report"
)

// gallery holds a plot of every kind that the reports use, from invented data.
func gallery() report.Report {
	rng := rand.New(rand.NewPCG(5, 5))
	nan := math.NaN()

	trend := report.Plot{Key: "trend", Title: "Value first: error over time", XTitle: "sitting", YTitle: "median ΔE00",
		Bands: []report.Band{{From: 0, To: 0.8, Name: "within perceptibility"}, {From: 0.8, To: 1.8, Name: "within acceptability"}}}
	s := report.Series{Name: "median of a sitting", Style: report.LineWithBand}
	for i := range 14 {
		y := 2.6*math.Pow(float64(i+1), -0.35) + 0.15*rng.NormFloat64()
		s.X, s.Y, s.Lo, s.Hi = append(s.X, float64(i+1)), append(s.Y, y), append(s.Lo, y-0.3), append(s.Hi, y+0.35)
	}
	s.Lo[6], s.Hi[6] = nan, nan
	trend.Series = []report.Series{s}

	axes := report.Plot{Key: "axes", Title: "Bias over time", XTitle: "sitting", YTitle: "answer − target"}
	for i, name := range []string{"value", "chroma", "hue"} {
		s := report.Series{Name: name, Style: report.LineWithBand}
		for j := range 10 {
			y := []float64{0.9, -0.2, 0.1}[i] + 0.2*rng.NormFloat64()
			s.X, s.Y, s.Lo, s.Hi = append(s.X, float64(j+1)), append(s.Y, y), append(s.Lo, y-0.25), append(s.Hi, y+0.25)
		}
		axes.Series = append(axes.Series, s)
	}

	curve := report.Plot{Key: "curve", Title: "Perceptibility", XTitle: "ΔE00 shown", YTitle: "share called different",
		Rules: []report.Rule{{At: 1.12, Upright: true, Name: "this person 1.1"}, {At: 0.8, Upright: true, Name: "published 0.8"}}}
	line, points := report.Series{Name: "fitted curve", Style: report.Line}, report.Series{Name: "answers", Style: report.Points}
	for x := 0.0; x <= 3; x += 0.05 {
		line.X, line.Y = append(line.X, x), append(line.Y, 0.2+0.78/(1+math.Exp(-(x-1.12)/0.3)))
	}
	for x := 0.25; x <= 3; x += 0.25 {
		points.X, points.Y = append(points.X, x), append(points.Y, math.Min(1, 0.2+0.78/(1+math.Exp(-(x-1.12)/0.3))+0.08*rng.NormFloat64()))
		points.Weight = append(points.Weight, float64(1+rng.IntN(30)))
	}
	curve.Series = []report.Series{line, points}

	agreement := report.Plot{Key: "agreement", Title: "Two readers: difference against mean", XTitle: "mean of both", YTitle: "first − second",
		Rules: []report.Rule{{At: 0.3, Name: "mean 0.3"}, {At: 1.9, Name: "upper limit 1.9"}, {At: -1.3, Name: "lower limit −1.3"}}}
	both := report.Series{Name: "items", Style: report.Points}
	for range 40 {
		both.X, both.Y = append(both.X, 70+8*rng.NormFloat64()), append(both.Y, 0.3+0.8*rng.NormFloat64())
	}
	agreement.Series = []report.Series{both}

	boxes := func(n int, title string) report.Plot {
		p := report.Plot{Key: fmt.Sprint("boxes", n), Title: title, XTitle: "learner", YTitle: "ΔE00",
			Bands: []report.Band{{From: 0, To: 1.8, Name: "within acceptability"}}}
		for i := range n {
			m := 1 + rng.Float64()*1.5
			p.XNames = append(p.XNames, fmt.Sprintf("Simulated %02d", i+1))
			p.Series = append(p.Series, report.Series{Style: report.Box, X: []float64{float64(i)}, Y: []float64{m * 0.2, m * 0.7, m, m * 1.5, m * 2.6}})
		}
		return p
	}

	heat := report.Plot{Key: "confusion", Title: "Value group: best (down) and taken (across)", Matrix: &report.Matrix{
		RowTitle: "best group", ColumnTitle: "group taken",
		Rows: []string{"L91", "L86", "L82", "L78", "L74", "L70", "L66", "L63", "L60"}, Columns: []string{"L91", "L86", "L82", "L78", "L74", "L70", "L66", "L63", "L60"}}}
	for i := range 9 {
		row := make([]float64, 9)
		for j := range 9 {
			row[j] = math.Round(60 * math.Exp(-1.1*math.Abs(float64(i-j))))
		}
		heat.Matrix.Values = append(heat.Matrix.Values, row)
	}
	heat.Matrix.Values[3][7] = nan

	table := &report.Table{Columns: []report.Column{{Key: "name", Title: "tab", Left: true}, {Key: "shown", Title: "as shown", Left: true}},
		Rows: [][]report.Cell{{report.Text("L78 C16 h86"), report.Swatch(colour.SRGB{R: 0xd5, G: 0xbf, B: 0xa3})}, {report.Text(`<script>alert("x")</script>`), report.Empty{}}}}

	r := sample()
	r.Title = "Every plot, from invented data"
	r.Sections = append(r.Sections,
		report.Section{Key: "gallery", Title: "Plots", Plots: []report.Plot{trend, axes, curve, agreement, boxes(8, "A small class"), boxes(30, "A class of thirty"), heat,
			{Key: "empty", Title: "Nothing to draw", XTitle: "x", YTitle: "y"}}},
		report.Section{Key: "tabs", Title: `Tabs & <b>"names"</b>`, Table: table, Notes: []string{"<i>no markup</i>"}})
	return r
}

func TestHTMLGolden(t *testing.T) {
	golden(t, "gallery.html", write(t, gallery(), report.FormatHTML, 0))
}

func TestHTMLStandsForItselfAndEscapes(t *testing.T) {
	got := string(write(t, gallery(), report.FormatHTML, 0))
	if path := os.Getenv("SHADEDRILL_GALLERY"); path != "" { // to look at it
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, bad := range []string{"<script", "<b>", "<i>", "\x1b", "NaN", "Inf", "src=", "@import", "url(", "<link", "ZgotmplZ"} {
		if strings.Contains(got, bad) {
			t.Errorf("the page contains %q", bad)
		}
	}
	// The one address is the name of the SVG language, which nothing loads.
	if rest := strings.ReplaceAll(got, "http://www.w3.org/2000/svg", ""); strings.Contains(rest, "http://") || strings.Contains(rest, "https://") {
		t.Error("the page names an address")
	}
	for _, want := range []string{"default-src 'none'", "For education only.", "&lt;script&gt;", "needs at least 6 attempts", `content="width=device-width`, "@media print"} {
		if !strings.Contains(got, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	for _, id := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(got, -1) {
		if !strings.Contains(got, `id="`+id[1]+`"`) {
			t.Errorf("a footnote mark points to %q, which is not there", id[1])
		}
	}
}

// Every picture is well-formed XML whatever the plot holds.
func TestSVGIsWellFormed(t *testing.T) {
	hostile := "<&\"'>\x1b[31m\u202e" + strings.Repeat("long ", 30)
	nan, inf := math.NaN(), math.Inf(1)
	plots := []report.Plot{
		{},
		{Title: hostile, XTitle: hostile, YTitle: hostile, XNames: []string{hostile, ""}, Bands: []report.Band{{From: -inf, To: inf, Name: hostile}}, Rules: []report.Rule{{At: nan, Name: hostile}, {At: inf, Upright: true}},
			Series: []report.Series{{Name: hostile, X: []float64{0, 1, 2}, Y: []float64{nan, inf}}, {Style: report.Box, X: []float64{0}, Y: []float64{1, 2}}, {Style: report.Box, X: []float64{1}, Y: []float64{1, 1, 1, 1, 1}}}},
		{Series: []report.Series{{X: []float64{3}, Y: []float64{3}}, {Style: report.LineWithBand, X: []float64{1, 2}, Y: []float64{1e300, -1e300}, Lo: []float64{nan}, Hi: []float64{1}}}},
		{Matrix: &report.Matrix{}},
		{Matrix: &report.Matrix{RowTitle: hostile, Rows: []string{hostile}, Columns: []string{hostile, "b"}, Values: [][]float64{{nan, 5, 6}, {1}}}},
	}
	for _, s := range gallery().Sections {
		plots = append(plots, s.Plots...)
	}
	for i, p := range plots {
		got := report.SVG(p)
		d := xml.NewDecoder(strings.NewReader(got))
		for {
			_, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("plot %d: %v\n%s", i, err, got)
			}
		}
		if bytes.ContainsAny([]byte(got), "\x1b\u202e") || strings.Contains(got, "NaN") || strings.Contains(got, "Inf") {
			t.Errorf("plot %d holds what must not be there:\n%s", i, got)
		}
	}
}

// A point is drawn where its numbers say: the picture's own axis labels are the
// ruler.
func TestPointsLieWhereTheAxesSay(t *testing.T) {
	p := report.Plot{Series: []report.Series{{Style: report.Points, X: []float64{0, 5, 10}, Y: []float64{0, 2, 4}}}}
	got := report.SVG(p)
	ticks := map[string][2]float64{}
	for _, m := range regexp.MustCompile(`<text x="([0-9.]+)" y="([0-9.]+)" text-anchor="(end|middle)" font-size="11">([0-9.]+)</text>`).FindAllStringSubmatch(got, -1) {
		var x, y float64
		fmt.Sscan(m[1], &x)
		fmt.Sscan(m[2], &y)
		ticks[m[3]+m[4]] = [2]float64{x, y}
	}
	circles := regexp.MustCompile(`<circle cx="([0-9.]+)" cy="([0-9.]+)"`).FindAllStringSubmatch(got, -1)
	if len(circles) != 3 {
		t.Fatalf("%d points drawn, want 3:\n%s", len(circles), got)
	}
	for i, want := range []struct{ x, y string }{{"middle0", "end0"}, {"", "end2"}, {"middle10", "end4"}} {
		var x, y float64
		fmt.Sscan(circles[i][1], &x)
		fmt.Sscan(circles[i][2], &y)
		if want.x != "" && math.Abs(x-ticks[want.x][0]) > 0.2 {
			t.Errorf("point %d lies at x %.1f, its label at %.1f", i, x, ticks[want.x][0])
		}
		if tick, ok := ticks[want.y]; !ok || math.Abs(y-(tick[1]-4)) > 0.2 {
			t.Errorf("point %d lies at y %.1f, its label at %v (%v)", i, y, tick, ok)
		}
	}
}

// A calendar shows on which days something was done: the others bear no number.
func TestACalendarHasNoZeros(t *testing.T) {
	r := sample()
	m := &report.Matrix{Rows: []string{"Mon", "Tue"}, Columns: []string{"week"}, Values: [][]float64{{0}, {37}}}
	for grey, want := range map[bool]int{true: 1, false: 2} {
		m.Grey = grey
		r.Sections = []report.Section{{Key: "days", Plots: []report.Plot{{Key: "calendar", Title: "Days", Matrix: m}}}}
		if n := len(regexp.MustCompile(`>(0|37)</text>`).FindAllString(string(write(t, r, report.FormatHTML, 0)), -1)); n != want {
			t.Errorf("with grey %v it has %d numbers, want %d", grey, n, want)
		}
	}
}

// A browser would break a flag behind its dashes, and whoever copies the line by eye would
// type two words. What stands beside it is still escaped.
func TestFlagsStayWholeInHTML(t *testing.T) {
	r := report.Report{Title: "Flags", Lead: []string{"only checked displays: --display checked"}, Sections: []report.Section{{Key: "a", Notes: []string{"see --help"}, Table: &report.Table{
		Columns: []report.Column{{Key: "with", Title: "with", Left: true}}, Rows: [][]report.Cell{{report.Text(`practise --learner "<b>"`)}}}}}}
	var out bytes.Buffer
	if err := report.Write(&out, r, report.FormatHTML, report.Layout{}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`<span class="flag">--display</span> checked`, `<span class="flag">--learner</span> &#34;&lt;b&gt;&#34;`, `see <span class="flag">--help</span>`} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("the page does not hold %s", want)
		}
	}
}
