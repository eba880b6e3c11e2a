package agreement

import (
	"math"
	"testing"

	"shadedrill/scoring/trend"
)

// The modified large-sample limits are made so that they are exact in three cases. One
// mean square: χ².
func TestLimitsOfOneMeanSquare(t *testing.T) {
	lo, hi := spreadOf([]meanSquare{{4, 9}}, level).interval([]float64{0.5})
	near(t, "lower", lo, 0.5*9*4/chiSquareUpper(9, 0.025), 1e-9)
	near(t, "upper", hi, 0.5*9*4/chiSquareUpper(9, 0.975), 1e-9)
}

// A difference: the lower limit is 0 just where the F test is at its critical value, the
// upper one where F is at the other.
func TestLimitsOfADifferenceAgreeWithF(t *testing.T) {
	for _, df := range [][2]float64{{9, 18}, {2, 18}, {1, 19}, {49, 441}} {
		c := []float64{1 / 3., -1 / 3.}
		critical := fisherUpper(df[0], df[1], 0.025)
		lo, _ := spreadOf([]meanSquare{{critical, df[0]}, {1, df[1]}}, level).interval(c)
		near(t, "lower limit at the critical F", lo, 0, 1e-9)
		_, hi := spreadOf([]meanSquare{{1, df[0]}, {fisherUpper(df[1], df[0], 0.025), df[1]}}, level).interval(c)
		near(t, "upper limit at the critical F", hi, 0, 1e-9)
	}
}

// A sum weighted by degrees of freedom, of equal mean squares: the lower limit is that by
// χ² on both together.
func TestLimitsOfAPooledSum(t *testing.T) {
	lo, _ := spreadOf([]meanSquare{{3, 5}, {3, 12}}, level).interval([]float64{5, 12})
	near(t, "lower", lo, 17*17*3/chiSquareUpper(17, 0.025), 1e-8)
}

// Contributions to κ must have the spread that leaving out items one by one shows, also
// where categories are not equally common.
func TestFleissErrorAgainstJackknife(t *testing.T) {
	r := fromCounts(diagnoses + " 60000 60000 60000 60000 60000 60000 60000 60000 60000 60000 60000 60000")
	n := float64(len(r))
	var sum, squares float64
	for out := range r {
		rest := append(append(Ratings{}, r[:out]...), r[out+1:]...)
		k := FleissKappa(rest, level).Kappa.Value
		sum += k
		squares += k * k
	}
	jackknife := math.Sqrt((n - 1) / n * (squares - sum*sum/n))
	k := FleissKappa(r, level).Kappa
	near(t, "error of κ", (k.Hi-k.Lo)/2/trend.StudentQuantile(level, n-1)/jackknife, 1, 0.04)
}

// The delta-method error of α likewise.
func TestAlphaErrorAgainstJackknife(t *testing.T) {
	r := panel(rng(3), 60, 4, 1, 0.2, 0.7)
	for m := Nominal; m <= Interval; m++ {
		for i := range r {
			for j := range r[i] {
				r[i][j] = math.Round(2 * r[i][j])
			}
		}
		c, refusal := newCoincidences(r, m, level)
		if refusal != nil {
			t.Fatal(refusal.Warnings)
		}
		all := make([]int, len(c.items))
		for i := range all {
			all[i] = i
		}
		_, got := c.alphaAndError(all)
		n := float64(len(all))
		var sum, squares float64
		for out := range all {
			a := c.tally(append(append([]int{}, all[:out]...), all[out+1:]...)).alpha()
			sum += a
			squares += a * a
		}
		near(t, "error of α "+m.String(), got/math.Sqrt((n-1)/n*(squares-sum*sum/n)), 1, 0.12)
	}
}
