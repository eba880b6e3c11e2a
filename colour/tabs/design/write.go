package design

import (
	"fmt"
	"io"
	"math"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
)

// rounded brings the plan to the nearest bytes inside the region, by group.
func (f *field) rounded() [][]colour.SRGB {
	groups := make([][]colour.SRGB, len(f.groups))
	for _, d := range f.dots {
		groups[d.group] = append(groups[d.group], nearestBytes(f.region, d.lab))
	}
	return groups
}

func nearestBytes(r tabs.Region, to colour.Lab) (nearest colour.SRGB) {
	const reach = 4 // codes
	about, _ := to.SRGB()
	least := math.Inf(1)
	for k := range (2*reach + 1) * (2*reach + 1) * (2*reach + 1) {
		by := func(k int) uint8 { return uint8(k%(2*reach+1) - reach) }
		next := colour.SRGB{R: about.R + by(k), G: about.G + by(k/(2*reach+1)), B: about.B + by(k/(2*reach+1)/(2*reach+1))}
		if d := colour.DeltaE00(to, next.Lab()); d < least && r.Contains(next.Lab()) {
			nearest, least = next, d
		}
	}
	return nearest
}

// library makes a library of tabs by group. A group is named by its mean lightness, a
// tab by that and by the rounded chroma and hue of its own colour.
func library(name string, of [][]colour.SRGB) (*tabs.Library, error) {
	var groups []tabs.Group
	for _, bytes := range of {
		mean := 0.0
		for _, t := range bytes {
			mean += t.Lab().L / float64(len(bytes))
		}
		g := tabs.Group{Name: fmt.Sprintf("L%.0f", mean)}
		for _, t := range bytes {
			lch := t.Lab().LCh()
			g.Tabs = append(g.Tabs, tabs.Tab{Name: fmt.Sprintf("%s C%.0f h%.0f", g.Name, lch.C, lch.H), Lab: t.Lab()})
		}
		groups = append(groups, g)
	}
	return tabs.New(name, "", groups)
}

// WriteCSV writes a library in the form that tabs.ReadCSV reads. Six decimals
// bring back the very bytes.
func WriteCSV(w io.Writer, l *tabs.Library, comment string) error {
	if _, err := fmt.Fprintf(w, "# %s\nname,L,a,b,group\n", comment); err != nil {
		return err
	}
	for _, g := range l.Groups() {
		for _, t := range g.Tabs {
			if _, err := fmt.Fprintf(w, "%s,%.6f,%.6f,%.6f,%s\n", t.Name, t.Lab.L, t.Lab.A, t.Lab.B, g.Name); err != nil {
				return err
			}
		}
	}
	return nil
}
