package exercises

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// OptionPatches fixes how many patches a row has, "4" to "9"; without it the
// rows of an attribute grow from the fewest to the most.
const OptionPatches = "patches"

// The shortest and the longest row. With the span below, the step from one patch
// to the next is 1.8 ΔE00 in the shortest and 0.9 in the longest.
const (
	fewestPatches = 5
	mostPatches   = 9
	// fewestAsked is the shortest row that can be asked for: of three patches, one look at
	// the middle one would be all.
	fewestAsked = 4
)

var patchesOption = Option{Name: OptionPatches, Counts: "patches in each row", Least: fewestAsked, Most: mostPatches,
	Usual: fmt.Sprintf("rows grow from %d to %d", fewestPatches, mostPatches)}

// lineUpSpan is the way from the first patch of a row to the last in ΔE00, the
// same for all rows, so that more patches mean finer steps: house rule. Four
// steps of [colour.Acceptability] or eight that are a little above
// [colour.Perceptibility].
const lineUpSpan = 7.2

// leastStep is the smallest ΔE00 between neighbours, as shown: a step that half of the
// observers cannot see has no order.
var leastStep = colour.Perceptibility.Value

// widestRow is how many times as long as usual a row can be: among tooth colours one in 15
// has room for a row by value of that length, and none for one of 3.8 times [computed].
var widestRow = map[string]float64{AttributeValue: 3, AttributeChroma: 1.55, AttributeHue: 1}

// lineUpAttributes are the three lessons in their order, with the direction in
// which a row runs: as the strips and sheets of the other exercises, from light to
// dark, to more chroma, to yellower.
var lineUpAttributes = []struct {
	name string
	to   colour.Direction
}{{AttributeValue, colour.Darker}, {AttributeChroma, colour.MoreChroma}, {AttributeHue, colour.LargerHue}}

// LineUp names it.
const LineUp KindID = "line-up"

// lineUp shows a handful of patches to be put in order by one attribute. The two
// others are held as constant as 8 bits allow, within 0.5 ΔE00, and not varied on
// purpose: an error then means that a step of this attribute was not seen, and the
// right order is also the shortest way along the row, which makes the excess path
// a measure of that error. Setting value apart from chroma is trained where whole
// tabs are compared.
type lineUp struct{}

func init() { register(lineUp{}) }

func (lineUp) ID() KindID    { return LineUp }
func (lineUp) Version() int  { return 2 }
func (lineUp) Title() string { return "Line-up" }
func (lineUp) Traits() Traits {
	return Traits{Unhurried: true, Narrows: true, Options: []Option{patchesOption}, Seconds: 20, UsualLevel: 18, Levels: []Level{
		{Spread: 2.6, Patches: 4}, {Spread: 2.3, Patches: 4}, {Spread: 3.4, Patches: 5}, {Spread: 2.6, Patches: 5}, {Spread: 2.3, Patches: 5}, {Spread: 2, Patches: 5},
		{Spread: 1.75, Patches: 5}, {Spread: 1.55, Patches: 5}, {Spread: 1.4, Patches: 5}, {Spread: 1.25, Patches: 5}, {Spread: 1.12, Patches: 5}, {Spread: 1, Patches: 5},
		{Spread: 1.15, Patches: 6}, {Spread: 1, Patches: 6}, {Spread: 1.12, Patches: 7}, {Spread: 1, Patches: 7}, {Spread: 1.1, Patches: 8}, {Spread: 1, Patches: 8}, {Spread: 1, Patches: 9},
	}}
}
func (lineUp) Trains() string {
	return "putting patches in order: by value, later by chroma, later by hue"
}

func (lineUp) NewRun(s Setup) (Run, error) {
	if err := s.checkCount(); err != nil {
		return nil, err
	}
	if err := checkWord("kind of target", string(s.Targets), string(NaturalTargets), string(TabTargets)); err != nil {
		return nil, err
	}
	if err := checkWord("attribute", s.Attribute, AttributeNames()...); err != nil {
		return nil, err
	}
	fixed, err := patchesOption.of(s)
	if err != nil {
		return nil, err
	}
	lamp, err := s.lamp()
	if err != nil {
		return nil, err
	}
	r := &lineUpRun{setup: s, lamp: lamp, fixed: fixed}
	if s.Targets != TabTargets {
		return r, nil
	}
	if s.Sheet == nil || s.Sheet.Len() == 0 {
		return nil, unusable("choose a library of tabs, or natural targets", "there is no library to take the colours from")
	}
	r.around = map[string][]colour.SRGB{}
	for i := range s.Count {
		lesson, _ := r.lesson(i)
		if _, known := r.around[lesson.name]; known {
			continue
		}
		if r.around[lesson.name] = usableMiddles(s.Sheet, lesson.to); len(r.around[lesson.name]) == 0 {
			return nil, unusable("choose another library, or natural targets",
				"library %q has no tab around which a row by %s can be shown", s.Sheet.Library(), lesson.name)
		}
	}
	return r, nil
}

