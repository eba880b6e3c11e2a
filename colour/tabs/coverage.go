package tabs

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"shadedrill/colour"
)

// Coverage says how near a set of answers comes to a set of colours: for each
// colour the ΔE00 to its nearest answer. The mean is the coverage error
// CE = (1/n) Σ min_j ΔE(tooth_i, reference_j) (as in Paravina et al., Journal of
// Prosthodontics 16 (2007) 269–276).
type Coverage struct {
	N    int     `json:"n"`    // colours asked for
	Mean float64 `json:"mean"` // the coverage error CE, ΔE00
	SD   float64 `json:"sd"`   // of the single errors; 0 for one colour
	P95  float64 `json:"p95"`  // 95 of 100 colours have an answer at most this far
	Max  float64 `json:"max"`
	// Worst holds the colours with the largest errors, the worst first, at most
	// ten and no two within 2 ΔE00 of each other.
	Worst []colour.Lab `json:"-"`
}

// CoverageOf measures how well answers cover colours. Neither may be empty.
func CoverageOf(colours, answers []colour.Lab) Coverage {
	near := newIndex(answers)
	return coverage(colours, func(c colour.Lab) float64 { _, e := near.nearest(c); return e })
}

// Coverage measures how well the sheet covers colours, with its tabs alone and
// with the colours between neighbours as well.
func (s *Sheet) Coverage(colours []colour.Lab) (tabs, withBetween Coverage) {
	tabs = coverage(colours, func(c colour.Lab) float64 { _, e := s.Nearest(c); return e })
	withBetween = coverage(colours, func(c colour.Lab) float64 { return s.Best(c).E })
	return tabs, withBetween
}

func coverage(colours []colour.Lab, err func(colour.Lab) float64) Coverage {
	n := len(colours)
	if n == 0 {
		return Coverage{}
	}
	errs := make([]float64, n)
	order := make([]int, n)
	for i, c := range colours {
		errs[i], order[i] = err(c), i
	}
	slices.SortStableFunc(order, func(i, j int) int { return compareFloats(errs[j], errs[i]) })
	c := Coverage{N: n, Max: errs[order[0]], P95: errs[order[n-int(math.Ceil(0.95*float64(n)))]]}
	c.Mean, c.SD = stat.MeanStdDev(errs, nil)
	if n == 1 {
		c.SD = 0
	}
	ranked := make([]colour.Lab, n)
	for k, i := range order {
		ranked[k] = colours[i]
	}
	c.Worst = spread(ranked, 2, 10)
	return c
}

// spread picks colours in the given order, leaving out any within apart of one
// already picked, until there are most.
func spread(colours []colour.Lab, apart float64, most int) []colour.Lab {
	var picked []colour.Lab
	for _, c := range colours {
		if !slices.ContainsFunc(picked, func(p colour.Lab) bool { return colour.DeltaE00(p, c) < apart }) {
			picked = append(picked, c)
			if len(picked) == most {
				break
			}
		}
	}
	return picked
}
