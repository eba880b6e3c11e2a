package exercises

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/colour/fault"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// OptionPairs is how many tabs each of the two sets has.
const OptionPairs = "pairs"

const (
	usualPairs = 12
	// Of two or three tabs chance alone pairs all too often; more than 60 lie on
	// no table. House rule.
	fewestPairs, mostPairs = 4, 60
)

// Bench names it.
const Bench KindID = "bench"

var pairsOption = Option{Name: OptionPairs, Counts: "tabs in each of the two sets", Least: fewestPairs, Most: mostPairs,
	Usual: fmt.Sprintf("%d, or what the library has", usualPairs)}

// bench is done with real tabs in the hand: two sets of the same tabs, masked.
// The program draws how they are to be laid out and takes the pairs; it shows no
// colour. A setup's Count is the number of rounds.
type bench struct{}

func init() { register(bench{}) }

func (bench) ID() KindID    { return Bench }
func (bench) Version() int  { return 2 }
func (bench) Title() string { return "Bench" }
func (bench) Traits() Traits {
	return Traits{ByHand: true, Options: []Option{pairsOption}, ItemsPerTrial: OptionPairs}
}
func (bench) Trains() string {
	return "real tabs in the hand: find the pairs of two masked sets"
}

// BenchLibrary is the sheet if it is of the user's own tabs, and nil for none and
// for built-in libraries, which nobody holds in the hand.
func BenchLibrary(sheet *tabs.Sheet) *tabs.Sheet {
	if sheet == nil || sheet.Len() == 0 || slices.Contains(tabs.Builtin(), sheet.Library()) {
		return nil
	}
	return sheet
}

func (bench) NewRun(s Setup) (Run, error) {
	if err := s.checkCount(); err != nil {
		return nil, err
	}
	if _, err := s.lamp(); err != nil {
		return nil, err
	}
	r := &benchRun{setup: s}
	if own := BenchLibrary(s.Sheet); own != nil {
		r.tabs = distinct(own)
	}
	r.pairs = usualPairs
	if r.tabs != nil {
		r.pairs = min(r.pairs, len(r.tabs))
	}
	switch n, err := pairsOption.of(s); {
	case err != nil:
		return nil, err
	case n > 0:
		r.pairs = n
	}
	if r.tabs == nil {
		for i := range r.pairs {
			r.tabs = append(r.tabs, i)
		}
	}
	if len(r.tabs) < max(r.pairs, fewestPairs) {
		return nil, unusable(fmt.Sprintf("take fewer pairs (at least %d), or a library with more colours", fewestPairs),
			"%d pairs cannot be laid out: library %q has fewer colours that differ, %d", max(r.pairs, fewestPairs), s.Sheet.Library(), len(r.tabs))
	}
	return r, nil
}

// distinct lists one tab of each measured colour: two of the same could be
// exchanged without an error.
func distinct(own *tabs.Sheet) []int {
	seen := map[colour.Lab]bool{}
	var list []int
	for i := range own.Len() {
		if c := own.Measured(i); !seen[c] {
			seen[c] = true
			list = append(list, i)
		}
	}
	return list
}

type benchRun struct {
	setup Setup
	tabs  []int // to draw from
	pairs int
	given int
}

func (r *benchRun) Planned() int { return r.setup.Count }

// Next draws which tabs lie on the table, where the library has more than a set
// takes, and the order of both sets: no place tells anything about its tab.
func (r *benchRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	rng := r.setup.trialRand(r.given)
	var l Layout
	for _, k := range rng.Perm(len(r.tabs))[:r.pairs] {
		l.A = append(l.A, r.tabs[k])
	}
	for _, k := range rng.Perm(r.pairs) {
		l.B = append(l.B, l.A[k])
	}
	return Trial{Kind: Bench, Version: bench{}.Version(), Ordinal: r.given, Scene: r.given, Key: l.String()}, true
}

func (r *benchRun) Take(Trial, Answer) { r.given++ }

