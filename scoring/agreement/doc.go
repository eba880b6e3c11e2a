// Package agreement says whether several people see alike: kappa and alpha for
// categories, gauge R&R with its intraclass correlations for measurements, Bland–Altman
// limits for two, and each one's own repeatability. Numbers go in, a [scoring.Estimate]
// comes out; what cannot be computed is said in words.
//
// Which one to use in a calibration session:
//
//	do they choose the same group or tab       KrippendorffAlpha, FleissKappa, CrossTable.Kappa
//	do their signed errors agree               StudyGauge: Agreement (2,1) asks for the same
//	                                           number, Consistency (3,1) forgives a constant
//	                                           bias; their gap is the bias between people
//	how much of the spread is the people       StudyGauge, needs items seen more than once
//	two people, or one person on two days      BlandAltman
//	does a person answer the same twice        Repeatability
//
// An answer that is missing is NaN. The coverages named in the comments were measured
// on simulated panels by the tests of this package; SHADEDRILL_HEAVY=1 repeats them
// with more runs.
package agreement
