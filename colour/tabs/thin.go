package tabs

import (
	"fmt"
	"math"

	"shadedrill/colour"
)

// Thin is a library with at most so many value groups, evenly chosen with the lightest
// and the darkest, and in each at most so many tabs that lie as far apart as they can:
// to begin with. A limit of 0 is none. The same library gives the same.
func Thin(l *Library, groups, tabs int) (*Library, error) {
	all := l.groups
	if groups > 0 && groups < len(all) {
		var few []Group
		for i := range groups {
			at := (len(all) - 1) / 2
			if groups > 1 {
				at = int(math.Round(float64(i*(len(all)-1)) / float64(groups-1)))
			}
			few = append(few, all[at])
		}
		all = few
	}
	n := 0
	thin := make([]Group, len(all))
	for i, g := range all {
		thin[i] = Group{Name: g.Name, Tabs: farApart(g.Tabs, tabs)}
		n += len(thin[i].Tabs)
	}
	if n == l.Len() {
		return l, nil
	}
	return New(l.name, fmt.Sprintf("%d of the tabs of %s", n, l.name), thin)
}

// farApart takes n tabs, each the farthest from those taken before it; the first is the
// one farthest from the mean.
func farApart(tabs []Tab, n int) []Tab {
	if n <= 0 || n >= len(tabs) {
		return tabs
	}
	mean := tabs[0].Lab
	for i, t := range tabs {
		mean = mean.Mix(t.Lab, 1/float64(i+1))
	}
	least := make([]float64, len(tabs))
	for i, t := range tabs {
		least[i] = colour.DeltaE00(mean, t.Lab)
	}
	var taken []Tab
	for len(taken) < n {
		at := 0
		for i := range least {
			if least[i] > least[at] {
				at = i
			}
		}
		taken = append(taken, tabs[at])
		for i, t := range tabs {
			d := colour.DeltaE00(tabs[at].Lab, t.Lab)
			if len(taken) == 1 {
				least[i] = d
			} else {
				least[i] = min(least[i], d)
			}
		}
	}
	return taken
}