// usableMiddles are the tabs around which a row has room, of a large library
// an even choice.
func usableMiddles(sheet *tabs.Sheet, to colour.Direction) (middles []colour.SRGB) {
	const enough = 500
	all := showableTabs(sheet)
	for k := range min(enough, len(all)) {
		shown := sheet.Shown(all[k*len(all)/min(enough, len(all))])
		if _, ok := rowThrough(shown.Lab(), to, fewestPatches, lineUpSpan); ok {
			middles = append(middles, shown)
		}
	}
	return middles
}

type lineUpRun struct {
	setup  Setup
	lamp   func(colour.Lab) colour.Lab
	fixed  int                      // patches in every row; 0 lets the rows grow
	around map[string][]colour.SRGB // middles of rows by attribute; nil for natural targets
	given  int
}

func (r *lineUpRun) Planned() int { return r.setup.Count }

func (r *lineUpRun) Take(Trial, Answer) { r.given++ }

// lesson is the attribute of a trial and the number of patches in its row: a
// third of the drill is for value, then one for chroma, the rest for hue, and
// within each the rows grow.
func (r *lineUpRun) lesson(ordinal int) (attribute struct {
	name string
	to   colour.Direction
}, patches int) {
	from, rows := 0, r.setup.Count
	lessons := lineUpAttributes[:]
	for r.setup.Attribute == "" && len(lessons) > 1 && r.setup.wide() > widestRow[lessons[len(lessons)-1].name] {
		lessons = lessons[:len(lessons)-1] // there is no room for so long a row
	}
	for i, a := range lessons {
		if r.setup.Attribute == "" {
			rest := len(lessons) - i
			rows = (r.setup.Count - from + rest - 1) / rest
		}
		if r.setup.Attribute == a.name || r.setup.Attribute == "" && ordinal < from+rows {
			attribute = a
			break
		}
		if r.setup.Attribute == "" {
			from += rows
		}
	}
	patches = r.fixed
	if patches == 0 {
		patches = fewestPatches
		if rows > 1 {
			patches += int(math.Round(float64((mostPatches-fewestPatches)*(ordinal-from)) / float64(rows-1)))
		}
	}
	return attribute, patches
}

func (r *lineUpRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	rng := r.setup.trialRand(r.given)
	lesson, n := r.lesson(r.given)
	row := r.draw(rng, lesson.name, lesson.to, n)
	t := Trial{Kind: LineUp, Version: lineUp{}.Version(), Ordinal: r.given, Scene: r.given, Part: lesson.name,
		Target: row[n/2], Level: meanStep(row)}
	for _, place := range muddle(rng, n) {
		t.Patches = append(t.Patches, Patch{"patch", row[place]})
	}
	return t, true
}

// muddle is a permutation that does not show the right order, from either end.
func muddle(rng *rand.Rand, n int) []int {
	for {
		order := rng.Perm(n)
		if !slices.IsSorted(order) && !slices.IsSortedFunc(order, func(a, b int) int { return b - a }) {
			return order
		}
	}
}

// draw finds a row whose steps can be seen and whose other attributes keep still,
// as shown. Most colours give one at the first try.
func (r *lineUpRun) draw(rng *rand.Rand, attribute string, to colour.Direction, n int) []colour.SRGB {
	var best []colour.SRGB
	worst := math.Inf(1)
	for range 40 {
		row := showRow(r.wish(rng, attribute, to, n), to)
		fault := rowFault(row, to)
		if fault < worst {
			best, worst = row, fault
		}
		if worst <= 0 {
			break
		}
	}
	return best
}

// wish draws a row as it would be without rounding.
func (r *lineUpRun) wish(rng *rand.Rand, attribute string, to colour.Direction, n int) []colour.Lab {
	span := lineUpSpan * min(r.setup.wide(), widestRow[attribute])
	if r.around != nil {
		middles := r.around[attribute]
		row, _ := rowThrough(middles[rng.IntN(len(middles))].Lab(), to, n, span)
		return row
	}
	// A row of hues needs a strong chroma, and is longer than the hues that teeth of
	// one lightness and chroma have: it keeps within what a single one may have. Few
	// colours have room for one, and the bound is far above what they need.
	region := tabs.Teeth
	if attribute == AttributeHue {
		region = tabs.ToothBox
	}
	for range 3000 {
		row, ok := rowThrough(region.Sample(rng), to, n, span)
		if !ok || slices.ContainsFunc(row, func(c colour.Lab) bool { return !region.Contains(c) }) {
			continue
		}
		// Under another lamp the row stands where the lamp puts its first patch,
		// with steps that are even as seen there: the order has to be plain.
		if row, ok = rowFrom(r.lamp(row[0]), to, n, span); ok {
			return row
		}
	}
	row, _ := rowFrom(r.lamp(colour.Lab{L: 80, A: 4, B: 24}), to, n, span)
	return row
}

