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
// The interval is Student's t on the items' contributions to kappa (its influence
// function, as in Gwet 2021, Educ Psychol Meas 81:781–790), on items − 1.
//
// Measured coverage at 95 % (10,000 runs; 5 raters, six categories chosen right in 40 to
// 95 % of cases): 89.5–95.6 % for 20 items, 90.9–94.8 % for 30, 92.9–94.9 % for 50, low
// where agreement is low; with 10 items as low as 84.8 %. For few items take
// [KrippendorffAlpha], whose interval holds there.
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
	kappa, contributions := fleiss(counts, share, nil)
	f := Fleiss{Z: math.NaN(), P: math.NaN()}
	f.Kappa = contributionInterval(kappa, contributions, level)
	if dropped > 0 {
		f.Kappa = f.Kappa.Warn(fmt.Sprintf("%d of %d items left out: fewer than 2 answers", dropped, len(r)))
	}
	if !equal {
		f.Kappa = f.Kappa.Warn("answers are missing: items have unequal numbers of ratings")
	} else {
		f.Z = kappa / fleissNullError(share, float64(n), total(counts[0]))
		f.P = 2 * distuv.UnitNormal.Survival(math.Abs(f.Z))
	}
	for k, c := range categories {
		ck := CategoryKappa{Category: c, Share: share[k], Kappa: scoring.Undefined(n, "everyone always or never chose this category")}
		if share[k] > 0 && share[k] < 1 {
			value, parts := fleiss(counts, share, &k)
			ck.Kappa = contributionInterval(value, parts, level)
		}
		f.Categories = append(f.Categories, ck)
	}
	return f
}

// fleiss computes kappa over all categories, or of one against the rest, and what each
// item contributes: contributions have the mean kappa and the variance of its error.
func fleiss(counts [][]float64, share []float64, one *int) (kappa float64, contributions []float64) {
	agreement, chance := make([]float64, len(counts)), make([]float64, len(counts))
	var meanAgreement, expected float64
	for k, p := range share {
		if one != nil && k != *one {
			continue
		}
		expected += p * p
		if one != nil {
			expected += (1 - p) * (1 - p)
		}
	}
	for i, c := range counts {
		m := total(c)
		for k := range c {
			if one != nil && k != *one {
				continue
			}
			agreement[i] += c[k] * (c[k] - 1) / (m * (m - 1))
			chance[i] += share[k] * c[k] / m
			if one != nil {
				rest := m - c[k]
				agreement[i] += rest * (rest - 1) / (m * (m - 1))
				chance[i] += (1 - share[k]) * rest / m
			}
		}
		meanAgreement += agreement[i] / float64(len(counts))
	}
	kappa = (meanAgreement - expected) / (1 - expected)
	contributions = make([]float64, len(counts))
	for i := range counts {
		contributions[i] = kappa + (agreement[i]-meanAgreement)/(1-expected) - 2*(1-kappa)*(chance[i]-expected)/(1-expected)
	}
	return kappa, contributions
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

func contributionInterval(kappa float64, contributions []float64, level float64) scoring.Estimate {
	n := len(contributions)
	if n < 2 {
		return scoring.Point(kappa, n, "needs at least 2 items for an interval")
	}
	var squares float64
	for _, c := range contributions {
		squares += (c - kappa) * (c - kappa)
	}
	half := studentQuantile(level, float64(n-1)) * math.Sqrt(squares/float64(n-1)/float64(n))
	if half < 1e-9 {
		return scoring.Point(kappa, n, "no interval: all items agree to the same degree")
	}
	e := scoring.Interval(kappa, math.Max(-1, kappa-half), math.Min(1, kappa+half), level, n)
	if n < 20 {
		e = e.Warn("fewer than 20 items: the interval is rough")
	}
	return e
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
