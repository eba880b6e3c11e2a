// Package items says how well the questions do: how hard each is and whether it tells
// strong learners from weak ones, whether a test measures one thing, and which answers
// are taken for which. Numbers go in, a [scoring.Estimate] comes out; what cannot be
// computed is said in words.
//
//	how hard, does it discriminate, is the test reliable   Analyse
//	what is taken for what                                 Confuse
//
// The coverages named in the comments were measured on simulated classes by the tests of
// this package.
package items
