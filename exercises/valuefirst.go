package exercises

import (
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// ValueFirst names it.
const ValueFirst KindID = "value-first"

// valueFirst is the main exercise: take the value group first, then the tab, or
// the middle of two neighbouring tabs, by chroma and hue.
type valueFirst struct{}

func init() { register(valueFirst{}) }

func (valueFirst) ID() KindID     { return ValueFirst }
func (valueFirst) Version() int   { return 1 }
func (valueFirst) Title() string  { return "Value first" }
func (valueFirst) Traits() Traits { return Traits{Adapts: true} }
func (valueFirst) Trains() string {
	return "taking a shade: the value group first, then chroma and hue"
}

func (valueFirst) NewRun(s Setup) (Run, error) {
	if err := s.checkMatching(); err != nil {
		return nil, err
	}
	lamp, err := s.lamp()
	if err != nil {
		return nil, err
	}
	r := &valueFirstRun{setup: s, lamp: lamp}
	if s.Adaptive {
		r.regions = newRegions(s.Sheet, lamp)
		for _, o := range s.Experience {
			r.regions.add(o)
		}
	}
	return r, nil
}

type valueFirstRun struct {
	setup   Setup
	lamp    func(colour.Lab) colour.Lab
	regions *regions // nil unless practice adapts
	given   int
	last    colour.SRGB
	now     *Trial
}

func (r *valueFirstRun) Planned() int { return r.setup.Count }

func (r *valueFirstRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	if r.now == nil {
		rng := r.setup.trialRand(r.given)
		target := r.draw(rng)
		// The colour just seen is not asked again at once. A library may hold so
		// few colours that nothing else comes up.
		for range 100 {
			if r.given == 0 || target != r.last {
				break
			}
			target = r.draw(rng)
		}
		r.now = &Trial{Kind: ValueFirst, Version: valueFirst{}.Version(), Ordinal: r.given, Scene: r.given, Target: target}
	}
	return *r.now, true
}

func (r *valueFirstRun) draw(rng *rand.Rand) colour.SRGB {
	anyTab := func(rng *rand.Rand) colour.SRGB {
		from := showableTabs(r.setup.Sheet)
		return r.setup.Sheet.Shown(from[rng.IntN(len(from))])
	}
	guided := r.regions != nil && rng.Float64() >= unguided
	switch {
	case r.setup.Targets == TabTargets && guided:
		return r.regions.choose(rng, anyTab)
	case r.setup.Targets == TabTargets:
		return anyTab(rng)
	case guided:
		return r.regions.choose(rng, func(rng *rand.Rand) colour.SRGB { return drawShown(rng, r.lamp, tabs.Teeth.Sample) })
	}
	return drawNatural(rng, r.setup.Sheet, r.lamp)
}

func (r *valueFirstRun) Take(t Trial, a Answer) {
	r.given++
	r.last, r.now = t.Target, nil
	if r.regions != nil && a.Colour != nil {
		r.regions.add(Outcome{t.Target, colour.Compare(t.Target.Lab(), a.Colour.Lab(), colour.Unit)})
	}
}

// TakeTab is the answer "tab i", or "between i and its neighbour j"; j is −1 for
// a single tab. Screens and simulated learners both answer through it.
func TakeTab(sheet *tabs.Sheet, i, j int) Answer {
	shown := sheet.Shown(i)
	a := Answer{Tab: sheet.Name(i), Group: sheet.Groups()[sheet.GroupOf(i)].Name}
	if j >= 0 {
		shown = sheet.Between(i, j)
		a.Neighbour = sheet.Name(j)
	}
	a.Colour = &shown
	return a
}

// Simulate looks once, takes the group by lightness alone and then the tab or
// the middle by chroma and hue alone. A lapse is a tab at random.
func (valueFirst) Simulate(t Trial, s Setup, who observer.Observer, rng *rand.Rand) Answer {
	if rng.Float64() < who.Lapse {
		return TakeTab(s.Sheet, rng.IntN(s.Sheet.Len()), -1)
	}
	seen := who.Perceive(t.Target.Lab(), rng)
	taken := s.Sheet.NearestChoice(s.Sheet.NearestGroup(seen), seen)
	return TakeTab(s.Sheet, taken.I, taken.J)
}
