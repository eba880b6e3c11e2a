package panels

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/agreement"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/history"
)

// answerPanel enters a session whose answers are colours that no library offers, so
// that nothing but 8-bit rounding stands between the truth and the report.
func answerPanel(t testing.TB, sheet *tabs.Sheet, targets []colour.Lab, people, repeats int, answer func(item, person int) colour.Lab) *panel {
	t.Helper()
	ctx := context.Background()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	book := record.NewMemory()
	must(book.PutSheet(ctx, sheet))
	now := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	asked, err := book.AddPanel(ctx, record.Panel{Name: "Made", At: now, Setup: exercises.Setup{Kind: exercises.ValueFirst, Version: 1, Seed: 1,
		Count: len(targets), Repeats: repeats, Silent: true, Sheet: sheet}})
	must(err)
	for j := range people {
		who, err := book.AddLearner(ctx, scoring.Learner{Name: fmt.Sprintf("Person %02d", j), At: now})
		must(err)
		s := scoring.Sitting{ID: record.NewSittingID(now), Learner: who.ID, Started: now, Within: asked.Set().Ref.String(), Setup: asked.Set().SetupFor(0, who.ID)}
		must(book.StartSitting(ctx, s))
		for n := range len(targets) * repeats {
			i := n % len(targets)
			target, _ := targets[i].SRGB()
			said, fits := answer(i, j).SRGB()
			if !fits {
				t.Fatalf("item %d, person %d: the answer lies outside the gamut", i, j)
			}
			must(book.Append(ctx, scoring.Attempt{Sitting: s.ID, Learner: who.ID, At: now,
				Trial:  exercises.Trial{Kind: exercises.ValueFirst, Version: 1, Ordinal: n, Scene: n, Item: fmt.Sprintf("%03d", i+1), Target: target},
				Answer: exercises.Answer{Colour: &said}}))
		}
		must(book.EndSitting(ctx, s.ID, now, false))
	}
	p, err := read(ctx, book, asked, View{})
	must(err)
	return p
}

// panelRuns is how often a session is repeated: 1,000 times with SHADEDRILL_HEAVY=1.
func panelRuns(few int) int {
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		return 1000
	}
	return few
}

// inBounds checks that 95 % intervals cover the truth in 93–97 % of 1,000 runs and
// more; in fewer not less often than chance explains.
func inBounds(t *testing.T, what string, covered, of int) {
	t.Helper()
	lo, hi := 0.93, 0.97
	if of < 1000 {
		lo, hi = 0.95-3.3*math.Sqrt(0.95*0.05/float64(of)), 1
	}
	share := float64(covered) / float64(of)
	t.Logf("%s: covered in %.1f %% of %d runs", what, 100*share, of)
	if share < lo || share > hi {
		t.Errorf("%s: covered in %.1f %% of %d runs, outside %.1f–%.1f %%", what, 100*share, of, 100*lo, 100*hi)
	}
}

// coverage counts how often an interval covered the truth, and the mean estimate.
type coverage struct {
	covered, of int
	sum         float64
}

func (c *coverage) see(e scoring.Estimate, truth float64) {
	c.of++
	c.sum += e.Value - truth
	if e.Covers(truth) {
		c.covered++
	}
}

