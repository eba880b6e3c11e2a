// Package tabs is the tab library: reference colours ordered as a shade taker
// uses them, value group first, then chroma and hue.
//
// A [Library] holds the colours as computed or as measured. A [Sheet] is a
// library as one screen shows it, in bytes; every mark is computed from a
// Sheet, because the truth is what was shown. The built-in libraries follow
// from a computation over the colours of teeth ([Teeth]); package
// colour/tabs/design states it and regenerates them.
package tabs

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"sync"

	"shadedrill/colour"
	"shadedrill/colour/fault"
)

// Tab is one reference colour of a library. A built-in tab is named by its
// rounded CIE coordinates, "L78 C16 h86"; an imported one has its owner's name.
type Tab struct {
	Name string
	Lab  colour.Lab
}

// Group is a value group: tabs of one lightness, or nearly. Value is the mean
// L* of its tabs. In a library its tabs stand in sheet order: by chroma column,
// weakest first, and within a column by hue angle, reddest first (see
// [Columns]).
type Group struct {
	Name  string
	Value float64
	Tabs  []Tab
}

// Library is a set of tabs in value groups, lightest group first. It does not
// change after [New], so it may be shared freely.
type Library struct {
	name, note string
	groups     []Group
	tabs       []Tab // all groups' tabs, one after the other
	groupOf    []int
	index      map[string]int
	print      string
	check      func() CheckResult // takes a second for a large one, and does not change
}

// mostTabs is the largest library accepted; the limit guards memory and
// patience, no method here needs it.
const mostTabs = 20000

// New builds a library from groups in any order. Groups are sorted lightest
// first, their tabs into sheet order, and each group's Value is computed. It
// returns a [fault.Error] when there is no tab, when a coordinate is not a
// CIELAB colour, or when a name is empty, used twice, or cannot be printed
// safely.
func New(name, note string, groups []Group) (*Library, error) {
	l := &Library{name: name, note: note, index: map[string]int{}}
	l.check = sync.OnceValue(func() CheckResult { return examine(l) })
	if err := checkName(name); err != nil {
		return nil, fault.New("the library's name "+err.Error(), "give the library a short name in letters and digits")
	}
	groupNames := map[string]bool{}
	for _, g := range groups {
		if len(g.Tabs) == 0 {
			continue
		}
		if err := checkName(g.Name); err != nil {
			return nil, fault.New("a group's name "+err.Error(), nameHint)
		}
		if groupNames[g.Name] {
			return nil, fault.New(fmt.Sprintf("two groups are called %q", g.Name), "give each value group a name of its own")
		}
		groupNames[g.Name] = true
		for _, t := range g.Tabs {
			if err := checkName(t.Name); err != nil {
				return nil, fault.New("a tab's name "+err.Error(), nameHint)
			}
			if err := checkLab(t.Lab); err != nil {
				return nil, fault.New(fmt.Sprintf("tab %q: %v", t.Name, err), labHint)
			}
		}
		l.groups = append(l.groups, Group{g.Name, meanLightness(g.Tabs), slices.Concat(intoColumns(g.Tabs)...)})
	}
	slices.SortStableFunc(l.groups, func(a, b Group) int { return compareFloats(b.Value, a.Value) })
	for gi, g := range l.groups {
		for _, t := range g.Tabs {
			if _, twice := l.index[t.Name]; twice {
				return nil, fault.New(fmt.Sprintf("two tabs are called %q", t.Name), "give each tab a name of its own")
			}
			l.index[t.Name] = len(l.tabs)
			l.tabs = append(l.tabs, t)
			l.groupOf = append(l.groupOf, gi)
		}
	}
	switch n := len(l.tabs); {
	case n == 0:
		return nil, fault.New("the library has no tabs", "a library needs at least one row: name,L,a,b")
	case n > mostTabs:
		return nil, fault.New(fmt.Sprintf("the library has %d tabs, more than %d", n, mostTabs), "split it into smaller libraries")
	}
	l.print = l.fingerprint()
	return l, nil
}

// Name returns the library's name.
func (l *Library) Name() string { return l.name }

// Note returns one line on where the library comes from.
func (l *Library) Note() string { return l.note }

// Groups returns the value groups, lightest first. The caller may keep and
// change the result.
func (l *Library) Groups() []Group {
	out := slices.Clone(l.groups)
	for i := range out {
		out[i].Tabs = slices.Clone(out[i].Tabs)
	}
	return out
}

// Len returns the number of tabs.
func (l *Library) Len() int { return len(l.tabs) }

// Tab returns the tab with index i, 0 ≤ i < Len, counting through the groups.
func (l *Library) Tab(i int) Tab { return l.tabs[i] }

// IndexOf finds a tab by its name.
func (l *Library) IndexOf(name string) (int, bool) {
	i, ok := l.index[name]
	return i, ok
}

// Fingerprint identifies the library's content: groups, names and coordinates
// to 1e-6, but not the library's own name or note. It is the first 16
// hexadecimal digits of a SHA-256.
func (l *Library) Fingerprint() string { return l.print }

func (l *Library) fingerprint() string {
	h := sha256.New()
	for _, g := range l.groups {
		fmt.Fprintf(h, "group %q\n", g.Name)
		for _, t := range g.Tabs {
			fmt.Fprintf(h, "%q %.6f %.6f %.6f\n", t.Name, t.Lab.L, t.Lab.A+0, t.Lab.B+0)
		}
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

func meanLightness(tabs []Tab) float64 {
	var sum float64
	for _, t := range tabs {
		sum += t.Lab.L
	}
	return sum / float64(len(tabs))
}
