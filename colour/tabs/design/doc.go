// Package design computes the built-in tab libraries. Nothing in it is recalled
// from anywhere: groups and tabs follow from the colours of teeth ([tabs.Teeth])
// and from one demand, that a learner who may answer "this tab" or "between these
// two neighbours" can come close to every colour.
//
// # Why so many groups
//
// Along lightness the groups stand at about equal ΔE00 steps s. A colour midway
// between two groups is s/2 off in value whatever is chosen, so of a bound E on
// the error only r = √(E² − s²/4) is left for chroma and hue. A triangular
// pattern of tabs, halved by its in-betweens, covers the plane within r when
// each tab has an area of 6√3·r² to itself; the tabs needed then go as
// 1/(s·(E² − s²/4)), least at s = 2E/√3. For E = 1.65 that is s = 1.9 and, over
// the 25.5 ΔE00 from L* 58 to 93, thirteen groups. Neighbouring groups help each
// other, though: their patterns are staggered, so that a colour midway has two
// sheets to choose from. That favours fewer, thicker steps, and how much cannot
// be said on paper: eleven, twelve and thirteen groups were tried, and README.md of
// package tabs has the outcome.
//
// # How a plan comes about
//
//	chroma →
//	hue   C7      C13     C21     C30
//	 ↓    ·                        ·
//	              ·       ·
//	      ·                        ·
//	              ·       ·
//	      ·                        ·
//
// A sheet starts as a few columns of equal chroma, equal ΔE00 steps apart; each
// column has as many rows as the hues of teeth are far apart at that chroma. Then
// all tabs and the lightness of all groups move at once, down the slope of the
// largest error (a descent). The largest error is that of the whole region: between
// the colours of a grid the peaks are looked for every few steps, since a plan that
// is judged by a grid alone hides its errors between. Hops follow: a few tabs are
// displaced, or one is taken to where one is wanted, and the descent goes on from
// there. In the end the plan is brought to bytes, byte by byte, so that rounding
// undoes little of it (an annealing, then a mending). Columns bend a little in all
// that, and tabs of a group may differ by 0.7 ΔE00 in lightness, below what is seen.
//
// Every number of a search is seeded, so the outcome is reproducible on one
// kind of processor; another may round a sum differently and settle elsewhere.
package design
