package trend

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
)

// What is tabled of the normal distribution is gonum's to eight digits.
func TestNormalAt(t *testing.T) {
	for z := -9.0; z <= 9; z += 0.0037 {
		d, p := normalAt(z)
		if wd, wp := distuv.UnitNormal.Prob(z), distuv.UnitNormal.CDF(z); math.Abs(d-wd) > 1e-8 || math.Abs(p-wp) > 1e-8 {
			t.Fatalf("at %g: density %.10f, distribution %.10f; want %.10f, %.10f", z, d, p, wd, wp)
		}
	}
	for _, end := range []float64{math.Inf(-1), math.Inf(1)} {
		if d, p := normalAt(end); d != 0 || p != 0 && p != 1 {
			t.Errorf("at %g: %g, %g", end, d, p)
		}
	}
}

// The slopes and curvatures that the fit climbs by are those of what it climbs.
func TestSlopesOfChoices(t *testing.T) {
	taken := scoring.Taken{Darkest: -1.2, Lightest: 0.9, Groups: 12, Choices: 20}
	for x := -1.375; x < 1.5; x += 0.25 {
		taken.Cell = append(taken.Cell, tabs.Strip{Chroma: x, Width: 0.25, Reddest: -1 + 0.3*x, Yellowest: 1.4 - 0.2*x})
	}
	open := taken
	open.Darkest, open.Cell = math.Inf(-1), slices.Clone(taken.Cell)
	for i := range open.Cell {
		open.Cell[i].Yellowest = math.Inf(1)
	}
	for axes, one := range map[int]func(*scoring.Taken, *seeing, *parameters, *curvature) float64{1: valueOf, 2: planeOf} {
		logOf := func(t *scoring.Taken, at, score *parameters, bend *curvature) float64 {
			var from seeing
			from.look(at, axes)
			return math.Log(one(t, &from, score, bend))
		}
		for _, of := range []scoring.Taken{taken, open} {
			for _, at := range []parameters{{0.3, -0.4, -0.2, 0.3}, {-1.5, 2, 0.4, -0.5}} {
				var score parameters
				var bend curvature
				logOf(&of, &at, &score, &bend)
				const h = 1e-4
				for a := range at {
					up, down := at, at
					up[a], down[a] = at[a]+h, at[a]-h
					var s1, s2 parameters
					var unused curvature
					slope := (logOf(&of, &up, &s1, &unused) - logOf(&of, &down, &s2, &unused)) / (2 * h)
					if math.Abs(slope-score[a]) > 1e-4 {
						t.Errorf("slope %d at %v: %g, by differences %g", a, at, score[a], slope)
					}
					for b := a; b < len(at); b++ {
						if x := (s1[b] - s2[b]) / (2 * h); math.Abs(x-bend[a][b]) > 1e-4 {
							t.Errorf("curvature %d, %d at %v: %g, by differences %g", a, b, at, bend[a][b], x)
						}
					}
				}
			}
		}
	}
}

// The likelihood of very many answers is no product that vanishes.
func TestHeightOfManyAnswers(t *testing.T) {
	few := fitOf(0.5, 20)
	many := fitSeen(valueOf, 1, slices.Repeat(few.of, 50)) // 6,000 answers
	var one, all height
	few.look(&few.at, &one)
	many.look(&few.at, &all)
	z := few.at[1] - math.Log(usualSeen)
	own := -prior * z * z / 2
	if want := 50*(one.value-own) + own; math.Abs(all.value-want) > 1e-6 {
		t.Errorf("%.8f, want %.8f", all.value, want)
	}
}

// A step makes up for the slope along all that does not stay, and where there is no hill
// there is none.
func TestStepUpAHill(t *testing.T) {
	f := &seenFit{axes: 2}
	hill := curvature{{-9, 2, 1, -0.5}, {0, -7, 0.3, 1}, {0, 0, -12, 2}, {0, 0, 0, -5}}
	h := &height{bend: hill, slope: parameters{1, -2, 0.5, 0.7}}
	for _, stays := range [][4]bool{{}, {2: true}, {0: true, 3: true}} {
		step, gain, ok := f.step(h, stays, true)
		rise := 0.0
		for a := range step {
			left := h.slope[a]
			for b := range step {
				left += hill[min(a, b)][max(a, b)] * step[b]
			}
			if stays[a] && step[a] != 0 || !stays[a] && math.Abs(left) > 1e-7 {
				t.Errorf("%v: step %v leaves a slope of %g along %d", stays, step, left, a)
			}
			rise += h.slope[a] * step[a] / 2
		}
		if !ok || math.Abs(gain-rise) > 1e-9 {
			t.Errorf("%v: %t, gains %g, want %g", stays, ok, gain, rise)
		}
	}
	h.bend[1][2] = 20
	if _, _, ok := f.step(h, [4]bool{}, true); ok {
		t.Error("a saddle passes for a hill")
	}
}

