package exercises

import (
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// The pairs of a drill, by how far they part: few wind as no tooth does, and none
// departs by more than a tenth. The table of colour/README.md, from 200 pairs a line
// with SHADEDRILL_HEAVY=1.
func TestPairsOfADrillAreLikeTeeth(t *testing.T) {
	pairs, slack := 40, 0.2
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		pairs, slack = 200, 0.06
	}
	rng := rand.New(rand.NewPCG(11, 0))
	daylight := func(c colour.Lab) colour.Lab { return c }
	draw := func(rng *rand.Rand) colour.SRGB { return drawShown(rng, daylight, tabs.NaturalTeeth.Sample) }
	lamps, err := lampsOf("")
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range []struct{ from, to, unlikely float64 }{{0, 0.8, 0}, {0.8, 1.8, 0}, {1.8, 4, 0.2}, {2.5, 4.5, 0.34}} {
		var departures []float64
		unlikely := 0
		for i := range pairs {
			m, ok := drawMetamers(rng, draw, lamps[1+i%(len(lamps)-1)], size.from, size.to, lamps)
			if !ok {
				t.Errorf("%g–%g under %s: no pair", size.from, size.to, lamps[1+i%(len(lamps)-1)].ID)
				continue
			}
			if m.Unlikely() {
				unlikely++
			}
			most := 0.0
			for j := range m.First.Values {
				most = max(most, math.Abs(m.First.Values[j]-m.Second.Values[j]))
			}
			departures = append(departures, most)
		}
		slices.Sort(departures)
		share := float64(unlikely) / float64(pairs)
		t.Logf("%g–%g: %.0f %% with four or more turning points; departure %.3f in the middle, at most %.3f",
			size.from, size.to, 100*share, departures[len(departures)/2], departures[len(departures)-1])
		if share > size.unlikely+slack || departures[len(departures)-1] > 0.1+1e-6 {
			t.Errorf("%g–%g: %.0f %% wind, one departs by %.3f", size.from, size.to, 100*share, departures[len(departures)-1])
		}
	}
}
