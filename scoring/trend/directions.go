package trend

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"shadedrill/scoring"
)

// leastDirections is how many answers a bias is told from; fewer hold too few near
// the limit, which are those that tell.
const leastDirections = 20

// DirectionBias is the bias behind answers "more" (+1), "the same" (0) and "less"
// (−1), in the unit of shown, the signed differences that were there: a person with
// a bias of +0.5 sees 0.5 more than there is, and a difference of −0.5 looks like
// none. It is the shift of an ordered probit (after J. Aitchison and S. D. Silvey,
// Biometrika 44 (1957) 131–140; from memory):
//
//	more: shown + bias + scatter·z > limit     less: … < −limit     z standard normal
//
// with a share of lapses, fixed at 2 %. Limit and scatter have weak log-normal priors
// around what people have (0.8 and 0.6 ΔE00, each give or take a factor of about 2),
// so that answers in perfect order do not make the scatter vanish; the bias has none.
// The interval is by profile likelihood, with Student's t on n − 3 in the place of the
// normal quantile (which covers 92.9 % at 40 answers), and takes answers as independent.
//
// Measured coverage of the 95 % interval: see the recovery of the exercise try-in in
// the tests of scoring/reports/history, 60 answers each.
func DirectionBias(shown []float64, said []int, level float64) scoring.Estimate {
	n := len(shown)
	if why := objection(shown, level); why != "" {
		return scoring.Undefined(n, why)
	}
	if len(said) != n {
		return scoring.Undefined(n, fmt.Sprintf("%d differences and %d answers", n, len(said)))
	}
	if n < leastDirections {
		return scoring.Undefined(n, fmt.Sprintf("needs at least %d answers", leastDirections))
	}
	f := newOrdered(shown, said)
	if f.saidOneThing() {
		return scoring.Undefined(n, "the same answer was given every time")
	}
	best, top := f.best()
	t := StudentQuantile(level, float64(n-3))
	limit := t * t / 2
	lo, below := f.end(best, top-limit, -1)
	hi, above := f.end(best, top-limit, +1)
	if !below || !above {
		return scoring.Undefined(n, "the answers do not bound a bias")
	}
	return scoring.Interval(best, lo, hi, level, n)
}

const (
	directionLapses        = 0.02
	usualLimit, limitSD    = 0.8, 0.6 // SD of the logarithm
	usualScatter, scatSD   = 0.6, 0.7
	mostBias, biasPitch    = 6.0, 0.5
	binWidth               = 0.05 // differences are pooled so finely
	biasTolerance          = 1e-3
	leastChance, rootOfTwo = 1e-300, math.Sqrt2
)

// ordered holds the answers, pooled by difference.
type ordered struct {
	cells []orderedCell
	// the best limit and scatter found last, as logarithms: the start of the next
	// search
	last [2]float64
}

type orderedCell struct {
	shown float64
	count [3]float64 // less, the same, more
}

func newOrdered(shown []float64, said []int) *ordered {
	f := &ordered{last: [2]float64{math.Log(usualLimit), math.Log(usualScatter)}}
	byBin := map[int]*orderedCell{}
	for i, x := range shown {
		bin := int(math.Round(x / binWidth))
		if byBin[bin] == nil {
			byBin[bin] = &orderedCell{shown: float64(bin) * binWidth}
		}
		byBin[bin].count[1+max(-1, min(1, said[i]))]++
	}
	for _, c := range byBin {
		f.cells = append(f.cells, *c)
	}
	// In one order, so that the same answers give the same number to the last bit.
	slices.SortFunc(f.cells, func(a, b orderedCell) int { return cmp.Compare(a.shown, b.shown) })
	return f
}

func (f *ordered) saidOneThing() bool {
	var total [3]float64
	for _, c := range f.cells {
		for k := range total {
			total[k] += c.count[k]
		}
	}
	return (total[0] > 0 && total[1]+total[2] == 0) || (total[1] > 0 && total[0]+total[2] == 0) || (total[2] > 0 && total[0]+total[1] == 0)
}

func (f *ordered) logPosterior(bias, logLimit, logScatter float64) float64 {
	limit, scatter := math.Exp(logLimit), math.Exp(logScatter)
	a, b := (logLimit-math.Log(usualLimit))/limitSD, (logScatter-math.Log(usualScatter))/scatSD
	sum := -(a*a + b*b) / 2
	normal := func(z float64) float64 { return math.Erfc(-z/rootOfTwo) / 2 }
	for _, c := range f.cells {
		more := normal((c.shown + bias - limit) / scatter)
		less := normal((-c.shown - bias - limit) / scatter)
		for k, p := range [3]float64{less, 1 - more - less, more} {
			if c.count[k] > 0 {
				p = (1-directionLapses)*max(0, p) + directionLapses/3
				sum += c.count[k] * math.Log(max(leastChance, p))
			}
		}
	}
	return sum
}

// profile is the height at a bias with the best limit and scatter for it.
func (f *ordered) profile(bias float64) float64 {
	result, err := optimize.Minimize(optimize.Problem{Func: func(x []float64) float64 {
		return -f.logPosterior(bias, x[0], x[1])
	}}, f.last[:], &optimize.Settings{
		FuncEvaluations: 200,
		Converger:       &optimize.FunctionConverge{Absolute: 1e-4, Iterations: 8},
	}, &optimize.NelderMead{SimplexSize: 0.2})
	if err != nil && result == nil {
		return math.Inf(-1)
	}
	f.last = [2]float64{result.X[0], result.X[1]}
	return -result.F
}

// best is the bias with the highest profile: the best of a coarse row, then by
// golden section around it.
func (f *ordered) best() (bias, height float64) {
	height = math.Inf(-1)
	for x := -mostBias; x <= mostBias; x += biasPitch {
		if h := f.profile(x); h > height {
			bias, height = x, h
		}
	}
	const golden = 0.6180339887498949
	a, b := bias-biasPitch, bias+biasPitch
	x, y := b-golden*(b-a), a+golden*(b-a)
	hx, hy := f.profile(x), f.profile(y)
	for b-a > biasTolerance {
		if hx >= hy {
			b, y, hy = y, x, hx
			x = b - golden*(b-a)
			hx = f.profile(x)
		} else {
			a, x, hx = x, y, hy
			y = a + golden*(b-a)
			hy = f.profile(y)
		}
	}
	if hx >= hy {
		return x, max(hx, height)
	}
	return y, max(hy, height)
}

// end is where the profile falls to a height on one side of the best bias.
func (f *ordered) end(best, height, side float64) (bias float64, found bool) {
	inside, outside := best, best
	for step := 0.25; ; step *= 2 {
		outside += side * step
		if f.profile(outside) < height {
			break
		}
		if inside = outside; math.Abs(outside) > 4*mostBias {
			return 0, false
		}
	}
	for math.Abs(outside-inside) > biasTolerance {
		middle := (inside + outside) / 2
		if f.profile(middle) < height {
			outside = middle
		} else {
			inside = middle
		}
	}
	return (inside + outside) / 2, true
}
