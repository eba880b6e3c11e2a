// Package design computes the built-in tab libraries. Nothing in it is recalled
// from anywhere: groups, columns and rows follow from the colours of teeth
// ([tabs.Teeth]) and from one demand, that a learner who may answer "this tab"
// or "between these two neighbours" can come close to every colour.
//
// # Why so many groups
//
// Along lightness the groups stand at equal ΔE00 steps s. A colour midway
// between two groups is s/2 off in value whatever is chosen, so of a bound E on
// the error only r = √(E² − s²/4) is left for chroma and hue. A triangular
// pattern of tabs, halved by its in-betweens, covers the plane within r when
// each tab has an area of 6√3·r² to itself; the tabs needed then go as
// 1/(s·(E² − s²/4)), least at s = 2E/√3. For E = 1.8 that is s = 2.1 and, over
// the 25.5 ΔE00 from L* 58 to 93, twelve groups. Neighbouring groups help each
// other, though: their patterns are staggered, so that a colour midway has two
// sheets to choose from. That favours fewer, thicker steps, and how much cannot
// be said on paper: the search is given eleven groups, a house choice near the
// figure above, and its outcome is measured.
//
// # How a sheet is laid out
//
//	      chroma →
//	hue   C7      C13     C21     C30
//	 ↓    ·                        ·
//	              ·       ·
//	      ·                        ·
//	              ·       ·
//	      ·                        ·
//
// A sheet is a few columns of equal chroma, equal ΔE00 steps apart at first;
// each column has as many rows as the hue arc is long at that chroma, SH and the
// stretch of a' included. Then the plan is relaxed: one column or one tab is
// shifted at a time, and the shift kept when the judgement improves (or, early
// on, does not worsen much: simulated annealing). What is judged is what a screen
// shows, tabs and in-betweens rounded to bytes.
//
// For "starter" that is all. For "natural", from which more is wanted, the tabs
// then move all at once, down the slope of the largest error (a descent, and hops
// from where it ends), and are brought to bytes again so that rounding does not
// undo it (a settling). Columns bend a little in that, and a tab may be 0.35 ΔE00
// lighter or darker than its group, well below what is seen.
//
// Every number of a search is seeded, so the outcome is reproducible on one
// kind of processor; another may round a sum differently and settle elsewhere.
package design
