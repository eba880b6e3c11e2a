package exercises

import (
	"math"
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Whitening names it.
const Whitening KindID = "whitening"

// OptionFoot is [FootGiven] where the foot of the stretch is set to where the tooth was
// before: only the top has to be found, so that one error is made and not two.
const (
	OptionFoot = "foot"
	FootGiven  = "given"
)

// whitening shows a tooth before and after a course and asks how many steps
// lighter it became on a ladder by whiteness.
type whitening struct{}

func init() { register(whitening{}) }

func (whitening) ID() KindID    { return Whitening }
func (whitening) Version() int  { return 2 }
func (whitening) Title() string { return "Whitening" }
func (whitening) Traits() Traits {
	return Traits{Seconds: 12, UsualLevel: 6, Levels: []Level{
		{Foot: true, Spread: 8}, {Foot: true, Spread: 6}, {Foot: true, Spread: 4.6}, {Foot: true, Spread: 3.4}, {Foot: true}, {},
	}}
}
func (whitening) Trains() string {
	return "how many steps whiter a course made a tooth, and what to promise"
}

func (whitening) NewRun(s Setup) (Run, error) {
	if err := s.checkCount(); err != nil {
		return nil, err
	}
	if err := checkWord("method of whitening", s.Task, methodHome, MethodOffice, MethodStrips); err != nil {
		return nil, err
	}
	if err := checkWord("foot of the ladder", s.Options[OptionFoot], FootGiven); err != nil {
		return nil, err
	}
	if err := checkWord("kind of target", string(s.Targets), string(NaturalTargets), string(TabTargets)); err != nil {
		return nil, err
	}
	lamp, err := s.lamp()
	if err != nil {
		return nil, err
	}
	r := &whiteningRun{setup: s, lamp: lamp, ladder: ladderOf(s.large(), nil), daylight: ladderOf(s.large(), nil)}
	if s.Viewing.Light != "" {
		r.ladder = ladderOf(s.large(), lamp)
	}
	for _, c := range Courses {
		if s.Task == "" || s.Task == c.Method {
			r.courses = append(r.courses, c)
		}
	}
	if s.Targets != TabTargets {
		r.before = tabs.NaturalTeeth.Sample
		return r, nil
	}
	if s.Sheet == nil || s.Sheet.Len() == 0 {
		return nil, unusable("choose a library of tabs, or natural targets", "there is no library to take the teeth from")
	}
	if s.Viewing.Light != "" && s.Viewing.Light != colour.D65().ID {
		// The sheet holds colours as the lamp shows them; what whitening does is
		// known for daylight.
		return nil, unusable("take natural targets, or leave the light out", "the library's tabs cannot be whitened under another light")
	}
	var usable []colour.Lab
	for i := range s.Sheet.Len() {
		if c := s.Sheet.Lab(i); s.Sheet.Fits(i) && r.onLadder(c) && r.daylight.Place(c) <= r.daylight.last()-1 {
			usable = append(usable, c)
		}
	}
	if len(usable) == 0 {
		return nil, unusable("choose another library, or natural targets",
			"library %q has no tab on the whiteness ladder, which runs from %.0f to %.0f WI_D", s.Sheet.Library(), r.daylight.heights[0], r.daylight.heights[len(r.daylight.heights)-1])
	}
	r.before = func(rng *rand.Rand) colour.Lab { return usable[rng.IntN(len(usable))] }
	return r, nil
}

type whiteningRun struct {
	setup    Setup
	lamp     func(colour.Lab) colour.Lab
	ladder   Ladder // as shown
	daylight Ladder
	courses  []Course
	before   func(*rand.Rand) colour.Lab
	given    int
}

func (r *whiteningRun) Planned() int { return r.setup.Count }

func (r *whiteningRun) onLadder(c colour.Lab) bool {
	place := r.daylight.Place(c)
	return place >= 0 && place <= r.daylight.last()
}

func (r *whiteningRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	rng := r.setup.trialRand(r.given)
	course := r.courses[rng.IntN(len(r.courses))]
	before, after := r.draw(rng, course)
	if r.setup.large() > 1 {
		before, after = r.drawLarge(rng)
		course.Method = "" // none brings so much about
	}
	t := Trial{Kind: Whitening, Version: whitening{}.Version(), Ordinal: r.given, Scene: r.given, Part: course.Method,
		Target: before, Level: colour.DeltaE00(before.Lab(), after.Lab()), Patches: []Patch{{"after", after}}}
	for _, c := range r.ladder.Rungs {
		t.Patches = append(t.Patches, Patch{"rung", c})
	}
	return t, true
}

func (r *whiteningRun) Take(Trial, Answer) { r.given++ }

// draw takes a tooth and lets a course act on it: so far as the method's mean and
// standard deviation say, in the direction of the ladder give or take a little,
// since no two teeth whiten alike (house choice: each part stretched by 1 ± 0.25).
// Both ends lie on the ladder and can be shown.
func (r *whiteningRun) draw(rng *rand.Rand, course Course) (before, after colour.SRGB) {
	eab := 0.0
	for eab <= 0 {
		eab = course.Mean + course.SD*rng.NormFloat64()
	}
	// A light tooth has little way to go, so the course waits for a tooth with
	// room. Should none come, it is shortened, until in the end one fits.
	for try := range 300 {
		from := r.before(rng)
		var stretch [3]float64
		for i := range stretch {
			stretch[i] = math.Max(0.25, 1+0.25*rng.NormFloat64())
		}
		to := alongWhitening(from, eab, stretch)
		var fits, fitsToo bool
		before, fits = r.lamp(from).SRGB()
		after, fitsToo = r.lamp(to).SRGB()
		if fits && fitsToo && r.onLadder(from) && r.onLadder(to) {
			break
		}
		if try > 50 {
			eab *= 0.97
		}
	}
	return before, after
}

// large is how many times as large as usual the steps of the ladder are.
func (s Setup) large() float64 { return max(1, s.wide()) }

// What is whitened by large steps stands near a rung before and after: halfway
// between two either number would do. Of so many teeth the nearest to a rung is taken, and
// so many steps are the most; house rules.
const nearestOf, mostLargeSteps = 12, 5

// drawLarge whitens a tooth by whole large steps, more than a course would: something to
// begin with.
func (r *whiteningRun) drawLarge(rng *rand.Rand) (before, after colour.SRGB) {
	for range 300 {
		var from colour.Lab
		off, place := 1.0, 0.0
		for range nearestOf {
			c := r.before(rng)
			at := r.daylight.Place(c)
			if miss := math.Abs(at - math.Round(at)); miss < off && at >= 0 && math.Round(at) < r.daylight.last() {
				from, off, place = c, miss, at
			}
		}
		if off == 1 {
			continue
		}
		steps := 1 + rng.IntN(min(mostLargeSteps, int(r.daylight.last()-math.Round(place))))
		var stretch [3]float64
		for i := range stretch {
			stretch[i] = math.Max(0.25, 1+0.25*rng.NormFloat64())
		}
		// The index is linear in L*, a* and b*, so a step of 1 tells how far to go.
		was := colour.WhitenessIndex(from)
		wanted := r.daylight.Whiteness(min(place+float64(steps), r.daylight.last())) - was
		to := alongWhitening(from, wanted/(colour.WhitenessIndex(alongWhitening(from, 1, stretch))-was), stretch)
		var fits, fitsToo bool
		before, fits = r.lamp(from).SRGB()
		after, fitsToo = r.lamp(to).SRGB()
		if fits && fitsToo {
			break
		}
	}
	return before, after
}

// StepsWhiter is how many steps of its ladder a trial's tooth became whiter; NaN
// where the trial lacks something.
func StepsWhiter(t Trial) float64 {
	after, ok := t.Patch("after")
	if !ok {
		return math.NaN()
	}
	ladder := LadderOf(t)
	return ladder.Place(after.Lab()) - ladder.Place(t.Target.Lab())
}

// GivenFoot is the place on its ladder, a whole one, nearest to a trial's tooth before.
func GivenFoot(t Trial) float64 {
	ladder := LadderOf(t)
	return math.Round(max(0, min(float64(len(ladder.Rungs)-1), ladder.Place(t.Target.Lab()))))
}

// Simulate finds the places of both teeth as the observer sees them, each with
// the bias and a scatter of its own, and answers in whole steps; a foot that is given is
// taken as it is. A lapse is any number up to twelve.
func (whitening) Simulate(t Trial, s Setup, who observer.Observer, rng *rand.Rand) Answer {
	after, _ := t.Patch("after")
	ladder := LadderOf(t)
	foot, top := GivenFoot(t), ladder.Place(who.Perceive(after.Lab(), rng))
	if s.Options[OptionFoot] != FootGiven {
		foot = ladder.Place(who.Perceive(t.Target.Lab(), rng))
	}
	steps := math.Round(top - foot)
	if s.large() > 1 { // there are few
		steps = max(0, min(steps, ladder.last()-foot))
	}
	if rng.Float64() < who.Lapse {
		steps = float64(rng.IntN(min(13, len(ladder.Rungs))))
	}
	return Answer{Number: &steps}
}
