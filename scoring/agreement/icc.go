package agreement

import (
	"math"

	"shadedrill/scoring"
)

// TwoWay is the analysis of variance of a complete table, items by raters, with one
// answer in each cell, in the letters of Shrout & Fleiss (1979).
type TwoWay struct {
	Items, Raters int
	BMS           float64 // between items
	WMS           float64 // within items
	JMS           float64 // between raters (judges)
	EMS           float64 // residual
}

func twoWay(r Ratings) TwoWay {
	n, k := float64(len(r)), float64(len(r[0]))
	var grand, scale float64
	itemMean, raterMean := make([]float64, len(r)), make([]float64, len(r[0]))
	for i, row := range r {
		for j, v := range row {
			itemMean[i] += v / k
			raterMean[j] += v / n
			grand += v / (n * k)
			scale += v * v
		}
	}
	var between, judges, within, residual float64
	for _, m := range itemMean {
		between += k * sq(m-grand)
	}
	for _, m := range raterMean {
		judges += n * sq(m-grand)
	}
	for i, row := range r {
		for j, v := range row {
			within += sq(v - itemMean[i])
			residual += sq(v - itemMean[i] - raterMean[j] + grand)
		}
	}
	return TwoWay{
		Items: len(r), Raters: len(r[0]),
		BMS: clean(between, scale) / (n - 1), WMS: clean(within, scale) / (n * (k - 1)),
		JMS: clean(judges, scale) / (k - 1), EMS: clean(residual, scale) / ((n - 1) * (k - 1)),
	}
}

// Intraclass are the six intraclass correlations of Shrout & Fleiss (1979), Psychol
// Bull 86:420–428. For calibrating people: Agreement (2,1) is lowered by constant
// differences between raters, Consistency (3,1) is not; their gap is the bias between
// people. The averages say how far the mean of all raters can be relied on.
type Intraclass struct {
	OneWay             scoring.Estimate // (1,1): each item rated by other people
	Agreement          scoring.Estimate // (2,1): raters a sample of all; absolute agreement
	Consistency        scoring.Estimate // (3,1): these raters only; a constant lean forgiven
	OneWayAverage      scoring.Estimate // (1,k)
	AgreementAverage   scoring.Estimate // (2,k)
	ConsistencyAverage scoring.Estimate // (3,k), Cronbach's α
	Anova              TwoWay           // of the ratings that took part
}

// IntraclassCorrelation computes all six from items by raters. When answers are missing
// the largest complete block is used and a warning says what was left out.
//
// Intervals of (1,·) and (3,·) are exact for normal effects, by F. That of (2,·) is
// the set of shares ρ for which σ²(items) − ρ·σ²(all) may be 0 by the modified
// large-sample method. The textbook interval with Satterthwaite's degrees of freedom
// (Shrout & Fleiss 1979; McGraw & Wong 1996) is not used: with 2 or 3 raters who differ
// it covers too little.
//
// Measured coverage at 95 % (10,000 runs; 5 to 50 items, 2 to 50 raters, from no to great
// differences between raters): (1,1) 94.5–95.4 %, (3,1) 94.3–95.4 %, (2,1) and (2,k)
// 94.8–97.2 %, the high ones with 2 raters. The textbook interval of (2,1) covered 77 %
// with 2 raters and 87 % with 3 where they differed as much as the items.
func IntraclassCorrelation(r Ratings, level float64) Intraclass {
	undefined := func(n int, why string) Intraclass {
		u := scoring.Undefined(n, why)
		return Intraclass{u, u, u, u, u, u, TwoWay{}}
	}
	if why := r.objection(level); why != "" {
		return undefined(len(r), why)
	}
	block, warning := r.complete()
	if len(block) == 0 {
		if len(r) < 2 {
			return undefined(len(r), "one item only: its variance between items is unknown")
		}
		return undefined(len(r), noSharedItems)
	}
	a := twoWay(block)
	n, k := float64(a.Items), float64(a.Raters)
	c := Intraclass{Anova: a}
	if a.BMS == 0 && a.WMS == 0 {
		return undefined(a.Items, "every rating is the same: no variance to share out")
	}
	one := fisherRatio(a.BMS, a.WMS, n-1, n*(k-1), level)
	three := fisherRatio(a.BMS, a.EMS, n-1, (n-1)*(k-1), level)
	c.OneWay, c.OneWayAverage = one.correlations(k, a.Items, level)
	c.Consistency, c.ConsistencyAverage = three.correlations(k, a.Items, level)
	c.Agreement, c.AgreementAverage = agreementCorrelations(a, level)
	if warning != "" {
		for _, e := range []*scoring.Estimate{&c.OneWay, &c.Agreement, &c.Consistency, &c.OneWayAverage, &c.AgreementAverage, &c.ConsistencyAverage} {
			*e = e.Warn(warning)
		}
	}
	return c
}

// fRatio is F = MS/MS with its limits.
type fRatio struct{ value, lo, hi float64 }

func fisherRatio(numerator, denominator, df1, df2, level float64) fRatio {
	tail := (1 - level) / 2
	f := numerator / denominator // +Inf when raters agree exactly
	return fRatio{f, f / fisherUpper(df1, df2, tail), f * fisherUpper(df2, df1, tail)}
}

// correlations are (F−1)/(F+k−1) and 1 − 1/F.
func (f fRatio) correlations(k float64, n int, level float64) (single, average scoring.Estimate) {
	if math.IsNaN(f.value) { // neither items nor residual vary
		u := scoring.Undefined(n, "neither the items nor what is left over varies: nothing to share out")
		return u, u
	}
	if math.IsInf(f.value, 1) {
		exact := scoring.Point(1, n, "no interval: raters agree exactly")
		return exact, exact
	}
	one := func(f float64) float64 { return (f - 1) / (f + k - 1) }
	single = scoring.Interval(one(f.value), one(f.lo), one(f.hi), level, n)
	if f.value == 0 {
		return single, scoring.Undefined(n, "the items do not differ on average: the reliability of the mean has no lower bound")
	}
	return single, scoring.Interval(1-1/f.value, 1-1/f.lo, 1-1/f.hi, level, n)
}

func agreementCorrelations(a TwoWay, level float64) (single, average scoring.Estimate) {
	n, k := float64(a.Items), float64(a.Raters)
	ms := []meanSquare{{a.BMS, n - 1}, {a.JMS, k - 1}, {a.EMS, (n - 1) * (k - 1)}}
	items := []float64{1 / k, 0, -1 / k}                           // σ² of items
	all := []float64{1 / k, 1 / n, 1 - 1/k - 1/n}                  // σ² of items, raters and residual
	up := func(r float64) float64 { return k * r / (1 + (k-1)*r) } // Spearman–Brown
	rho := combine(items, ms) / combine(all, ms)
	if math.IsNaN(rho) || combine(all, ms) <= 0 {
		u := scoring.Undefined(a.Items, "the variance components sum to nothing: no share can be given")
		return u, u
	}
	lo, hi := spreadOf(ms, level).ratio(items, all)
	lo, hi = min(lo, rho), max(hi, rho)
	single = scoring.Interval(rho, lo, hi, level, a.Items)
	if 1+(k-1)*lo <= 0 {
		return single, scoring.Undefined(a.Items, "the items do not differ on average: the reliability of the mean has no lower bound")
	}
	return single, scoring.Interval(up(rho), up(lo), up(hi), level, a.Items)
}
