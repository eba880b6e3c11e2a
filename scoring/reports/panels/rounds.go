package panels

import (
	"fmt"
	"math"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
	"shadedrill/scoring/trend"
)

// roundSection sets an earlier session beside this one for the people of both: did
// they move together, and did they move towards the targets.
func (p *panel) roundSection(earlier *panel) (report.Section, string) {
	t := &report.Table{None: "nobody has answers in both sessions", Columns: []report.Column{
		{Key: "person", Title: "person", Left: true},
		{Key: "apart_before", Title: "from the team, then"}, {Key: "apart_now", Title: "from the team, now"},
		{Key: "bias_before", Title: "from the targets, then"}, {Key: "bias_now", Title: "from the targets, now"},
	}}
	var now, then []int
	for i, l := range p.people {
		if j := slices.IndexFunc(earlier.people, func(o scoring.Learner) bool { return o.ID == l.ID }); j >= 0 {
			now, then = append(now, i), append(then, j)
		}
	}
	apartThen, biasThen := earlier.distances(then)
	apartNow, biasNow := p.distances(now)
	for k, i := range now {
		t.Rows = append(t.Rows, []report.Cell{report.Text(p.people[i].Name), report.DeltaE(apartThen[k]), report.DeltaE(apartNow[k]), report.DeltaE(biasThen[k]), report.DeltaE(biasNow[k])})
	}
	together, towards := trend.Paired(apartThen, apartNow, history.Level), trend.Paired(biasThen, biasNow, history.Level)
	verdict := fmt.Sprintf("Against %s, %s in both: %s; %s.", earlier.asked.Name, scoring.Count(len(now), "person", "people"),
		movedWords(together.Change, "they moved together", "they moved apart", "no change of how far apart they are beyond chance", "whether they moved together cannot be told"),
		movedWords(towards.Change, "towards the targets", "away from the targets", "no change against the targets beyond chance", "whether towards the targets cannot be told"))
	if !p.hasColours || !earlier.hasColours {
		verdict = "Against " + earlier.asked.Name + ": answers that are no colours have no distances to compare."
	}
	return report.Section{Key: "rounds", Title: "This session and " + earlier.asked.Name, Table: t, Notes: []string{
		"In ΔE00 units. From the team: how far a person's mean error lies from the mean of the people in both sessions. From the targets: its own length. A single number has chance in it; the sentence on top takes the change over all people, with its interval.",
		fmt.Sprintf("Change over people: from the team %s, from the targets %s.", intervalWords(together.Change), intervalWords(towards.Change)),
	}}, verdict
}

// distances are, of the people named, how far each one's mean error lies from the mean
// of them all and from none at all.
func (p *panel) distances(people []int) (apart, bias []float64) {
	errors := make([][3]float64, len(people))
	var centre [3]float64
	for k, i := range people {
		for axis := range centre {
			sum, n := 0.0, 0.0
			for _, item := range p.items {
				if m, ok := meanPart(item.answers[i], axis); ok {
					sum, n = sum+m, n+1
				}
			}
			errors[k][axis] = sum / n
			centre[axis] += errors[k][axis] / float64(len(people))
		}
	}
	for _, e := range errors {
		var from, own float64
		for axis := range centre {
			from += (e[axis] - centre[axis]) * (e[axis] - centre[axis])
			own += e[axis] * e[axis]
		}
		apart, bias = append(apart, math.Sqrt(from)), append(bias, math.Sqrt(own))
	}
	return apart, bias
}

func movedWords(e scoring.Estimate, nearer, farther, same, untold string) string {
	switch {
	case !e.HasInterval():
		return untold
	case e.Covers(0):
		return same
	case e.Value < 0:
		return fmt.Sprintf("%s by %.1f ΔE00 (%.1f to %.1f%s)", nearer, -e.Value, -e.Hi, -e.Lo, e.RoughWord())
	}
	return fmt.Sprintf("%s by %.1f ΔE00 (%.1f to %.1f%s)", farther, e.Value, e.Lo, e.Hi, e.RoughWord())
}

func intervalWords(e scoring.Estimate) string {
	if !e.HasInterval() {
		return "cannot be told"
	}
	return report.Words(report.Signed(e))
}
