package history

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"shadedrill/scoring"
	"shadedrill/scoring/trend"
)

// How near somebody takes a shade depends on what there is to take: from six tabs that lie
// far apart every answer is far off or exact. So that drills of different levels and
// libraries can stand beside each other, the seeing behind the answers is estimated (see
// [trend.BiasOfChoices]), and from its bias and scatter the distance that half of the
// answers would keep if every shade were there to take.

const (
	// fewestShades is how many answers a distance needs, mostShades how many of the newest
	// make one: house rules.
	fewestShades, mostShades = 12, 80
	// distanceBlocks is into how many blocks the answers fall for the interval.
	distanceBlocks = 8
)

// Distance is the ΔE00 within which half of somebody's shades would lie, from the newest
// answers given from one moment up to another that chose a tab. Its interval is that of
// the delete-a-block jackknife on the logarithm (B. Efron and C. Stein, Ann Stat
// 1981;9:586–596, from memory). Tried on observers with a scatter of 0.7 and 1.6 it came
// to 1.2 and 2.5 where 1.1 and 2.5 are true (one run of 80 answers each).
func Distance(kinds []*Kind, from, to time.Time) scoring.Estimate {
	var list []Judged
	for _, k := range kinds {
		for _, s := range k.Sittings {
			if s.Tested() || s.Started.Before(from) || !s.Started.Before(to) {
				continue
			}
			for _, j := range s.Judged {
				if j.sheet != nil {
					list = append(list, j)
				}
			}
		}
	}
	list = list[max(0, len(list)-mostShades):]
	n := len(list)
	if n < fewestShades {
		return scoring.Undefined(n, "needs at least 12 shades taken")
	}
	all := seenWithin(list)
	if math.IsNaN(all) {
		return scoring.Undefined(n, "the answers do not tell it")
	}
	var logs []float64
	for b := range distanceBlocks {
		var rest []Judged
		for i, j := range list {
			if i*distanceBlocks/n != b {
				rest = append(rest, j)
			}
		}
		if x := seenWithin(rest); x > 0 {
			logs = append(logs, math.Log(x))
		}
	}
	mean, sum := Average(logs), 0.0
	for _, x := range logs {
		sum += (x - mean) * (x - mean)
	}
	k := float64(len(logs))
	if k < 3 {
		return scoring.Undefined(n, "the answers do not tell it")
	}
	half := distuv.StudentsT{Sigma: 1, Nu: k - 1}.Quantile(0.5+Level/2) * math.Sqrt((k-1)/k*sum)
	return scoring.Estimate{Value: all, Lo: all * math.Exp(-half), Hi: all * math.Exp(half), Level: Level, N: n}
}

// seenWithin is the distance that half of what is seen keeps from what is there.
func seenWithin(list []Judged) float64 {
	var taken []scoring.Taken
	between := slices.ContainsFunc(list, func(j Judged) bool { return j.at.J >= 0 })
	for _, j := range list {
		if t, ok := scoring.TakenAt(j.sheet, j.Target.Lab(), j.at, between); ok {
			taken = append(taken, t)
		}
	}
	if len(taken) == 0 {
		return math.NaN()
	}
	c := trend.BiasOfChoices([][]scoring.Taken{taken}, Level)
	var at [3][]float64 // equally likely places along each axis
	const places = 11
	for a := range at {
		b, sd := c.Bias[a].Value, c.Scatter[a]
		if math.IsNaN(sd) {
			return math.NaN()
		}
		if math.IsNaN(b) {
			b = 0
		}
		for i := range places {
			at[a] = append(at[a], b+sd*distuv.UnitNormal.Quantile((float64(i)+0.5)/places))
		}
	}
	var sizes []float64
	for _, l := range at[0] {
		for _, c := range at[1] {
			for _, h := range at[2] {
				sizes = append(sizes, math.Sqrt(l*l+c*c+h*h))
			}
		}
	}
	return trend.Middle(sizes)
}
