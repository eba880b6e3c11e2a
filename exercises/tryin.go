package exercises

import (
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Verdicts on a restoration at try-in, in Answer.Choice, the mildest first.
const (
	Seat   = "seat"
	Adjust = "adjust"
	Remake = "remake"
)

// Verdicts are all of them in their order.
var Verdicts = []string{Seat, Adjust, Remake}

// TryIn names it.
const TryIn KindID = "try-in"

// tryIn shows a prescription and what came back from the laboratory. For value,
// chroma and hue it asks whether there is more, as much or less than prescribed;
// then what to do with it. One case is one trial.
type tryIn struct{}

func init() { register(tryIn{}) }

func (tryIn) ID() KindID    { return TryIn }
func (tryIn) Version() int  { return 2 }
func (tryIn) Title() string { return "Try-in" }
func (tryIn) Traits() Traits {
	return Traits{Unhurried: true, Seconds: 25, Levels: spreads(3.2, 2.5, 2, 1.7, 1.4, 1.15, 1, 0.8, 0.55), UsualLevel: 7}
}
func (tryIn) Trains() string {
	return "what came back against the prescription: too much of what, and seat, adjust or remake"
}

// A batch is a mix of cases: what came back differs from the prescription by so
// much, in so many attributes. In every twelve come two catch cases (identical
// bytes), one that nobody is likely to see, two that differ acceptably, four that
// can be adjusted and three to remake, so that no verdict is right much more often
// than another; house rule.
type batch struct {
	least, most float64 // ΔE00
	attributes  int     // at most so many of the three differ visibly
	cases       int     // of twelve
	wide        float64 // how many times as plain as usual its parts are; 0 is once
}

// The ranges stay off the limits between verdicts (1.8 and twice that), at which
// neither is wrong.
var batches = []batch{
	{0, 0, 0, 2, 0},
	{0.2, 0.65, 0, 1, 0},
	{1.1, 1.65, 1, 2, 0},
	{2.0, 3.4, 2, 4, 0},
	{3.8, 6.5, 3, 3, 0},
}

// closeBatches tell less plainly than usual: as near to the limits between the verdicts, and
// with parts as near to being seen or not, as one of them alone is still right. Hardly
// anything is the same byte for byte.
var closeBatches = []batch{
	{cases: 1},
	{0.45, 0.95, 0, 2, 0},
	{1.3, 1.7, 1, 2, 0},
	{1.9, 2.5, 2, 2, 0},
	{2.8, 3.5, 3, 2, 0},
	{3.7, 4.4, 3, 3, 0},
}

// batchesOf are the batches whose cases tell more plainly than usual: what differs
// differs by more, and keeps further off the limits between the verdicts; or less.
func batchesOf(wide float64) []batch {
	switch {
	case wide < 1:
		list := slices.Clone(closeBatches)
		for i := range list {
			list[i].wide = wide
		}
		return list
	case wide == 1:
		return batches
	case wide < 1.5:
		return []batch{{cases: 2, wide: wide}, {0.1, 0.5, 0, 2, wide}, {1.1, 1.55, 1, 1, wide}, {2.2, 3.2, 1, 3, wide}, {3.8, 6 + wide, 3, 4, wide}}
	case wide < 2:
		return []batch{{cases: 3, wide: wide}, {0.1, 0.5, 0, 2, wide}, {2.2, 3.2, 1, 3, wide}, {4, 6 + wide, 3, 4, wide}}
	}
	return []batch{{cases: 4, wide: wide}, {0.1, 0.5, 0, 2, wide}, {3 + wide, 7 + wide, 3, 6, wide}}
}

// Each part of a difference is either plainly there or plainly not: between these
// limits about half of observers would see it (50:50 % perceptibility is 0.8),
// and nobody could be told wrong. House rule.
const (
	mostHidden = 0.55
	leastPlain = 1.05
	mostHue    = 3.5 // farther, hardly any crown comes back
)

// leastHue is the chroma C* below which a colour has no hue to speak of.
const leastHue = 3.0

func (tryIn) NewRun(s Setup) (Run, error) {
	if err := s.checkCount(); err != nil {
		return nil, err
	}
	if err := checkWord("kind of target", string(s.Targets), string(NaturalTargets), string(TabTargets)); err != nil {
		return nil, err
	}
	if s.Attribute != "" {
		return nil, unusable("leave the attribute out", "a try-in is judged in value, chroma and hue together")
	}
	lamp, err := s.lamp()
	if err != nil {
		return nil, err
	}
	r := &tryInRun{setup: s, batches: batchesOf(s.wide())}
	for i, b := range r.batches {
		for range b.cases {
			r.mix = append(r.mix, i)
		}
	}
	if s.Targets != TabTargets {
		r.prescribe = func(rng *rand.Rand) colour.SRGB { return drawShown(rng, lamp, tabs.NaturalTeeth.Sample) }
		return r, nil
	}
	if s.Sheet == nil || s.Sheet.Len() == 0 {
		return nil, unusable("choose a library of tabs, or natural targets", "there is no library to prescribe from")
	}
	var usable []colour.SRGB
	for _, i := range showableTabs(s.Sheet) {
		if s.Sheet.Fits(i) && s.Sheet.Lab(i).Chroma() >= leastHue {
			usable = append(usable, s.Sheet.Shown(i))
		}
	}
	if len(usable) == 0 {
		return nil, unusable("choose another library, or natural targets",
			"library %q has no tab that has a hue and that a display can show", s.Sheet.Library())
	}
	r.prescribe = func(rng *rand.Rand) colour.SRGB { return usable[rng.IntN(len(usable))] }
	return r, nil
}

type tryInRun struct {
	setup     Setup
	batches   []batch
	mix       []int // batches, each as often as in twelve cases
	prescribe func(*rand.Rand) colour.SRGB
	given     int
}

func (r *tryInRun) Planned() int { return r.setup.Count }

func (r *tryInRun) Take(Trial, Answer) { r.given++ }

const roleDelivered = "delivered"

func (r *tryInRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	b := r.batches[r.mix[r.setup.inTurn(r.given, len(r.mix))]]
	prescribed, delivered := r.draw(r.setup.trialRand(r.given), b)
	return Trial{Kind: TryIn, Version: tryIn{}.Version(), Ordinal: r.given, Scene: r.given, Target: prescribed,
		Level: colour.DeltaE00(prescribed.Lab(), delivered.Lab()), Patches: []Patch{{roleDelivered, delivered}}}, true
}

// draw makes a case of a batch. What is held to the batch's limits is the
// difference of the bytes.
func (r *tryInRun) draw(rng *rand.Rand, b batch) (prescribed, delivered colour.SRGB) {
	if b.most == 0 {
		prescribed = r.prescribe(rng)
		return prescribed, prescribed
	}
	// One draw in five fits as a rule; a library at the edge of the gamut may need
	// many. In the end the last is taken, with what it shows.
	for range 2000 {
		prescribed = r.prescribe(rng)
		parts := b.parts(rng)
		made := observer.Shift(prescribed.Lab(), parts[0], parts[1], parts[2])
		if _, fits := made.SRGB(); !fits {
			continue
		}
		delivered = nearestShown(made)
		d := colour.Compare(prescribed.Lab(), delivered.Lab(), colour.Unit)
		if d.E >= b.least && d.E <= b.most && (b.attributes == 0 || b.plain(d.L) || b.plain(d.C) || b.plain(d.H)) &&
			b.decided(d.L) && b.decided(d.C) && b.decided(d.H) {
			break
		}
	}
	return prescribed, delivered
}

// parts draws how much a case is off in value, chroma and hue.
func (b batch) parts(rng *rand.Rand) (parts [3]float64) {
	off := 0
	if b.attributes > 0 {
		off = 1 + rng.IntN(b.attributes)
	}
	for k, i := range rng.Perm(3) {
		size := mostHidden * rng.Float64() / b.spread()
		if b.spread() < 1 { // near to being seen
			size = mostHidden * (1 - b.room()*rng.Float64())
		}
		if k < off {
			most := b.most
			least := b.plainFrom()
			if i == 2 {
				most, least = min(most, mostHue), min(least, mostHue)
			}
			if b.spread() < 1 {
				most = least + max(0.45, b.room())*(most-least)
			}
			size = least + rng.Float64()*max(0, most-least)
		}
		parts[i] = size * float64(2*rng.IntN(2)-1)
	}
	return parts
}

// spread is how much more plainly than usual a case tells.
func (b batch) spread() float64 {
	if b.wide == 0 {
		return 1
	}
	return b.wide
}

// room is the share of a range of parts, from its end near the limit, that a less plain case
// is drawn from.
func (b batch) room() float64 { return max(0.05, 2*b.spread()-1) }

func (b batch) plainFrom() float64 { return leastPlain * max(1, b.spread()) }

func (b batch) plain(part float64) bool {
	least := b.plainFrom()
	if b.spread() > 1 { // bytes may fall a little short
		least *= 0.95
	}
	return math.Abs(part) >= least
}

func (b batch) decided(part float64) bool {
	hidden := mostHidden
	if b.spread() > 1 {
		hidden = hidden/b.spread() + 0.15
	}
	return b.plain(part) || math.Abs(part) <= hidden
}

// DeliveredOf is what came back in a trial of try-in; the prescription is the
// trial's target.
func DeliveredOf(t Trial) (colour.SRGB, bool) { return t.Patch(roleDelivered) }

// Simulate sees what came back with the observer's bias and scatter, and the
// prescription as it is, like the tabs of other exercises. A part is called the
// same up to the observer's SeenAt; the verdict is by the size of the difference,
// see [observer.Observer.Grades].
func (tryIn) Simulate(t Trial, _ Setup, who observer.Observer, rng *rand.Rand) Answer {
	delivered, _ := DeliveredOf(t)
	if rng.Float64() < who.Lapse {
		any := func() int { return rng.IntN(3) - 1 }
		return Answer{Directions: &Directions{any(), any(), any()}, Choice: Verdicts[rng.IntN(len(Verdicts))]}
	}
	d := colour.Compare(t.Target.Lab(), who.Perceive(delivered.Lab(), rng), colour.Unit)
	biased := observer.Shift(delivered.Lab(), who.BiasL, who.BiasC, who.BiasH)
	e := colour.DeltaE00(t.Target.Lab(), biased)
	return Answer{
		Directions: &Directions{Value: who.Tells(d.L), Chroma: who.Tells(d.C), Hue: who.Tells(d.H)},
		Choice:     Verdicts[who.Grades(e, rng)],
	}
}
