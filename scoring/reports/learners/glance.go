package learners

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// Glance is what a learner sees of their progress first.
type Glance struct {
	Summary string // how many answers, from when
	// Now and Before are the distances within which half of the shades lie, of the last
	// three weeks and of a month ago.
	Now, Before scoring.Estimate
	Days        int // practised, of the last twelve weeks
	// Calendar is how many answers each day of the last twelve weeks has, weeks from the
	// oldest, days from Monday; −1 for a day that is still to come.
	Calendar [Weeks][7]int
	Best     string // what was right at the highest level, by exercise
	Bias     string
	Next     string // what to practise
	any      bool   // something was answered
}

// Weeks are those of the calendar.
const Weeks = 12

const (
	nowDays, beforeDays = 21, 56
	// A drill tells of a level from so many judgements on.
	leastForBest = 6
)

// GlanceOf reads it from the book.
func GlanceOf(ctx context.Context, book history.Book, who scoring.LearnerID, now time.Time) (Glance, error) {
	h, err := history.Read(ctx, book, record.Filter{Learner: who})
	if err != nil {
		return Glance{}, err
	}
	g := glance(h, now)
	g.Next, err = nextWords(ctx, book, who, now)
	return g, err
}

func nextWords(ctx context.Context, book history.Book, who scoring.LearnerID, now time.Time) (string, error) {
	day, err := PracticeDay(ctx, book, who, now, now, 0, nil)
	if err != nil {
		return "", err
	}
	if i := day.Plan.Next(); i >= 0 {
		s := day.Plan.Drills[i]
		name := strings.ToLower(history.KindTitle(s.Kind))
		if s.Again() {
			name = "your mistakes in " + name
		}
		return fmt.Sprintf("Next: %s, %s; %s.", name, AboutMinutes(s.Minutes), s.Why()), nil
	}
	return "Today's practice is done. " + TomorrowWords(day), nil
}

func glance(h *history.History, now time.Time) Glance {
	ago := func(days int) time.Time { return now.AddDate(0, 0, -days) }
	g := Glance{any: h.Attempts > 0, Summary: h.Summary(), Bias: "Bias: not enough answers to tell."}
	coloured := history.WithColours(h.Kinds)
	g.Now = history.Distance(coloured, ago(nowDays), now.AddDate(100, 0, 0))
	g.Before = history.Distance(coloured, ago(beforeDays), ago(nowDays))
	g.days(h, now)
	g.best(h)
	switch words := history.BiasWords(history.BiasOfKinds(coloured).Estimates, func(word string, e scoring.Estimate) string {
		// As the summaries of drills have it.
		return strings.Replace(word, "too chromatic", "too strong in chroma", 1) + " " + history.BySize(e)
	}); {
	case words == history.UntoldBias:
	case words != history.NoBias:
		g.Bias = "Bias: your answers are " + words + "."
	case len(h.Kinds) > 1: // one of them may show one, in the table
		g.Bias = "Bias: none beyond chance in all exercises together."
	default:
		g.Bias = "Bias: none beyond chance."
	}
	return g
}

// monday is noon of the Monday so many weeks before that of now.
func monday(now time.Time, weeks int) time.Time {
	year, month, day := now.Date()
	return time.Date(year, month, day-(int(now.Weekday())+6)%7-7*weeks, 12, 0, 0, 0, now.Location())
}

// days fills the calendar.
func (g *Glance) days(h *history.History, now time.Time) {
	first := monday(now, Weeks-1)
	for n := range 7 * Weeks {
		if n > scoring.DaysBetween(first, now) {
			g.Calendar[n/7][n%7] = -1
		}
	}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			n := -scoring.DaysBetween(s.Started, first)
			if n < 0 || n >= 7*Weeks || g.Calendar[n/7][n%7] < 0 {
				continue
			}
			if g.Calendar[n/7][n%7] == 0 {
				g.Days++
			}
			g.Calendar[n/7][n%7] += s.Count()
		}
	}
}

// best says the highest level that went right, exercise by exercise.
func (g *Glance) best(h *history.History) {
	var list []string
	for _, k := range h.Kinds {
		levels, most := len(exercises.Levels(k.ID)), 0
		for _, s := range k.Sittings {
			if l := s.Setup.LevelLike(); l > most && s.Tried.Of >= leastForBest && s.Tried.Right >= 0.75*s.Tried.Of {
				most = l
			}
		}
		if most > 0 {
			list = append(list, fmt.Sprintf("%s %d of %d", strings.ToLower(k.Title), most, levels))
		}
	}
	if g.Best = "Best level so far: none yet; a level counts with three of four right."; len(list) > 0 {
		g.Best = "Best level so far: " + strings.Join(list, ", ") + "."
	}
}

