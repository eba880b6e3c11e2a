package tabs

import (
	"cmp"
	"math"
	"slices"

	"shadedrill/colour"
)

// Limits of Check.
var (
	duplicateBelow = colour.Perceptibility.Value
	gapBeyond      = colour.Acceptability.Value
)

// checkPitch is the spacing, in ΔE00, of the region's colours that Check asks
// for.
const checkPitch = 0.5

// CheckResult says what a library is good for. Colours are the library's own, as
// computed or measured; only OffGamut speaks of a display.
type CheckResult struct {
	Library     string
	Fingerprint string
	Tabs        int
	Groups      []GroupCheck
	Region      string  // the colours asked for, e.g. "teeth"
	Pitch       float64 // their spacing in ΔE00
	// Alone is the coverage by tabs alone, WithBetween that by the colours halfway
	// between neighbours as well. Means are over the colours asked for, the largest
	// errors over the whole region, by branch and bound and true to maxTolerance.
	Alone, WithBetween Coverage
	// Duplicates are pairs of tabs below perceptibility, the closest first, at most
	// MostDuplicates of them; DuplicatePairs counts them all.
	Duplicates     []Duplicate
	DuplicatePairs int
	// Gaps are regions' colours beyond acceptability from every answer, gathered
	// around a few of them, the widest gap first. GapShare is their share of the
	// region, 0..1.
	Gaps     []Gap
	GapShare float64
	// OffGamut are tabs that a display cannot show, Outside those that lie beyond
	// what a measured tooth may be ([ToothBox]), by index.
	OffGamut, Outside []int
}

// GroupCheck is one value group: its name, how many tabs and columns its sheet
// has, its lightest and darkest L*.
type GroupCheck struct {
	Name              string
	Tabs, Columns     int
	Lightest, Darkest float64
}

// Duplicate is a pair of tabs, by index, that can hardly be told apart.
type Duplicate struct {
	I, J int
	E    float64
}

// Gap is a body of colours without an answer within acceptability.
type Gap struct {
	Colour colour.Lab // the one farthest from any answer
	E      float64    // how far
	Share  float64    // of the region's colours, 0..1
}

// mostDuplicates and mostGaps bound what Check lists.
const (
	mostDuplicates = 50
	mostGaps       = 8
	maxTolerance   = 0.002 // ΔE00
	// gapReach gathers colours into one gap: those within this ΔE00 of the
	// gap's farthest colour.
	gapReach = 4
)

// ofScreens says whether all colours are such as a screen shows to the byte. The
// tabs of a built-in library are; what lies between them is then a screen's colour
// too. Between measured tabs lies what an observer makes of them.
func ofScreens(colours []colour.Lab) bool {
	const rounded = 1e-5 // six decimals in a file
	for _, c := range colours {
		bytes, fits := c.SRGB()
		x := bytes.Lab()
		if !fits || max(math.Abs(x.L-c.L), math.Abs(x.A-c.A), math.Abs(x.B-c.B)) > rounded {
			return false
		}
	}
	return true
}

// Check examines a library against the colours of [Teeth], once.
func Check(l *Library) CheckResult { return l.check() }

func examine(l *Library) CheckResult {
	r := CheckResult{Library: l.name, Fingerprint: l.print, Tabs: l.Len(), Region: Teeth.Name, Pitch: checkPitch}
	own := make([]colour.Lab, l.Len())
	for i, t := range l.tabs {
		own[i] = t.Lab
		if _, fits := t.Lab.SRGB(); !fits {
			r.OffGamut = append(r.OffGamut, i)
		}
		if !ToothBox.Contains(t.Lab) {
			r.Outside = append(r.Outside, i)
		}
	}
	between := func(a, b colour.Lab) colour.Lab { return a.Mix(b, 0.5) }
	if ofScreens(own) {
		between = func(a, b colour.Lab) colour.Lab { return Halfway(a, b).Lab() }
	}
	answers := slices.Clone(own)
	first := 0
	for _, g := range l.groups {
		c := GroupCheck{Name: g.Name, Tabs: len(g.Tabs), Columns: len(intoColumns(g.Tabs)), Lightest: math.Inf(-1), Darkest: math.Inf(1)}
		group := own[first : first+len(g.Tabs)]
		for _, t := range group {
			c.Lightest, c.Darkest = max(c.Lightest, t.L), min(c.Darkest, t.L)
		}
		r.Groups = append(r.Groups, c)
		for _, p := range neighbourPairs(group, between) {
			answers = append(answers, between(group[p[0]], group[p[1]]))
		}
		first += len(g.Tabs)
	}
	region := Teeth.Grid(checkPitch)
	r.Alone = CoverageOf(region, own)
	r.WithBetween = CoverageOf(region, answers)
	r.Alone.Max = max(r.Alone.Max, farthestFrom(own))
	r.WithBetween.Max = max(r.WithBetween.Max, farthestFrom(answers))
	r.Gaps, r.GapShare = gaps(region, answers)
	r.Duplicates, r.DuplicatePairs = duplicates(own)
	return r
}

// farthestFrom is the ΔE00 from the colours given to the colour of [Teeth] that is
// farthest from all of them.
func farthestFrom(answers []colour.Lab) float64 {
	near := newIndex(answers)
	_, e := Teeth.farthest(maxTolerance, func(c colour.Lab) float64 { _, e := near.nearest(c); return e })
	return e
}

func gaps(region, answers []colour.Lab) (found []Gap, share float64) {
	near := newIndex(answers)
	var far []Gap
	for _, c := range region {
		if _, e := near.nearest(c); e > gapBeyond {
			far = append(far, Gap{Colour: c, E: e})
		}
	}
	share = float64(len(far)) / float64(len(region))
	slices.SortStableFunc(far, func(a, b Gap) int { return cmp.Compare(b.E, a.E) })
	for len(far) > 0 {
		g := far[0]
		before := len(far)
		far = slices.DeleteFunc(far, func(o Gap) bool { return colour.DeltaE00(g.Colour, o.Colour) <= gapReach })
		g.Share = float64(before-len(far)) / float64(len(region))
		found = append(found, g)
	}
	slices.SortStableFunc(found, func(a, b Gap) int { return cmp.Compare(b.Share, a.Share) })
	return found[:min(len(found), mostGaps)], share
}

// duplicates lists the closest pairs below the limit and counts them all.
func duplicates(own []colour.Lab) (closest []Duplicate, count int) {
	x := newIndex(own)
	for i, c := range own {
		x.search(c, duplicateBelow, func(j int32, e float64) float64 {
			if int(j) > i && e < duplicateBelow {
				count++
				closest = append(closest, Duplicate{i, int(j), e})
			}
			return duplicateBelow
		})
		if len(closest) > 20*mostDuplicates {
			closest = closestFew(closest)
		}
	}
	return closestFew(closest), count
}

func closestFew(d []Duplicate) []Duplicate {
	slices.SortStableFunc(d, func(a, b Duplicate) int {
		return cmp.Or(cmp.Compare(a.E, b.E), cmp.Compare(a.I, b.I), cmp.Compare(a.J, b.J))
	})
	return d[:min(len(d), mostDuplicates)]
}
