package main

import (
	"github.com/spf13/cobra"

	"shadedrill/scoring"
)

// cutFlags are the cut-offs of the proficiency test, in percent as people say them.
type cutFlags struct{ superior, average float64 }

func (f *cutFlags) flags(c *cobra.Command) {
	c.Flags().Float64Var(&f.superior, "superior", 100*scoring.HouseCuts.Superior, "`percentage` right from which a proficiency test is superior: house rule")
	c.Flags().Float64Var(&f.average, "average", 100*scoring.HouseCuts.Average, "`percentage` right from which it is average: house rule")
}

func (f *cutFlags) cuts(c *cobra.Command) (scoring.Cuts, error) {
	cuts := scoring.Cuts{Superior: f.superior / 100, Average: f.average / 100}
	if err := cuts.Check(); err != nil {
		return cuts, misread(err, c.CommandPath())
	}
	return cuts, nil
}
