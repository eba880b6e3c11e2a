package agreement

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
)

// Fleiss is Fleiss' kappa with its parts.
type Fleiss struct {
	Kappa      scoring.Estimate
	Z, P       float64 // of no agreement beyond chance; NaN when items have unequal numbers of ratings
	Categories []CategoryKappa
}

// CategoryKappa is the agreement on one category against all others.
type CategoryKappa struct {
	Category float64
	Share    float64 // of all answers
	Kappa    scoring.Estimate
}

// FleissKappa is the agreement of any number of raters on unordered categories beyond
// chance (Fleiss 1971, Psychol Bull 76:378–382; z by Fleiss, Nee & Landis 1979,
// Psychol Bull 86:974–977). It does not ask who said what: use it when raters are
// interchangeable. Items with missing answers take part with the answers they have
// (at least 2).
//
// The interval is Wilson's ([shareInterval]) around Krippendorff's α, which is κ without
// its bias in small samples, α = κ + (1 − κ)/answers (Krippendorff 2011), with the
// jackknife's variance over items.
//
// Measured coverage at 95 % (10,000 runs; 5 raters, six categories chosen right in 40 to
// 95 % of cases): 93.7–96.5 % for 10 items, 94.1–96.7 % for 20, 94.2–96.2 % for 30 to 100.
// Over 2 to 10 raters and 2 to 12 categories (1,000 runs each) 93.5–98.5 % for 20 items and
// more: above 97 % where two raters have few items, so that few outcomes are possible.
// With 10 items and 12 categories mostly mistaken it was as low as 88 %.
func FleissKappa(r Ratings, level float64) Fleiss {
	undefined := func(n int, why string) Fleiss {
		return Fleiss{Kappa: scoring.Undefined(n, why), Z: math.NaN(), P: math.NaN()}
	}
	if why := r.objection(level); why != "" {
		return undefined(len(r), why)
	}
	categories, counts, dropped := categoryCounts(r)
	n := len(counts)
	if n == 0 {
		return undefined(0, "no item was answered by two raters")
	}
	// Shares of the categories, over items, so that each item counts alike.
	share := make([]float64, len(categories))
	equal := true
	for _, c := range counts {
		m := total(c)
		equal = equal && m == total(counts[0])
		for k := range c {
			share[k] += c[k] / m / float64(n)
		}
	}
	if slices.Max(share) > 1-1e-12 {
		return undefined(n, "everyone chose one and the same category throughout: agreement beyond chance cannot be judged")
	}
	kappa := fleiss(counts, share, nil)
	f := Fleiss{Z: math.NaN(), P: math.NaN(), Kappa: kappa.interval(level)}
	if dropped > 0 {
		f.Kappa = f.Kappa.Warn(fmt.Sprintf("%d of %d items left out: fewer than 2 answers", dropped, len(r)))
	}
	if !equal {
		f.Kappa = f.Kappa.Warn("answers are missing: items have unequal numbers of ratings")
	} else {
		f.Z = kappa.value / fleissNullError(share, float64(n), total(counts[0]))
		f.P = 2 * distuv.UnitNormal.Survival(math.Abs(f.Z))
	}
	for k, c := range categories {
		ck := CategoryKappa{Category: c, Share: share[k], Kappa: scoring.Undefined(n, "everyone always or never chose this category")}
		if share[k] > 0 && share[k] < 1 {
			ck.Kappa = fleiss(counts, share, &k).interval(level)
		}
		f.Categories = append(f.Categories, ck)
	}
	return f
}

// fleissKappa is a kappa with what its interval is made from.
type fleissKappa struct {
	value    float64
	least    float64 // no kappa of such answers lies below it
	variance float64
	items    int
	answers  float64
}

// fleiss computes kappa over all categories, or of one against the rest.
func fleiss(counts [][]float64, share []float64, one *int) fleissKappa {
	n := float64(len(counts))
	agreement := make([]float64, len(counts))
	k := fleissKappa{items: len(counts)}
	var agreed float64
	for i, c := range counts {
		m := total(c)
		k.answers += m
		for j := range c {
			if one != nil && j != *one {
				continue
			}
			agreement[i] += c[j] * (c[j] - 1) / (m * (m - 1))
			if one != nil {
				rest := m - c[j]
				agreement[i] += rest * (rest - 1) / (m * (m - 1))
			}
		}
		agreed += agreement[i]
	}
	// expected is the agreement by chance without an item, or with all of them.
	expected := func(without int) (e float64) {
		for j, p := range share {
			if one != nil && j != *one {
				continue
			}
			if without >= 0 {
				c := counts[without]
				p = (n*p - c[j]/total(c)) / (n - 1)
			}
			e += p * p
			if one != nil {
				e += (1 - p) * (1 - p)
			}
		}
		return e
	}
	kappa := func(observed, expected float64) float64 {
		if expected > 1-1e-12 {
			return math.NaN()
		}
		return (observed - expected) / (1 - expected)
	}
	chance := expected(-1)
	k.value = kappa(agreed/n, chance)
	k.least = max(-chance/(1-chance), -1/(k.answers/n-1))
	if len(counts) > 1 {
		without := make([]float64, len(counts))
		for i := range counts {
			without[i] = kappa((agreed-agreement[i])/(n-1), expected(i))
		}
		k.variance = jackknifeVariance(without)
	}
	return k
}

func (k fleissKappa) interval(level float64) scoring.Estimate {
	if k.items < 2 {
		return scoring.Point(k.value, k.items, "needs at least 2 items for an interval")
	}
	lo, hi := shareInterval(k.value+(1-k.value)/k.answers, k.least, k.variance, k.items, level)
	return scoring.Interval(k.value, min(lo, k.value), max(hi, k.value), level, k.items)
}

func fleissNullError(share []float64, n, m float64) float64 {
	var pq, skew float64
	for _, p := range share {
		q := 1 - p
		pq += p * q
		skew += p * q * (q - p)
	}
	return math.Sqrt(2/(n*m*(m-1))*(pq*pq-skew)) / pq
}

// categoryCounts is a row of counts, one a category, for each item with at least 2
// answers.
func categoryCounts(r Ratings) (categories []float64, counts [][]float64, dropped int) {
	for _, row := range r {
		for _, v := range row {
			if !math.IsNaN(v) {
				categories = append(categories, v)
			}
		}
	}
	slices.Sort(categories)
	categories = slices.Compact(categories)
	for _, row := range r {
		c := make([]float64, len(categories))
		for _, v := range row {
			if !math.IsNaN(v) {
				k, _ := slices.BinarySearch(categories, v)
				c[k]++
			}
		}
		if total(c) < 2 {
			dropped++
			continue
		}
		counts = append(counts, c)
	}
	return categories, counts, dropped
}

func total(c []float64) float64 {
	var sum float64
	for _, v := range c {
		sum += v
	}
	return sum
}