// Whoever guesses has a scatter at the end of its range. The climb goes on along all else:
// at its top the other slopes are level.
func TestClimbAlongAnEnd(t *testing.T) {
	ends := 0
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 2))
		var all []scoring.Taken
		for range 240 {
			taken := scoring.Taken{Groups: 12, Choices: 20}
			taken.Darkest = 2 * float64(rng.IntN(12)-6) // any group, with targets anywhere
			taken.Darkest += 2 * rng.Float64()
			taken.Lightest = taken.Darkest + 2
			all = append(all, taken)
		}
		f := fitSeen(valueOf, 1, all)
		if _, most := f.ends(1); f.at[1] < most {
			continue
		}
		ends++
		var h height
		if f.look(&f.at, &h); math.Abs(h.slope[0]) > 0.01 {
			t.Errorf("seed %d: the slope along the bias is %.3g at %.3f", seed, h.slope[0], f.at[0])
		}
	}
	if ends < 10 {
		t.Errorf("only %d of 20 scatters are at the end", ends)
	}
}

// fitOf is a fit of 120 answers whose groups are 2 ΔE00 wide, of somebody with a bias along
// value, choices on offer in a group.
func fitOf(bias float64, choices int) *seenFit {
	rng := rand.New(rand.NewPCG(4, 5))
	var all []scoring.Taken
	for range 120 {
		from := 2*rng.Float64() - 1 // where the groups end, seen from the target
		seen := bias + 0.8*rng.NormFloat64()
		darkest := from + 2*math.Floor((seen-from)/2)
		all = append(all, scoring.Taken{Darkest: darkest, Lightest: darkest + 2, Groups: 12, Choices: choices})
	}
	return fitSeen(valueOf, 1, all)
}

// Along value the far end makes room for a way of one's own to measure however many are on
// offer; along chroma and hue only where few are.
func TestValueMakesRoomForOwnWays(t *testing.T) {
	of := func(choices int) Choices {
		var sittings [][]scoring.Taken
		all := fitOf(2.5, choices).of
		for i := range all {
			for x := -1.375; x < 1.5; x += 0.25 { // chroma and hue are 2.5 off as well
				all[i].Cell = append(all[i].Cell, tabs.Strip{Chroma: 2.5 + x, Width: 0.25, Reddest: 1.5, Yellowest: 3.5})
			}
		}
		for i := range 5 {
			sittings = append(sittings, all[24*i:24*(i+1)])
		}
		return BiasOfChoices(sittings, 0.95)
	}
	few, many := of(6), of(20)
	for a, name := range []string{"value", "chroma", "hue"} {
		more := few.Bias[a].Hi - many.Bias[a].Hi
		if name == "value" && math.Abs(more) > 0.02 || name != "value" && more < 0.1*few.Bias[a].Value {
			t.Errorf("%s: up to %.2f with few on offer, up to %.2f with many", name, few.Bias[a].Hi, many.Bias[a].Hi)
		}
	}
	if e := many.Bias[0]; e.Hi < 1.15*e.Value {
		t.Errorf("value: %.2f, up to %.2f only", e.Value, e.Hi)
	}
}

// The interval of a large bias reaches farther out, and its near end has what the far end
// leaves of 5 %: Student's t of 4 degrees of freedom, 2.132 one-sided and 2.776 two-sided
// (standard tables). Nothing jumps on the way there.
func TestIntervalOfALargeBias(t *testing.T) {
	const half = 0.3
	of := func(value float64) scoring.Estimate {
		return scoring.Interval(value, value-half, value+half, 0.95, 120)
	}
	for _, side := range []float64{1, -1} {
		few, many := fitOf(2.5*side, 6), fitOf(2.5*side, 20)
		if !few.few() || many.few() {
			t.Error("6 on offer are few, 20 are not")
		}
		ends := func(f *seenFit, value float64) (near, far float64) {
			e := f.outward(0, of(side*value), 5, 0.95, f.few())
			if side > 0 {
				return e.Lo, e.Hi
			}
			return -e.Hi, -e.Lo
		}
		if near, far := ends(few, 1.2); math.Abs(near-(1.2-half)) > 1e-9 || math.Abs(far-(1.2+half)) > 1e-9 {
			t.Errorf("%+.1f: %.3f to %.3f, want the interval as it was", 1.2*side, near, far)
		}
		if near, far := ends(few, 1.9); math.Abs(near-(1.9-half)) > 1e-9 || far < 1.15*1.9+half-1e-9 {
			t.Errorf("%+.1f: %.3f to %.3f: the near end moved before the far end had made up for it", 1.9*side, near, far)
		}
		if near, far := ends(few, 2.5); math.Abs(near-(2.5-half*2.132/2.776)) > 1e-3 || far < 1.15*2.5+half {
			t.Errorf("%+.1f, few on offer: %.3f to %.3f", 2.5*side, near, far)
		}
		if near, far := ends(many, 2.5); near <= 2.5-half || near >= 2.5-half*2.132/2.776 || far < 2.5+half || far > 2.5+2*half {
			t.Errorf("%+.1f, many on offer: %.3f to %.3f", 2.5*side, near, far)
		}
		for _, f := range []*seenFit{few, many} {
			wasNear, wasFar := ends(f, 1.2)
			for value := 1.21; value < 2.7; value += 0.01 {
				near, far := ends(f, value)
				if math.Abs(near-wasNear) > 0.03 || math.Abs(far-wasFar) > 0.08 {
					t.Errorf("%+.2f: from %.3f to %.3f, just before from %.3f to %.3f", value*side, near, far, wasNear, wasFar)
				}
				wasNear, wasFar = near, far
			}
		}
	}
}
