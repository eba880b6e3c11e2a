package exercises

import (
	"math"
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Attributes that a drill can be narrowed to, as [Setup.Attribute] and as a
// trial's part.
const (
	AttributeValue  = "value"
	AttributeChroma = "chroma"
	AttributeHue    = "hue"
)

// AttributeNames are the three in the order in which they are looked at.
func AttributeNames() []string { return []string{AttributeValue, AttributeChroma, AttributeHue} }

// SeenAlone is the exercise in which an attribute is best seen by itself. House choice: a
// row shows value and chroma at once; hues are told apart where three patches are enough.
func SeenAlone(attribute string) KindID {
	if attribute == AttributeHue {
		return Halfway
	}
	return LineUp
}

// attributes are the three with the direction in which each grows.
var attributes = []struct {
	name string
	more colour.Direction
}{{AttributeValue, colour.Lighter}, {AttributeChroma, colour.MoreChroma}, {AttributeHue, colour.LargerHue}}

// Places is how many places between two ends can be named, the ends included: at
// one end, a quarter, half, three quarters of the way, at the other end.
const Places = 5

// The distance of the two ends in ΔE00; house rule. A quarter of it is 1.2 to 1.6:
// the border between two neighbouring answers then lies 0.6 to 0.8 from each, near
// what half of observers see (0.8). More would not fit: hue spans 5 to 7 in most
// teeth. As shown in bytes the four quarters differ a little; ends whose quarters
// leave the range below are drawn anew.
const (
	leastSpan, mostSpan       = 4.8, 6.4
	leastQuarter, mostQuarter = 0.9, 2.0
)

// Halfway names it.
const Halfway KindID = "halfway"

// halfway shows a target between two colours that differ along one attribute and
// asks where between them it lies. The target may lie anywhere; answers come in
// quarters, as they are given at the chair.
//
// The ends are made, unless tabs are asked for: pairs of tabs that differ in one
// attribute alone, and far enough, are few (42 in hue among the 110 tabs of
// "natural", 7 in "starter"), seldom quite alone, and soon known.
type halfway struct{}

func init() { register(halfway{}) }

func (halfway) ID() KindID    { return Halfway }
func (halfway) Version() int  { return 2 }
func (halfway) Title() string { return "Halfway" }
func (halfway) Traits() Traits {
	return Traits{Narrows: true, Seconds: 8, Levels: spreads(5, 3.8, 3, 2.4, 1.9, 1.5, 1.37, 1.25, 1.1, 1, 0.85), UsualLevel: 10}
}
func (halfway) Trains() string {
	return "where between two tabs a shade lies: at one, a quarter, half, three quarters"
}

func (halfway) NewRun(s Setup) (Run, error) {
	if err := s.checkCount(); err != nil {
		return nil, err
	}
	if err := checkWord("attribute", s.Attribute, AttributeNames()...); err != nil {
		return nil, err
	}
	if err := checkWord("kind of target", string(s.Targets), string(NaturalTargets), string(TabTargets)); err != nil {
		return nil, err
	}
	lamp, err := s.lamp()
	if err != nil {
		return nil, err
	}
	r := &halfwayRun{setup: s, lamp: lamp}
	if s.Targets == TabTargets {
		if err := s.checkSheet(); err != nil {
			return nil, err
		}
		r.pairs = pairsAlong(s.Sheet)
	}
	for i, a := range attributes {
		if (s.Attribute == "" && s.wide() <= widest[i] || s.Attribute == a.name) && (s.Targets != TabTargets || len(r.pairs[i]) > 0) {
			r.along = append(r.along, i)
		}
	}
	if len(r.along) == 0 {
		what := "one attribute"
		if s.Attribute != "" {
			what = s.Attribute
		}
		return nil, unusable("choose another library, or natural targets",
			"library %q has no two tabs that differ in %s alone, by %.1f to %.1f ΔE00", s.Sheet.Library(), what, leastTabSpan, mostTabSpan)
	}
	return r, nil
}

// widest is how many times as far apart as usual two ends can be in value, chroma and
// hue: the colours of teeth have no more room.
var widest = [3]float64{5, 1.9, 1.15}

type halfwayRun struct {
	setup Setup
	lamp  func(colour.Lab) colour.Lab
	along []int // the attributes asked, as indices
	pairs [3][][2]colour.SRGB
	given int
}

func (r *halfwayRun) Planned() int { return r.setup.Count }

func (r *halfwayRun) Take(Trial, Answer) { r.given++ }

func (r *halfwayRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	rng := r.setup.trialRand(r.given)
	attribute := r.along[r.setup.inTurn(r.given, len(r.along))]
	var ends [2]colour.SRGB
	if of := r.pairs[attribute]; len(of) > 0 {
		ends = of[rng.IntN(len(of))]
	} else {
		ends = r.drawEnds(rng, attributes[attribute].more, min(r.setup.wide(), widest[attribute]))
	}
	if rng.IntN(2) == 1 {
		ends[0], ends[1] = ends[1], ends[0]
	}
	target := nearestShown(ends[0].Lab().Mix(ends[1].Lab(), clearOf(rng.Float64(), r.setup.wide())))
	return Trial{Kind: Halfway, Version: halfway{}.Version(), Ordinal: r.given, Scene: r.given, Part: attributes[attribute].name,
		Target: target, Level: colour.DeltaE00(ends[0].Lab(), ends[1].Lab()),
		Patches: []Patch{{roleLeft, ends[0]}, {roleRight, ends[1]}}}, true
}

// fewPlaces is the spread from which on targets lie at the ends and in the middle: to begin
// with, and since the colours of teeth have no more room for ends further apart.
const fewPlaces = 4.5

// clearOf draws a share of the way towards the nearest place that can be named, where
// differences are larger than usual: at the border between two either is as good.
func clearOf(share, wide float64) float64 {
	if wide <= 1 {
		return share
	}
	if wide >= fewPlaces {
		return math.Floor(3*share) / 2
	}
	place := math.Round(share*(Places-1)) / (Places - 1)
	return place + (share-place)/(wide*wide)
}

const (
	roleLeft  = "left"
	roleRight = "right"
)

// drawEnds makes two colours of teeth at both sides of a third, so far apart as
// the rule says, that the display can show.
func (r *halfwayRun) drawEnds(rng *rand.Rand, more colour.Direction, wide float64) (ends [2]colour.SRGB) {
	// A hue pair fits around one tooth colour in some ten, others around more. Ends as far
	// apart as teeth allow hardly fit anywhere: then they come nearer until they do.
	fit := 1.0
	for try := range 1000 {
		if wide >= fewPlaces && try > 20 {
			fit = max(0.7, 0.9985*fit)
		}
		middle := tabs.Teeth.Sample(rng)
		half := fit * wide * (leastSpan + rng.Float64()*(mostSpan-leastSpan)) / 2
		usable := true
		for i, d := range []colour.Direction{more.Opposite(), more} {
			end, reached := colour.Step(middle, half, d)
			seen := r.lamp(end)
			_, fits := seen.SRGB()
			if usable = reached && fits && tabs.Teeth.Contains(end); !usable {
				break
			}
			ends[i] = nearestShown(seen)
		}
		if usable && evenQuarters(ends[0], ends[1], fit*wide) {
			break
		}
	}
	return ends
}

func evenQuarters(left, right colour.SRGB, wide float64) bool {
	last := left.Lab()
	for place := 1; place < Places; place++ {
		next := InBetween(left, right, place).Lab()
		if e := colour.DeltaE00(last, next); e < wide*leastQuarter || e > wide*mostQuarter {
			return false
		}
		last = next
	}
	return true
}

// nearestShown is the displayable colour nearest to another by ΔE00, in tooth
// colours never farther than 0.35 from it (20,000 colours tried). Rounding each byte
// by itself, as [colour.Lab.SRGB] does, is off by up to 0.8, too much for quarters
// of 1.2.
func nearestShown(c colour.Lab) colour.SRGB {
	middle, _ := c.SRGB()
	best, least := middle, math.Inf(1)
	for r := -1; r <= 1; r++ {
		for g := -1; g <= 1; g++ {
			for b := -1; b <= 1; b++ {
				shown := colour.SRGB{R: moved(middle.R, r), G: moved(middle.G, g), B: moved(middle.B, b)}
				if e := colour.DeltaE00(c, shown.Lab()); e < least {
					best, least = shown, e
				}
			}
		}
	}
	return best
}

// What two tabs must be like to be ends: differ along one attribute but for a
// little of the others, and far enough; house rules. The range of distances is
// wider than that of made ends, since tabs are where they are.
const (
	leastTabSpan = 4.0
	mostTabSpan  = 9.0
	mostAside    = 20.0 // degrees off the attribute's direction
	// mostCompared bounds the work for very large libraries, of which then some
	// tabs only are tried as the one end.
	mostCompared = 200_000
)

// pairsAlong lists the pairs of tabs that differ along each attribute.
func pairsAlong(sheet *tabs.Sheet) (pairs [3][][2]colour.SRGB) {
	list := showableTabs(sheet)
	rand.New(rand.NewPCG(1, uint64(len(list)))).Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	tried := min(len(list), max(1, mostCompared/len(list)))
	for i, one := range list[:tried] {
		from := sheet.Lab(one)
		for _, other := range list[i+1:] {
			to := sheet.Lab(other)
			if colour.DeltaE00Floor(from, to) > mostTabSpan {
				continue
			}
			d := colour.Compare(from, to, colour.Unit)
			if d.E < leastTabSpan || d.E > mostTabSpan || !sheet.Fits(one) || !sheet.Fits(other) {
				continue
			}
			for a := range attributes {
				if off := d.Direction().Angle(attributes[a].more); min(off, 180-off) <= mostAside {
					pairs[a] = append(pairs[a], [2]colour.SRGB{sheet.Shown(one), sheet.Shown(other)})
				}
			}
		}
	}
	return pairs
}

// EndsOf are the two ends that a trial of halfway shows, the left one first.
func EndsOf(t Trial) (left, right colour.SRGB, ok bool) {
	left, hasLeft := t.Patch(roleLeft)
	right, hasRight := t.Patch(roleRight)
	return left, right, hasLeft && hasRight
}

// InBetween is the displayable colour at a place between two ends: 0 is the left
// end, Places − 1 the right one, and on the straight way in CIELAB, as with the
// middle of two tabs (see [tabs.Halfway]).
func InBetween(left, right colour.SRGB, place int) colour.SRGB {
	switch place {
	case 0:
		return left
	case Places - 1:
		return right
	}
	return nearestShown(left.Lab().Mix(right.Lab(), float64(place)/(Places-1)))
}

// TakePlace is the answer "at this place". Screens and simulated learners both
// answer through it.
func TakePlace(left, right colour.SRGB, place int) Answer {
	share := float64(place) / (Places - 1)
	shown := InBetween(left, right, place)
	return Answer{Colour: &shown, Number: &share}
}

// NearestPlace is the place whose colour is nearest to another by ΔE00; of
// equally near ones the first.
func NearestPlace(left, right colour.SRGB, to colour.Lab) int {
	best, least := 0, math.Inf(1)
	for place := range Places {
		if e := colour.DeltaE00(to, InBetween(left, right, place).Lab()); e < least {
			best, least = place, e
		}
	}
	return best
}

// ShareOfWay is how far from the left end to the right one a colour lies: 0 at the
// left, 1 at the right, by its foot on the straight way between them in CIELAB, on
// which the places lie. NaN where both ends are the same.
func ShareOfWay(left, right, at colour.SRGB) float64 {
	a, b, c := left.Lab(), right.Lab(), at.Lab()
	way := colour.Lab{L: b.L - a.L, A: b.A - a.A, B: b.B - a.B}
	return ((c.L-a.L)*way.L + (c.A-a.A)*way.A + (c.B-a.B)*way.B) / (way.L*way.L + way.A*way.A + way.B*way.B)
}

// Simulate names the place that looks most like the target as seen; the ends are
// seen as they are, like the tabs of other exercises. A lapse is any place.
func (halfway) Simulate(t Trial, _ Setup, who observer.Observer, rng *rand.Rand) Answer {
	left, right, _ := EndsOf(t)
	if rng.Float64() < who.Lapse {
		return TakePlace(left, right, rng.IntN(Places))
	}
	return TakePlace(left, right, NearestPlace(left, right, who.Perceive(t.Target.Lab(), rng)))
}