// Layout says which tab lies at each place of the two sets, from left to right.
// Tabs are indices of the user's library, or count from 0 where there is none.
//
// The answer to a round is Answer.Order: for each place of set A the place in set
// B of the tab that was found to be its pair, or −1 for none.
type Layout struct{ A, B []int }

// String is the layout as a trial's key holds it: "4 0 2 | 2 4 0".
func (l Layout) String() string {
	return strings.Trim(fmt.Sprint(l.A), "[]") + " | " + strings.Trim(fmt.Sprint(l.B), "[]")
}

// LayoutOf reads the layout of a bench trial.
func LayoutOf(t Trial) (Layout, error) {
	var l Layout
	a, b, ok := strings.Cut(t.Key, "|")
	if !ok {
		return l, fmt.Errorf("trial %d holds no layout of two sets", t.Ordinal+1)
	}
	for i, set := range []*[]int{&l.A, &l.B} {
		for _, word := range strings.Fields([]string{a, b}[i]) {
			tab, err := strconv.Atoi(word)
			if err != nil || tab < 0 {
				return Layout{}, fmt.Errorf("trial %d: %q is no tab", t.Ordinal+1, fault.Excerpt(word))
			}
			*set = append(*set, tab)
		}
	}
	if len(l.A) == 0 || len(l.A) != len(l.B) {
		return Layout{}, fmt.Errorf("trial %d: sets of %d and %d tabs", t.Ordinal+1, len(l.A), len(l.B))
	}
	return l, nil
}

// Names lists what lies at each place, for whoever lays out the tabs: names of
// the user's library, or "tab 1" … as numbered on their backs.
func (l Layout) Names(sheet *tabs.Sheet) (a, b []string) {
	name := func(i int) string {
		if own := BenchLibrary(sheet); own != nil && i < own.Len() {
			return own.Name(i)
		}
		return fmt.Sprintf("tab %d", i+1)
	}
	for k := range l.A {
		a, b = append(a, name(l.A[k])), append(b, name(l.B[k]))
	}
	return a, b
}

// Taken is the tab of set B that an answer pairs with a place of set A; ok is
// false where the answer names no place.
func (l Layout) Taken(order []int, place int) (tab int, ok bool) {
	if place >= len(order) || order[place] < 0 || order[place] >= len(l.B) {
		return 0, false
	}
	return l.B[order[place]], true
}

// Simulate looks once at every tab, with the observer's scatter, and pairs what
// seems nearest, the surest pairs first. Without a library it has tabs of its own:
// so many colours of teeth, drawn once and for all.
func (bench) Simulate(t Trial, s Setup, who observer.Observer, rng *rand.Rand) Answer {
	l, err := LayoutOf(t)
	if err != nil {
		return Answer{}
	}
	n := len(l.A)
	if rng.Float64() < who.Lapse {
		return Answer{Order: rng.Perm(n)}
	}
	own := BenchLibrary(s.Sheet)
	standIn := rand.New(rand.NewPCG(16, 1))
	var madeUp []colour.Lab
	for range n {
		madeUp = append(madeUp, tabs.NaturalTeeth.Sample(standIn))
	}
	look := func(i int) colour.Lab {
		switch {
		case own != nil && i < own.Len():
			return who.Perceive(own.Measured(i), rng)
		case i < n:
			return who.Perceive(madeUp[i], rng)
		}
		return colour.Lab{}
	}
	var a, b []colour.Lab
	for k := range n {
		a, b = append(a, look(l.A[k])), append(b, look(l.B[k]))
	}
	type pair struct {
		i, j int
		e    float64
	}
	var all []pair
	for i := range n {
		for j := range n {
			all = append(all, pair{i, j, colour.DeltaE00(a[i], b[j])})
		}
	}
	slices.SortStableFunc(all, func(p, q pair) int { return cmp.Compare(p.e, q.e) })
	order := slices.Repeat([]int{-1}, n)
	taken := make([]bool, n)
	for _, p := range all {
		if order[p.i] < 0 && !taken[p.j] {
			order[p.i], taken[p.j] = p.j, true
		}
	}
	return Answer{Order: order}
}