// Known biases and noise are found: the interval of each person's bias along each
// axis, and of their repeatability, covers the truth as often as it says.
func TestPanelFindsBiasesAndNoise(t *testing.T) {
	sheet := reporttest.Sheet(t, "natural")
	people := []observer.Observer{{Noise: 1}, {BiasL: 1, BiasC: -0.6, Noise: 0.8}, {BiasH: -1.2, Noise: 1.4}, {BiasC: 0.9, BiasH: 0.4, Noise: 0.6}}
	var bias, repeat [3]coverage
	for run := range panelRuns(60) {
		rng := rand.New(rand.NewPCG(31, uint64(run)))
		targets := make([]colour.Lab, 20)
		for i := range targets {
			shown, _ := colour.LCh{L: 64 + 20*rng.Float64(), C: 12 + 12*rng.Float64(), H: 80 + 14*rng.Float64()}.Lab().SRGB()
			targets[i] = shown.Lab()
		}
		p := answerPanel(t, sheet, targets, len(people), 2, func(i, j int) colour.Lab { return people[j].Perceive(targets[i], rng) })
		for j, who := range people {
			for axis, truth := range []float64{who.BiasL, who.BiasC, who.BiasH} {
				errors := p.errorsOf(j, history.Axes[axis].Of)
				bias[axis].see(p.biasesOf(j)[axis], truth)
				repeat[axis].see(agreement.Repeatability(errors, history.Level).SD, who.Noise)
			}
		}
	}
	for axis := range bias {
		b, r := bias[axis], repeat[axis]
		inBounds(t, "bias in "+history.Axes[axis].Title, b.covered, b.of)
		inBounds(t, "repeatability of "+history.Axes[axis].Title, r.covered, r.of)
		// The standard error of a mean of 20 items answered twice is about 0.15 with
		// this noise; 8-bit steps add no more than a few hundredths.
		if off := b.sum / float64(b.of); math.Abs(off) > 4*0.16/math.Sqrt(float64(b.of))+0.01 {
			t.Errorf("bias in %s is off by %.3f on average", history.Axes[axis].Title, off)
		}
		if off := r.sum / float64(r.of); math.Abs(off) > 4*0.17/math.Sqrt(float64(r.of))+0.03 {
			t.Errorf("repeatability of %s is off by %.3f on average", history.Axes[axis].Title, off)
		}
	}
}

// Known variance components are found: items, people, their interaction and the
// repeats, along lightness, chroma and hue.
func TestPanelFindsVarianceComponents(t *testing.T) {
	sheet := reporttest.Sheet(t, "natural")
	const items, people, repeats = 20, 5, 2
	truth := [3][4]float64{ // standard deviations of item, person, interaction, repeat
		{4, 1, 0.5, 1.2},
		{3, 0.8, 0.5, 1},
		{4, 1.5, 1, 2},
	}
	centre := [3]float64{66, 20, 86} // far from the edges of the gamut
	var icc2, icc3, repeatability, reproducibility, rr, item, categories, differences, limits [3]coverage
	runs := panelRuns(60)
	if runs >= 1000 {
		runs *= 4 // what lies at 96.5 % cannot be told from 97 % by 1,000 runs
	}
	for run := range runs {
		rng := rand.New(rand.NewPCG(32, uint64(run)))
		// Chance is drawn once for every item, person and cell.
		var ofItem [items][3]float64
		var ofPerson [people][3]float64
		var ofCell [items][people][3]float64
		targets := make([]colour.Lab, items)
		for axis := range truth {
			for i := range items {
				ofItem[i][axis] = truth[axis][0] * rng.NormFloat64()
				for j := range people {
					ofCell[i][j][axis] = truth[axis][2] * rng.NormFloat64()
				}
			}
			for j := range people {
				ofPerson[j][axis] = truth[axis][1] * rng.NormFloat64()
			}
		}
		at := func(i int, add func(axis int) float64) colour.Lab {
			return colour.LCh{L: centre[0] + ofItem[i][0] + add(0), C: centre[1] + ofItem[i][1] + add(1), H: centre[2] + ofItem[i][2] + add(2)}.Lab()
		}
		for i := range targets {
			targets[i] = at(i, func(int) float64 { return 0 })
		}
		p := answerPanel(t, sheet, targets, people, repeats, func(i, j int) colour.Lab {
			return at(i, func(axis int) float64 {
				return ofPerson[j][axis] + ofCell[i][j][axis] + truth[axis][3]*rng.NormFloat64()
			})
		})
		for axis, sd := range truth {
			v := [4]float64{sd[0] * sd[0], sd[1] * sd[1], sd[2] * sd[2], sd[3] * sd[3]}
			all := v[0] + v[1] + v[2] + v[3]
			g := agreement.StudyGauge(p.cells(coordinates[axis].of), history.Level)
			icc2[axis].see(g.Agreement, v[0]/all)
			icc3[axis].see(g.Consistency, v[0]/(v[0]+v[2]+v[3]))
			repeatability[axis].see(g.Repeatability.StudyVariation, math.Sqrt(v[3]/all))
			reproducibility[axis].see(g.Reproducibility.StudyVariation, math.Sqrt((v[1]+v[2])/all))
			rr[axis].see(g.RR.StudyVariation, math.Sqrt((v[1]+v[2]+v[3])/all))
			item[axis].see(g.Item.StudyVariation, math.Sqrt(v[0]/all))
			categories[axis].see(g.Categories, math.Sqrt(2*v[0]/(v[1]+v[2]+v[3])))
			// Two people compared: their true difference is known, and single answers
			// scatter about it by the interaction and the repeats of both.
			l := agreement.BlandAltman(differencesOf(p.cells(coordinates[axis].of), 0, 1), history.Level)
			difference := ofPerson[0][axis] - ofPerson[1][axis]
			differences[axis].see(l.Bias, difference)
			limits[axis].see(l.Upper, difference+1.96*math.Sqrt(2*(v[2]+v[3])))
		}
	}
	for axis, c := range coordinates {
		for name, seen := range map[string][3]coverage{"ICC(2,1)": icc2, "ICC(3,1)": icc3,
			"repeatability": repeatability, "reproducibility": reproducibility, "R&R": rr, "items": item, "distinct categories": categories, "difference of two": differences, "limit of agreement": limits} {
			inBounds(t, name+" of "+c.title, seen[axis].covered, seen[axis].of)
		}
	}
}

