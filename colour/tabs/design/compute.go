package design

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// Brief is what is asked of a library.
type Brief struct {
	Name    string
	Groups  int
	Tabs    int
	End     float64 // from the region's end to the first group, in steps between groups
	Columns int     // of a full group; smaller ones take one less
	Wanted  float64 // largest error with in-betweens, ΔE00
	Seed    uint64
	Effort  int     // changes tried on each group in one pass
	Hops    int     // hops of the descent; none, and the plan is mended group by group instead
	Limit   float64 // largest error that the settling in bytes strives for, ΔE00
}

// The two built-in libraries.
var (
	NaturalBrief = Brief{Name: "natural", Groups: 11, Tabs: 120, End: 0.45, Columns: 4, Wanted: 1.74, Seed: 2, Effort: 300, Hops: 25, Limit: 1.785}
	StarterBrief = Brief{Name: "starter", Groups: 6, Tabs: 24, End: 0.45, Columns: 2, Wanted: 3.1, Seed: 2, Effort: 600}
)

// Numbers of the search; found by trial, they trade time for a little quality.
const (
	roughPitch   = 0.9 // ΔE00 between the colours that the first passes ask for
	finePitch    = 0.3
	passes       = 6
	rounds       = 10
	mends        = 20
	firstHeat    = 0.06
	lastHeat     = 0.005
	mendHeat     = 0.02
	near         = 0.1  // ΔE00 below the wanted error from which a colour is watched
	slack        = 0.05 // ΔE00 above it that is left alone
	descentPitch = 0.5  // ΔE00 between the colours that a descent asks for
	settlePitch  = 0.35 // and those that are asked for in bytes, before the peaks between them
)

// Compute designs a library. First come passes over all groups with falling heat.
// Then either all tabs move together and settle in bytes ([NaturalBrief]); or, for
// a plan with too few tabs to come near what is wanted, rounds follow in which the
// colours found farthest from any answer, with the real formula and on a fine
// grid, are watched.
func Compute(b Brief) (*tabs.Library, error) {
	st := newStage(tabs.Teeth, b.Groups, b.End, roughPitch, b.Wanted)
	rng := rand.New(rand.NewPCG(b.Seed, 0))
	w := &answers{}
	counts := st.shares(b.Tabs)
	fullest := 0
	for _, n := range counts {
		fullest = max(fullest, n)
	}
	for g, n := range counts {
		columns := b.Columns
		if 4*n < 3*fullest {
			columns--
		}
		st.set(g, st.start(g, n, max(1, columns)), w)
	}
	st.passes(b, rng, w)
	if b.Hops > 0 {
		return st.together(b)
	}
	return st.finish(b, rng, w)
}

// together moves all tabs at once, and then byte by byte.
func (st *stage) together(b Brief) (*tabs.Library, error) {
	rng := rand.New(rand.NewPCG(b.Seed, 1))
	f := newField(st.region, st.sheets, descentPitch)
	worst := f.descend(firstDescent)
	for range b.Hops {
		worst = f.hop(worst, rng)
	}
	s := newSettling(st.region, f.groups, f.dots, b.Limit)
	s.settle(rng)
	return s.library(b.Name)
}

// passes relaxes every group several times. Where the plane is the same at every
// lightness, sheets alternate between two plans, and only those two are relaxed:
// the others are their copies until the rounds.
func (st *stage) passes(b Brief, rng *rand.Rand, w *answers) {
	last := b.Groups - 1
	copyOf := func(g int) int {
		for o := g - 2; o >= 0; o -= 2 {
			if st.least[o] != st.least[g] || st.most[o] != st.most[g] || st.sheets[o].Len() != st.sheets[g].Len() {
				return min(g, o+2)
			}
		}
		return g % 2
	}
	leader := make([]int, b.Groups)
	for g := range leader {
		leader[g] = copyOf(g)
	}
	for pass := range passes {
		heat := firstHeat * (1 - float64(pass)/passes)
		for g := range st.sheets {
			if leader[g] != g && g != last {
				continue
			}
			st.relax(g, b.Effort, heat, rng, w)
			for o := g + 2; o < b.Groups; o += 2 {
				if leader[o] == g && (o != last || pass == 0) {
					st.set(o, st.sheets[g].clone().Columns, w)
				}
			}
		}
	}
}

// finish turns from the rough picture to the real one: shown bytes, the real
// formula, a fine grid. In each round the colours that come close to being too
// far are watched and all groups relaxed with little heat; then the group
// beside the worst colour is relaxed alone, and the outcome kept only if the
// worst colour is better off.
func (st *stage) finish(b Brief, rng *rand.Rand, w *answers) (*tabs.Library, error) {
	grid := st.region.Grid(finePitch)
	seen := make([]bool, len(grid))
	measure := func() (state, error) {
		l, err := Library(b.Name, st.sheets)
		if err != nil {
			return state{}, err
		}
		s := tabs.NewSheet(l, nil)
		var now state
		var watch []colour.Lab
		for i, c := range grid {
			e := s.Best(c).E
			now.worst = max(now.worst, e)
			if over := e - b.Wanted - slack; over > 0 {
				now.excess += math.Pow(over, 6)
				now.far = append(now.far, far{c, e})
			}
			if !seen[i] && e > b.Wanted-near {
				watch, seen[i] = append(watch, c), true
			}
		}
		st.watch(watch, w)
		return now, nil
	}
	now, err := measure()
	for round := 0; err == nil && round < rounds; round++ {
		for g := range st.sheets {
			st.relax(g, b.Effort, lastHeat*(1-float64(round+1)/rounds), rng, w)
		}
		now, err = measure()
	}
	for mend := 0; err == nil && mend < mends && now.worst > b.Wanted+slack; mend++ {
		slices.SortStableFunc(now.far, func(a, b far) int { return cmp.Compare(b.e, a.e) })
		g := st.beside(now.far[rng.IntN(min(len(now.far), 5))].colour, mend%2)
		old := st.sheets[g].clone()
		st.relax(g, b.Effort, mendHeat, rng, w)
		var next state
		if next, err = measure(); next.excess < now.excess {
			now = next
		} else {
			st.set(g, old.Columns, w)
		}
	}
	if err != nil {
		return nil, err
	}
	return Library(b.Name, st.sheets)
}

// state is how far a plan is from what is wanted, on the fine grid.
type state struct {
	worst, excess float64 // largest error; sum of sixth powers beyond the wanted one, so that the worst weigh most
	far           []far
}

type far struct {
	colour colour.Lab
	e      float64
}

// beside returns the group nearest to a colour in lightness, or the second
// nearest.
func (st *stage) beside(c colour.Lab, second int) int {
	order := make([]int, len(st.sheets))
	for g := range order {
		order[g] = g
	}
	slices.SortStableFunc(order, func(g, h int) int {
		return cmp.Compare(math.Abs(valueOf(st.sheets[g].L)-valueOf(c.L)), math.Abs(valueOf(st.sheets[h].L)-valueOf(c.L)))
	})
	return order[min(second, len(order)-1)]
}

// Natural computes the built-in library "natural".
func Natural() (*tabs.Library, error) { return Compute(NaturalBrief) }

// Starter computes the built-in library "starter".
func Starter() (*tabs.Library, error) { return Compute(StarterBrief) }
