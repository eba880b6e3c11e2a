package truths

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/reports/tests"
	"shadedrill/scoring/simulate"
	"shadedrill/scoring/trend"
)

// Forms is the table of the proficiency test: so many people, whose true error is known,
// all take the same form; then the next one.
type Forms struct {
	Learners int
	Ways     Ways
}

// TestLearners is how many people take each form.
const TestLearners = 600

// Ways are how the people of a table of forms see and answer.
type Ways struct {
	Name, Words string
	of          func(n int) (Chooser, func(colour.Lab, observer.Observer) observer.Observer)
}

func all(c Chooser) Ways {
	return Ways{c.Name, c.Words, func(int) (Chooser, func(colour.Lab, observer.Observer) observer.Observer) { return c, alike }}
}

func alike(_ colour.Lab, who observer.Observer) observer.Observer { return who }

// noisyAbove doubles the noise where chroma is strong.
func noisyAbove(target colour.Lab, who observer.Observer) observer.Observer {
	if target.Chroma() > 24 {
		who.Noise *= 2
	}
	return who
}

// TestWays are those that can be asked for. OwnWays mixes what does not share the
// program's model.
var (
	ownWays = Ways{"own-ways", "One in four looks at every tab of all groups at once, by a measure of their own; one takes the group by the tab of the nearest chroma and never answers between two; one sees with twice the noise above C* 24; one answers a third of the items at random.",
		func(n int) (Chooser, func(colour.Lab, observer.Observer) observer.Observer) {
			switch n % 4 {
			case 0:
				return atOnce, alike
			case 1:
				return tabsOnly, alike
			case 2:
				return ByTheBook, noisyAbove
			}
			return guessing(1. / 3), alike
		}}
	TestWays = []Ways{all(ByTheBook), all(atOnce), all(tabsOnly), all(Guesses), ownWays}
)

// FormRow is what the forms said of them.
type FormRow struct {
	Forms
	Runs int // forms
	// Kendall's τ-b with the true error, mean over forms, above 0 where the result falls
	// as the error grows.
	TauShare, TauMedian, TauLevel float64
	// SuperiorBeyond is the largest share of forms in which one person came out superior
	// whose true error is beyond acceptability; Beyond is how many such people there are.
	SuperiorBeyond float64
	Beyond         int
	// By true error, in bands of half a ΔE00: people, mean share right, mean median, and
	// shares of forms with the best and the lowest level.
	Bands []FormBand
}

// FormBand is what people of about one true error came to.
type FormBand struct {
	From                          float64
	People                        int
	Right, Median, Superior, Poor float64
}

const bandWidth = 0.5

// person is somebody who takes the forms.
type person struct {
	who  observer.Observer
	by   Chooser
	seen func(colour.Lab, observer.Observer) observer.Observer
	true float64 // median distance of what is seen from what is shown
}

// Measure lets them take so many forms.
func (f Forms) Measure(p Plan) (FormRow, error) {
	row := FormRow{Forms: f, Runs: p.Runs}
	form, _, err := drawnForm(p.Seed, 0)
	if err != nil {
		return row, err
	}
	people, err := f.people(form.Parts[0].Sheet, p)
	if err != nil {
		return row, err
	}
	type result struct{ share, median, level []float64 }
	results := make([]result, p.Runs)
	err = p.each(func(run int) error {
		rng := rand.New(rand.NewPCG(p.Seed, uint64(run)|1<<40))
		form, parts, err := drawnForm(p.Seed, run)
		if err != nil {
			return err
		}
		var r result
		for _, who := range people {
			kind := &history.Kind{ID: exercises.ValueFirst}
			for i, items := range parts {
				in := &history.Sitting{Sitting: scoring.Sitting{Setup: form.Parts[i], Within: form.Ref.String()}}
				for _, trial := range items {
					in.Take(scoring.Attempt{At: time.Unix(0, 0), Trial: trial, Answer: who.by.Take(trial, form.Parts[i].Sheet, who.seen(trial.Target.Lab(), who.who), rng)})
				}
				kind.Sittings = append(kind.Sittings, in)
			}
			share, median, level, _ := tests.Outcome(&history.History{Kinds: []*history.Kind{kind}}, scoring.MatchCuts)
			r.share, r.median = append(r.share, share.Value), append(r.median, median.Value)
			r.level = append(r.level, float64(slices.IndexFunc(scoring.MatchCuts, func(c scoring.Cut) bool { return c.Level == level })))
		}
		results[run] = r
		return nil
	})
	if err != nil {
		return row, err
	}
	n := float64(p.Runs)
	lowest := float64(len(scoring.MatchCuts) - 1)
	bands := map[int]*FormBand{}
	of := func(i int) *FormBand {
		at := int(people[i].true / bandWidth)
		if bands[at] == nil {
			bands[at] = &FormBand{From: float64(at) * bandWidth}
		}
		return bands[at]
	}
	superior := make([]float64, len(people))
	for i := range people {
		of(i).People++
	}
	for _, r := range results {
		row.TauShare -= tau(r.share) / n
		row.TauMedian += tau(r.median) / n
		row.TauLevel += tau(r.level) / n
		for i := range people {
			b := of(i)
			b.Right += r.share[i] / n
			b.Median += r.median[i] / n
			if r.level[i] == 0 {
				superior[i] += 1 / n
				b.Superior += 1 / n
			}
			if r.level[i] == lowest {
				b.Poor += 1 / n
			}
		}
	}
	for i, who := range people {
		if who.true > scoring.Acceptability.Value {
			row.Beyond++
			row.SuperiorBeyond = max(row.SuperiorBeyond, superior[i])
		}
	}
	for _, b := range bands {
		k := float64(b.People)
		b.Right, b.Median, b.Superior, b.Poor = b.Right/k, b.Median/k, b.Superior/k, b.Poor/k
		row.Bands = append(row.Bands, *b)
	}
	slices.SortFunc(row.Bands, func(a, b FormBand) int { return int(math.Copysign(1, a.From-b.From)) })
	return row, nil
}