// differencesOf pairs two people's answers to each item in their order.
func differencesOf(cells [][][]float64, i, j int) [][]float64 {
	var lists [][]float64
	for _, row := range cells {
		var list []float64
		for k := range min(len(row[i]), len(row[j])) {
			list = append(list, row[i][k]-row[j][k])
		}
		lists = append(lists, list)
	}
	return lists
}

// The whole way, through the exercise and its tabs: the repeatability that the
// report gives is that of the answers. What it must be is found without the
// report, by having the same person answer the same items 100 times; the steps
// between the tabs are in both.
func TestPanelRepeatabilityIsThatOfTheAnswers(t *testing.T) {
	const items, repeats, people, again = 30, 3, 3, 100
	who := observer.Observer{Noise: 1.2}
	kind, err := exercises.ByID(exercises.ValueFirst)
	if err != nil {
		t.Fatal(err)
	}
	runs := panelRuns(4)
	if runs > 40 {
		runs = 40
	}
	var reported, truth [3]float64
	for seed := range uint64(runs) {
		book, asked := sitPanel(t, items, repeats, 100+seed, 0, who, who, who)
		p, err := read(context.Background(), book, asked, View{})
		if err != nil {
			t.Fatal(err)
		}
		for axis := range history.Axes {
			for j := range people {
				sd := agreement.Repeatability(p.errorsOf(j, history.Axes[axis].Of), history.Level).SD.Value
				reported[axis] += sd * sd / float64(people*runs)
			}
		}
		setup := asked.Setup
		setup.Sheet, setup.Repeats = p.sheet, 1
		run, err := exercises.NewRun(setup)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(seed, 77))
		var squares, n [3]float64
		for {
			trial, more := run.Next()
			if !more {
				break
			}
			run.Take(trial, exercises.Answer{})
			var lists [3][]float64
			for range again {
				m := scoring.MarkOf(scoring.Attempt{Trial: trial, Answer: kind.Simulate(trial, setup, who, rng)}, p.sheet)
				for axis := range history.Axes {
					if x := history.Axes[axis].Of(history.Judged{D: m.Difference, Free: m.Free}); !math.IsNaN(x) {
						lists[axis] = append(lists[axis], x)
					}
				}
			}
			for axis, list := range lists {
				if len(list) > 1 {
					mean := history.Average(list)
					for _, x := range list {
						squares[axis] += (x - mean) * (x - mean) / float64(len(list)-1)
					}
					n[axis]++
				}
			}
		}
		for axis := range history.Axes {
			truth[axis] += squares[axis] / n[axis] / float64(runs)
		}
	}
	// The variance of a pooled variance is 2/df of its square for normal errors; those
	// on a grid of tabs have lighter tails.
	df := float64(items * (repeats - 1) * people * runs)
	for axis := range history.Axes {
		tolerance := 4 * math.Sqrt(2/df)
		if ratio := reported[axis] / truth[axis]; math.Abs(ratio-1) > tolerance {
			t.Errorf("%s: repeatability %.3f reported, %.3f true (variance ratio %.3f, tolerance %.3f)",
				history.Axes[axis].Title, math.Sqrt(reported[axis]), math.Sqrt(truth[axis]), ratio, tolerance)
		} else {
			t.Logf("%s: repeatability %.3f reported, %.3f true, noise %.1f", history.Axes[axis].Title, math.Sqrt(reported[axis]), math.Sqrt(truth[axis]), who.Noise)
		}
	}
}
