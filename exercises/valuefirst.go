package exercises

import (
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// ValueFirst names it.
const ValueFirst KindID = "value-first"

// valueFirst is the main exercise: take the value group first, from a strip of
// patches that differ in lightness alone, then the tab, or the middle of two
// neighbouring tabs, by chroma and hue.
type valueFirst struct{}

func init() { register(valueFirst{}) }

func (valueFirst) ID() KindID    { return ValueFirst }
func (valueFirst) Version() int  { return 2 }
func (valueFirst) Title() string { return "Value first" }
func (valueFirst) Traits() Traits {
	return Traits{Adapts: true, Seconds: 12, Levels: thinned, UsualLevel: usualThinned}
}
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
		r.now = &Trial{Kind: ValueFirst, Version: valueFirst{}.Version(), Ordinal: r.given, Scene: r.given}
		if r.regions != nil {
			r.now.Target, r.now.Chance = r.regions.choose(rng, r.draw)
		} else {
			r.now.Target = r.draw(rng)
		}
	}
	return *r.now, true
}

// draw takes a target evenly. The colour just seen is not asked again at once; a library
// may hold so few colours that nothing else comes up.
func (r *valueFirstRun) draw(rng *rand.Rand) (target colour.SRGB) {
	for range 100 {
		if r.setup.Targets == TabTargets {
			from := showableTabs(r.setup.Sheet)
			target = r.setup.Sheet.Shown(from[rng.IntN(len(from))])
		} else {
			target = drawNatural(rng, r.setup.Sheet, r.lamp)
		}
		if r.given == 0 || target != r.last {
			break
		}
	}
	return target
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