// people are those of a simulated class, from the one with the smallest true error.
func (f Forms) people(sheet *tabs.Sheet, p Plan) (list []person, err error) {
	const looks = 4000
	var shown []colour.Lab
	run, err := exercises.NewRun(exercises.Setup{Kind: exercises.ValueFirst, Count: looks, Seed: p.Seed | 1, Sheet: sheet})
	if err != nil {
		return nil, err
	}
	for trial, more := run.Next(); more; trial, more = run.Next() {
		run.Take(trial, exercises.Answer{})
		shown = append(shown, trial.Target.Lab())
	}
	plan := simulate.Plan{Learners: f.Learners, Sittings: 1, Items: 1, Seed: p.Seed, Class: &simulate.Class{}}
	for i, one := range plan.Invent() {
		who := person{who: one.Observer}
		who.by, who.seen = f.Ways.of(i)
		who.true = trueError(who, sheet, shown, rand.New(rand.NewPCG(p.Seed, 1<<41|uint64(i))))
		list = append(list, who)
	}
	slices.SortStableFunc(list, func(a, b person) int { return int(math.Copysign(1, a.true-b.true)) })
	return list, nil
}

// drawnForm draws the usual form, and its items.
func drawnForm(seed uint64, run int) (form scoring.Set, parts [][]exercises.Trial, err error) {
	if form, err = scoring.StandardTest("A", scoring.UsualItems); err != nil {
		return form, nil, err
	}
	var chance [32]byte
	binary.BigEndian.PutUint64(chance[:], seed)
	binary.BigEndian.PutUint64(chance[8:], uint64(run))
	if form, err = form.Drawn(rand.NewChaCha8(chance)); err != nil {
		return form, nil, err
	}
	form.Ref.Print = "drawn"
	for _, setup := range form.Parts {
		run, err := exercises.NewRun(setup)
		if err != nil {
			return form, nil, err
		}
		var items []exercises.Trial
		for trial, more := run.Next(); more; trial, more = run.Next() {
			run.Take(trial, exercises.Answer{})
			items = append(items, trial)
		}
		parts = append(parts, items)
	}
	return form, parts, nil
}

// trueError is the median ΔE00 between a tooth colour and what the person takes it for,
// before any tab is looked for; the guesses of whoever guesses are among them. What is
// seen lies from the target by what [observer.Observer] says of each axis.
func trueError(who person, sheet *tabs.Sheet, shown []colour.Lab, rng *rand.Rand) float64 {
	sizes := make([]float64, len(shown))
	for i, target := range shown {
		if rng.Float64() < who.by.guesses {
			sizes[i] = colour.DeltaE00(target, guess(sheet, rng).Colour.Lab())
			continue
		}
		at := who.seen(target, who.who)
		l, c, h := at.BiasL+at.Noise*rng.NormFloat64(), at.BiasC+at.Noise*rng.NormFloat64(), at.BiasH+at.Noise*rng.NormFloat64()
		sizes[i] = math.Sqrt(l*l + c*c + h*h)
	}
	return trend.Middle(sizes)
}

// tau is Kendall's τ-b of a result with the true error, in whose order the people stand.
func tau(result []float64) float64 { return trend.MannKendall(result).TauB.Value }
