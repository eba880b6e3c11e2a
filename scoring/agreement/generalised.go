package agreement

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// generalisedDraws leave an end of an interval uncertain by about a hundredth of its
// width.
const generalisedDraws = 4000

// generalisedShare is the generalised interval of a variance component's share in the
// sum of all, none below 0: what the share would be for mean squares n·MS/χ²(n), with χ²
// drawn again and again (Weerahandi 1993, J Am Stat Assoc 88:899–905; for gauge studies
// Hamada & Weerahandi 2000, J Qual Technol 32:241–253; both from memory, its coverage
// measured by this package's tests). The draws are the same in every call, so that a
// study has one interval.
func generalisedShare(ms []meanSquare, level float64, of int, components ...[]float64) (lo, hi float64) {
	source := rand.NewPCG(1993, 88)
	shares := make([]float64, 0, generalisedDraws)
	drawn := make([]meanSquare, len(ms))
	for range generalisedDraws {
		for i, m := range ms {
			chi := distuv.ChiSquared{K: m.df, Src: source}.Rand()
			drawn[i] = meanSquare{m.value * m.df / chi, m.df}
		}
		var total, own float64
		for k, c := range components {
			v := math.Max(0, combine(c, drawn))
			total += v
			if k == of {
				own = v
			}
		}
		if total > 0 {
			shares = append(shares, own/total)
		}
	}
	if len(shares) == 0 {
		return 0, 1
	}
	slices.Sort(shares)
	tail := (1 - level) / 2 * float64(len(shares)-1)
	return shares[int(math.Round(tail))], shares[len(shares)-1-int(math.Round(tail))]
}