// Distance says how near the shades lie now and a month ago, and what is left to go.
func (g Glance) Distance() string {
	if !g.Now.Defined() {
		// Of enough answers it is told unless the tabs lay too far apart.
		coarse := g.Now.N >= history.FewestShades
		if g.Before.Defined() && coarse {
			return fmt.Sprintf("A month ago half of your shades lay within ΔE00 %.1f; the tabs of the last three weeks lay too far apart to tell.", g.Before.Value)
		}
		if coarse {
			return "How near your shades lie cannot be told yet: the tabs you chose from lay too far apart."
		}
		if g.Before.Defined() {
			return fmt.Sprintf("A month ago half of your shades lay within ΔE00 %.1f; since then too few were taken to tell.", g.Before.Value)
		}
		if g.any {
			return fmt.Sprintf("How near your shades lie can be told from a dozen on; in the last three weeks you took %d.", g.Now.N)
		}
		return "How near your shades lie can be told from a dozen on."
	}
	e := g.Now.Value
	text := fmt.Sprintf("Half of your shades would lie within ΔE00 %s (%.1f to %.1f%s)", scoring.Figure(e), g.Now.Lo, g.Now.Hi, g.Now.RoughWord())
	if g.Before.Defined() {
		text += fmt.Sprintf("; a month ago %.1f (%.1f to %.1f%s)", g.Before.Value, g.Before.Lo, g.Before.Hi, g.Before.RoughWord())
	}
	return text + ". " + scoring.FarFrom(e)
}

// daysWords say on how many days was practised.
func (g Glance) daysWords() string {
	return fmt.Sprintf("Practised on %s of the last twelve weeks.", scoring.Count(g.Days, "day", "days"))
}

// Lines are the glance in sentences.
func (g Glance) Lines() []string {
	lines := []string{g.Summary, g.Distance(), g.daysWords(), g.Best, g.Bias}
	if g.Next != "" {
		lines = append(lines, g.Next)
	}
	return lines
}

// section is the calendar as a picture and the distances as a table.
func (g Glance) section(now time.Time) report.Section {
	t := &report.Table{Columns: []report.Column{
		{Key: "when", Title: "when", Left: true}, {Key: "half_within_dE00", Title: "half within ΔE00", Estimates: true},
		{Key: "to_acceptability", Title: "to 1.8"}, {Key: "to_perceptibility", Title: "to 0.8"},
	}}
	for _, row := range []struct {
		when report.Word
		e    scoring.Estimate
	}{{report.Word{Key: "now", Shown: "the last three weeks"}, g.Now}, {report.Word{Key: "before", Shown: "a month ago"}, g.Before}} {
		cells := []report.Cell{row.when, report.Decimals(row.e, 1)}
		for _, limit := range []float64{scoring.Acceptability.Value, scoring.Perceptibility.Value} {
			cells = append(cells, report.Number{Value: max(0, row.e.Value-limit), Decimals: 1})
		}
		t.Rows = append(t.Rows, cells)
	}
	m := &report.Matrix{RowTitle: "day", ColumnTitle: "week from", Grey: true, Columns: make([]string, Weeks)}
	for w := range Weeks {
		m.Columns[w] = monday(now, Weeks-1-w).Format("2 Jan")
	}
	for d, name := range []string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"} {
		row := make([]float64, Weeks)
		for w := range row {
			if row[w] = float64(g.Calendar[w][d]); row[w] < 0 { // still to come
				row[w] = math.NaN()
			}
		}
		m.Rows, m.Values = append(m.Rows, name), append(m.Values, row)
	}
	var plots []report.Plot
	if g.Days > 0 {
		plots = []report.Plot{{Key: "calendar", Title: "Answers a day, the last twelve weeks", Matrix: m}}
	}
	return report.Section{Key: "glance", Title: "How near, and how often", Table: t, Plots: plots,
		Notes: []string{"Half of the shades: worked out from the bias and the scatter, as if every shade were there to take; so it depends neither on the level nor on the library."}}
}
