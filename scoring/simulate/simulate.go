// Package simulate invents people and lets them practise, so that every report
// can be tried, and every statistic checked, on a book whose truth is known.
package simulate

import (
	"context"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Plan says who is invented and what they do. The same plan gives the same
// people, identifiers and answers.
type Plan struct {
	Learners int // how many people
	Sittings int // drills each
	Items    int // answers a drill
	Seed     uint64
	First    int       // number of the first person, 1 unless others are there already
	From     time.Time // day of the first sitting
	// Improve lets the noise shrink with practice, by a power law of the number
	// of sittings (Newell & Rosenbloom 1981).
	Improve bool
	// Setup is what each drill asks; seed and count are filled in.
	Setup exercises.Setup
	// Set, when not nil, is taken instead, once each: a form of the test, or a
	// calibration session. Its parts bring their sheets with them.
	Set *scoring.Set
	// Form, when not nil, is laid down first: it is what Set is of.
	Form *record.Form
	// Class, when not nil, is the class that all form; see there.
	Class *Class
}

// Limits of a plan: enough for any trial of the reports, and no typing error
// fills a disk.
const (
	mostLearners = 2000
	mostSittings = 2000
	mostItems    = 500
	mostAnswers  = 2_000_000
)

// Check says what is wrong with a plan.
func (p Plan) Check() error {
	for _, x := range []struct {
		what    string
		n, most int
	}{{"learners", p.Learners, mostLearners}, {"sittings", p.Sittings, mostSittings}, {"items", p.Items, mostItems}} {
		if x.n < 1 || x.n > x.most {
			return fmt.Errorf("the number of %s is %d, outside 1..%d", x.what, x.n, x.most)
		}
	}
	if n := p.Answers(); n > mostAnswers {
		return fmt.Errorf("that makes %d answers, more than %d", n, mostAnswers)
	}
	return nil
}

// Answers is how many answers the plan gives at most.
func (p Plan) Answers() int {
	perSitting := p.Items
	if p.Set != nil {
		perSitting = 0
		for i := range p.Set.Parts {
			perSitting += planned(p.Set.SetupFor(i, ""))
		}
	}
	n := p.Learners * p.Sittings * perSitting
	if p.Class != nil {
		n += p.Learners * thresholdTrials
	}
	return n
}

// planned is how many answers a drill takes.
func planned(s exercises.Setup) int {
	run, err := exercises.NewRun(s)
	if err != nil {
		return s.Items() * max(1, s.Repeats)
	}
	return run.Planned()
}

// Person is an invented learner with what is true of them.
type Person struct {
	Learner  scoring.Learner
	Observer observer.Observer // in the first sitting
	// PerDoubling is the share of the noise that is left when the number of
	// sittings doubles; 1 is no progress.
	PerDoubling float64
	Character   Character // in a class
	// StoppedAfter is the number of sittings after which the person stays away; 0
	// is never.
	StoppedAfter int
	display      scoring.DisplayCheck // on which all is done
	number       int
}

// The spread of invented people, house choices: biases of the size that a
// person may have without noticing, scatter from skilled to unpractised, a
// tenth to a third less noise at each doubling.
const (
	biasSD                = 0.7
	leastNoise, mostNoise = 0.6, 1.6
	bestGain, poorestGain = 0.67, 0.9
	// Thresholds around the published 0.8 and false alarms around the quarter that
	// was measured on screens (Lindsey & Wee 2007, J Dent 35:593–599).
	leastSeen, mostSeen     = 0.6, 2.0
	leastAlarms, mostAlarms = 0.05, 0.35
	medianSeconds, logSpan  = 6.0, 0.35
)

// Invent makes the people of a plan. Their parameters are rounded to 0.01, so
// that what is printed is the whole truth.
func (p Plan) Invent() []Person {
	people := make([]Person, p.Learners)
	for i := range people {
		n := max(p.First, 1) + i
		rng := p.source(uint64(n), 0)
		bias := func() float64 { return round(math.Max(-2, math.Min(2, biasSD*rng.NormFloat64()))) }
		who := Person{number: n, PerDoubling: 1, display: p.display(n)}
		who.Observer = observer.Observer{BiasL: bias(), BiasC: bias(), BiasH: bias(),
			Noise: round(leastNoise + rng.Float64()*(mostNoise-leastNoise))}
		who.Observer.SeenAt = round(leastSeen + rng.Float64()*(mostSeen-leastSeen))
		who.Observer.FalseAlarm = round(leastAlarms + rng.Float64()*(mostAlarms-leastAlarms))
		if gain := round(bestGain + rng.Float64()*(poorestGain-bestGain)); p.Improve {
			who.PerDoubling = gain
		}
		if p.Class != nil {
			who.become(tenCharacters[(n-1)%len(tenCharacters)], p.Sittings, rng)
		}
		who.Learner = scoring.Learner{
			ID:   scoring.LearnerID(fmt.Sprintf("sim-%s-%04d", p.mark(), n)),
			Name: Name(n), Role: scoring.RoleLearner, At: p.From, Simulated: true,
		}
		people[i] = who
	}
	return people
}

// display is the nth person's: of ten one failed its check and one has none, so that
// reports have somebody to name; house choice.
func (p Plan) display(n int) (d scoring.DisplayCheck) {
	if n%10 == 7 {
		return d
	}
	d = scoring.DisplayCheck{At: p.From, Colours: 1 << 24, SmallStep: "seen", Ramp: "all steps", Terminal: "simulated", Acceptable: true}
	if n%10 == 4 {
		d.SmallStep, d.Acceptable = "not seen", false
	}
	return d
}

// Name is what the nth invented person is called: no name that a real one could
// bear.
func Name(n int) string { return fmt.Sprintf("Simulated %02d", n) }

// Fill enters the people and lets each sit every drill. After each drill it
// calls done with the number of answers so far; done may be nil.
func (p Plan) Fill(ctx context.Context, book record.Book, people []Person, done func(answers int)) error {
	answers := 0
	if p.Form != nil {
		if _, err := record.LayDown(ctx, book, *p.Form); err != nil {
			return err
		}
	}
	if p.Class != nil {
		if err := p.found(ctx, book); err != nil {
			return err
		}
	}
	for _, who := range people {
		if _, err := book.AddLearner(ctx, who.Learner); err != nil {
			return fmt.Errorf("%s: %w", who.Learner.Name, err)
		}
		if p.Class != nil {
			if err := book.Enrol(ctx, p.classID(), who.Learner.ID, p.From); err != nil {
				return fmt.Errorf("%s: %w", who.Learner.Name, err)
			}
		}
		var past []exercises.Outcome
		for sitting := range p.Sittings {
			if who.StoppedAfter > 0 && sitting >= who.StoppedAfter {
				break
			}
			n, err := p.sit(ctx, book, who, sitting, &past)
			if err != nil {
				return fmt.Errorf("%s, sitting %d: %w", who.Learner.Name, sitting+1, err)
			}
			if answers += n; done != nil {
				done(answers)
			}
		}
	}
	return nil
}

// sit is one drill, or one taking of a set: the same road as a real one, with
// a simulated clock.
func (p Plan) sit(ctx context.Context, book record.Book, who Person, sitting int, past *[]exercises.Outcome) (answers int, err error) {
	rng := p.source(uint64(who.number), uint64(sitting)+1)
	now := p.day(sitting).Add(time.Duration(8*60+rng.IntN(10*60)) * time.Minute) // at different times of the day
	o := who.Observer
	o.Noise *= math.Pow(float64(sitting+1), math.Log2(who.PerDoubling))
	parts := p.course(who.Learner.ID, sitting, rng)
	switch {
	case parts != nil:
	case p.Set != nil:
		parts = partsOf(*p.Set, who.Learner.ID)
	default:
		parts = []part{{setup: p.Setup}}
		parts[0].setup.Seed, parts[0].setup.Count = rng.Uint64(), p.Items
	}
	for _, one := range parts {
		s := scoring.Sitting{ID: scoring.SittingID(fmt.Sprintf("%s-%04d%s", who.Learner.ID, sitting+1, one.suffix)),
			Learner: who.Learner.ID, Setup: one.setup, Within: one.within, Display: who.display}
		if s.Setup.Adaptive {
			s.Setup.Experience = *past
		}
		n, err := drill(ctx, book, s, o, rng, &now, past)
		if answers += n; err != nil {
			return answers, err
		}
	}
	return answers, nil
}

// drill has an observer answer one sitting to its end.
func drill(ctx context.Context, book record.Book, s scoring.Sitting, o observer.Observer, rng *rand.Rand, now *time.Time, past *[]exercises.Outcome) (answers int, err error) {
	kind, err := exercises.ByID(s.Setup.Kind)
	if err != nil {
		return 0, err
	}
	d, err := record.Begin(ctx, book, s, func() time.Time { return *now })
	if err != nil {
		return 0, err
	}
	for {
		trial, ok := d.Trial()
		if !ok {
			break
		}
		if err := ctx.Err(); err != nil {
			return answers, err
		}
		answer := kind.Simulate(trial, d.Sitting().Setup, o, rng)
		if answer.Total == 0 {
			answer.Total = time.Duration(1000*medianSeconds*math.Exp(logSpan*rng.NormFloat64())) * time.Millisecond
			answer.First = answer.Total * time.Duration(30+rng.IntN(30)) / 100
			answer.First = answer.First.Round(time.Millisecond)
		}
		if answer.Looks == 0 {
			answer.Looks = 1
		}
		*now = now.Add(answer.Total + s.Setup.Viewing.Rest)
		_, mark, err := d.Answer(ctx, answer)
		if err != nil {
			return answers, err
		}
		if mark.HasColour && !mark.Sparse {
			*past = append(*past, exercises.Outcome{Target: trial.Target, Difference: mark.Difference})
		}
		answers++
	}
	return answers, d.End(ctx, false)
}

// source is the chance of one person's sitting; 0 is the person's character.
func (p Plan) source(person, sitting uint64) *rand.Rand {
	return rand.New(rand.NewPCG(p.Seed, person<<32|sitting))
}

// mark tells plans apart that would give other answers under one identifier.
func (p Plan) mark() string {
	h := fnv.New64a()
	sheet := ""
	if p.Setup.Sheet != nil {
		sheet = p.Setup.Sheet.Fingerprint()
	}
	setup, err := json.Marshal(p.Setup)
	if err != nil {
		panic("simulate: " + err.Error()) // plain numbers and words
	}
	if p.Set != nil {
		fmt.Fprint(h, p.Set.Ref)
	}
	if p.Class != nil {
		fmt.Fprint(h, p.Class.Name, p.Class.Test.Print(), p.Class.Pass)
	}
	fmt.Fprint(h, p.Seed, p.Sittings, p.Items, p.Improve, p.From.Unix(), sheet, string(setup))
	return fmt.Sprintf("%016x", h.Sum64())
}

func round(v float64) float64 { return math.Round(v*100) / 100 }
