// Package trend says where one person's errors lie and where they are going: bias,
// median, share, current level, slope and the learning rate. Numbers go in, a
// [scoring.Estimate] comes out; what cannot be computed is said in words.
//
// Which one to use:
//
//	how far off, and which way     Bias, BiasOverSittings, DirectionBias
//	a typical error                Median
//	how often right                Share, ShareClustered
//	how it stands now              CurrentLevel
//	does it improve                TheilSen for how fast, MannKendall for whether
//	what does practice bring       LearningRate
//	a statistic with an error      BootstrapT
//
// Attempts of one sitting resemble each other: the room, the display and the person's
// adaptation are the same. Intervals that treat them as independent are then too
// narrow. Give the trend functions one number a sitting (its median, say), and take
// BiasOverSittings for the bias.
//
// The coverages named in the comments were measured on simulated data by the tests
// of this package; SHADEDRILL_HEAVY=1 repeats them with more runs.
package trend