// rowThrough is a row of n colours whose middle is given. It is not ok where there
// are no such colours, or the display cannot show them.
func rowThrough(middle colour.Lab, to colour.Direction, n int, span float64) (row []colour.Lab, ok bool) {
	half := span / float64(n-1) * float64(n/2)
	first, reached := colour.Step(middle, half, to.Opposite())
	row, ok = rowFrom(first, to, n, span)
	return row, ok && reached
}

func rowFrom(first colour.Lab, to colour.Direction, n int, span float64) (row []colour.Lab, ok bool) {
	row, ok = []colour.Lab{first}, true
	for len(row) < n {
		next, reached := colour.Step(row[len(row)-1], span/float64(n-1), to)
		row, ok = append(row, next), ok && reached
	}
	for _, c := range row {
		_, fits := c.SRGB()
		ok = ok && fits
	}
	return row, ok
}

// showRow gives each colour of a row the bytes that keep its place along the
// attribute first of all, and then the other two. Plain rounding would be off
// along the attribute by as much as across it.
func showRow(row []colour.Lab, to colour.Direction) []colour.SRGB {
	const around, alongCounts = 2, 5
	var shown []colour.SRGB
	for _, wished := range row {
		middle, _ := wished.SRGB()
		best, least := middle, math.Inf(1)
		for r := -around; r <= around; r++ {
			for g := -around; g <= around; g++ {
				for b := -around; b <= around; b++ {
					c := colour.SRGB{R: moved(middle.R, r), G: moved(middle.G, g), B: moved(middle.B, b)}
					along, across := parts(colour.Compare(wished, c.Lab(), colour.Unit), to)
					if miss := math.Hypot(alongCounts*along, across); miss < least {
						best, least = c, miss
					}
				}
			}
		}
		shown = append(shown, best)
	}
	return shown
}

// parts splits a difference into what runs along an attribute and the size of the
// rest.
func parts(d colour.Difference, to colour.Direction) (along, across float64) {
	along = d.L*to.L + d.C*to.C + d.H*to.H
	return along, math.Sqrt(max(0, d.L*d.L+d.C*d.C+d.H*d.H-along*along))
}

// rowFault says how far a row as shown is from what is asked of it: steps that can
// be seen, and all colours within stillness of the first in the other attributes.
// 0 or less is good.
func rowFault(row []colour.SRGB, to colour.Direction) float64 {
	const stillness = 0.5
	fault := math.Inf(-1)
	for i := range row {
		_, across := parts(colour.Compare(row[0].Lab(), row[i].Lab(), colour.Unit), to)
		fault = max(fault, across-stillness)
		if i > 0 {
			along, _ := parts(colour.Compare(row[i-1].Lab(), row[i].Lab(), colour.Unit), to)
			fault = max(fault, leastStep-along)
		}
	}
	return fault
}

func meanStep(row []colour.SRGB) float64 {
	sum := 0.0
	for i := range len(row) - 1 {
		sum += colour.DeltaE00(row[i].Lab(), row[i+1].Lab())
	}
	return sum / float64(len(row)-1)
}

// alongRow is where a colour belongs in the row of a line-up: the larger, the
// farther to the right. ok is false for an attribute that is none.
func alongRow(t Trial, c colour.Lab) (place float64, ok bool) {
	switch t.Part {
	case AttributeValue:
		return -c.L, true
	case AttributeChroma:
		return c.Chroma(), true
	case AttributeHue:
		// From the row's middle, since angles begin anew at 360°.
		return math.Remainder(c.LCh().H-t.Target.Lab().LCh().H, 360), true
	}
	return 0, false
}

// RightOrder lists the patches of a line-up in their right order, by their number
// in the trial; nil for a trial that is none. Equal patches keep their order.
func RightOrder(t Trial) []int {
	var order []int
	places := make([]float64, len(t.Patches))
	for i, p := range t.Patches {
		place, ok := alongRow(t, p.Colour.Lab())
		if !ok {
			return nil
		}
		places[i], order = place, append(order, i)
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(places[a], places[b]) })
	return order
}

// Simulate sees every patch once, with a scatter of its own, and lays them by what
// was seen. A bias moves all alike and changes no order. A lapse is any order.
func (lineUp) Simulate(t Trial, _ Setup, who observer.Observer, rng *rand.Rand) Answer {
	if rng.Float64() < who.Lapse {
		return Answer{Order: rng.Perm(len(t.Patches))}
	}
	places := make([]float64, len(t.Patches))
	order := make([]int, len(t.Patches))
	for i, p := range t.Patches {
		places[i], _ = alongRow(t, who.Perceive(p.Colour.Lab(), rng))
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(places[a], places[b]) })
	return Answer{Order: order}
}
