package exercises

import (
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Darker names it.
const Darker KindID = "darker"

// darker shows two patches and asks which is the darker.
type darker struct{}

func init() { register(darker{}) }

func (darker) ID() KindID     { return Darker }
func (darker) Version() int   { return 1 }
func (darker) Title() string  { return "Darker" }
func (darker) Trains() string { return "which of two patches is the darker" }
func (darker) Traits() Traits {
	return Traits{Options: []Option{darkerSteps}, Seconds: 5, Levels: spreads(2, 1.5, 1), UsualLevel: 3}
}

var darkerSteps = Option{Name: "steps", Counts: "tenths of ΔL* between the two", Least: 5, Most: 50, Usual: "from 5 to 30, by chance"}

type darkerRun struct {
	setup        Setup
	steps, given int
}

func (darker) NewRun(s Setup) (Run, error) {
	if err := s.checkCount(); err != nil {
		return nil, err
	}
	steps, err := darkerSteps.of(s)
	return &darkerRun{setup: s, steps: steps}, err
}

func (r *darkerRun) Planned() int       { return r.setup.Count }
func (r *darkerRun) Take(Trial, Answer) { r.given++ }

func (r *darkerRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	rng := r.setup.trialRand(r.given)
	steps := float64(r.steps)
	if steps == 0 {
		steps = 5 + 25*rng.Float64()
	}
	steps *= r.setup.wide()
	light := tabs.NaturalTeeth.Sample(rng)
	dark := light
	dark.L -= steps / 10
	first, _ := light.SRGB()
	second, _ := dark.SRGB()
	key := Right
	if rng.IntN(2) == 0 {
		first, second, key = second, first, Left
	}
	return Trial{Kind: Darker, Version: 1, Ordinal: r.given, Scene: r.given, Target: first, Key: key,
		Level: colour.DeltaE00(first.Lab(), second.Lab()), Patches: []Patch{{Right, second}}}, true
}

func (darker) Simulate(t Trial, _ Setup, who observer.Observer, rng *rand.Rand) Answer {
	second, _ := t.Patch(Right)
	if who.Perceive(t.Target.Lab(), rng).L < who.Perceive(second.Lab(), rng).L {
		return Answer{Choice: Left}
	}
	return Answer{Choice: Right}
}
