package tabs

import (
	"cmp"
	"math"
	"slices"

	"shadedrill/colour"
)

// The nearest of n colours by ΔE00 costs n evaluations of a formula full of
// trigonometry. Most can be spared exactly, with two lower bounds on
//
//		E² = (ΔL'/SL)² + (ΔC'/SC)² + (ΔH'/SH)² + RT·(ΔC'/SC)·(ΔH'/SH)
//
//	  - Lightness: the last three terms are never negative together, since
//	    |RT| < 2; so E ≥ |ΔL'|/SL. With x = |L̄'−50|, SL = 1 + 0.015x²/√(20+x²) is at
//	    most 1 + 0.015x, which changes by at most 0.0075 for each unit of L*; so with one
//	    colour fixed |ΔL'|/(1 + 0.015x) grows with |ΔL'|. Walking outwards from the
//	    target through colours sorted by L*, a side is finished once its bound
//	    exceeds the best found.
//	  - Plane: ΔC'² + ΔH'² = Δa'² + Δb² ≥ Δa² + Δb², as a' = (1+G)·a with G ≥ 0;
//	    and SH ≤ SC, because T ≤ 1.93 and 0.015·1.93 < 0.045. So the last three
//	    terms are at least (1 − |RT|/2)·(Δa² + Δb²)/SC². SC rises with C', which is
//	    at most hypot(1.5·a, b), as G ≤ 0.5.
//
// RT matters near the blue hue angle 275° only. Where both colours have b* ≥ 0
// the mean hue angle lies in 0..180°, θ is below 2e-5° and |RT| below 2e-6;
// anywhere |RT| ≤ 2·sin 60°.
const (
	rotationTooth    = 1 - 1e-6
	rotationAnywhere = 0.13 // below 1 − sin 60°
	// boundSlack covers the rounding of the bounds themselves.
	boundSlack = 1e-9
)

// index finds nearest colours exactly. It does not change once made.
type index struct {
	byL []entry
}

type entry struct {
	lab   colour.Lab
	reach float64 // at least C'
	id    int32
}

func reach(c colour.Lab) float64 { return math.Hypot(1.5*c.A, c.B) }

func newIndex(colours []colour.Lab) *index {
	x := &index{make([]entry, len(colours))}
	for i, c := range colours {
		x.byL[i] = entry{c, reach(c), int32(i)}
	}
	slices.SortStableFunc(x.byL, func(a, b entry) int { return cmp.Compare(a.lab.L, b.lab.L) })
	return x
}

// search walks outwards in lightness and calls visit for every colour that may
// lie within limit; visit returns the limit from there on.
func (x *index) search(target colour.Lab, limit float64, visit func(id int32, e float64) float64) {
	up, _ := slices.BinarySearchFunc(x.byL, target.L, func(e entry, l float64) int { return cmp.Compare(e.lab.L, l) })
	down := up - 1
	targetReach := reach(target)
	for up < len(x.byL) || down >= 0 {
		var at *entry
		goUp := down < 0 || up < len(x.byL) && x.byL[up].lab.L-target.L <= target.L-x.byL[down].lab.L
		if goUp {
			at = &x.byL[up]
			up++
		} else {
			at = &x.byL[down]
			down--
		}
		dL := at.lab.L - target.L
		sl := 1 + 0.015*math.Abs((at.lab.L+target.L)/2-50)
		room := (limit+boundSlack)*(limit+boundSlack)*(sl*sl) - dL*dL
		if room < 0 { // this side is finished
			if goUp {
				up = len(x.byL)
			} else {
				down = -1
			}
			continue
		}
		dA, dB := at.lab.A-target.A, at.lab.B-target.B
		sc := 1 + 0.0225*(at.reach+targetReach)
		keep := rotationTooth
		if at.lab.B < 0 || target.B < 0 {
			keep = rotationAnywhere
		}
		if keep*(dA*dA+dB*dB)*(sl*sl) > room*(sc*sc) {
			continue
		}
		limit = visit(at.id, colour.DeltaE00(target, at.lab))
	}
}

// nearest returns the colour nearest to the target and its ΔE00; of equally near
// colours the first. An empty index gives −1 and +Inf.
func (x *index) nearest(target colour.Lab) (id int, e float64) {
	return x.nearestBut(target, -1, math.Inf(1))
}

// nearestBut does the same where a colour is known already, and its ΔE00; of −1 for
// the colour, which then is none of these, where no other is nearer than that.
func (x *index) nearestBut(target colour.Lab, known int, e float64) (int, float64) {
	best, bestE := int32(known), e
	x.search(target, bestE, func(id int32, e float64) float64 {
		if e < bestE || e == bestE && id < best {
			best, bestE = id, e
		}
		return bestE
	})
	return int(best), bestE
}

// nearer counts the colours strictly nearer to the target than e.
func (x *index) nearer(target colour.Lab, e float64) int {
	n := 0
	x.search(target, e, func(_ int32, other float64) float64 {
		if other < e {
			n++
		}
		return e
	})
	return n
}
