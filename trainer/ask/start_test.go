package ask_test

import "shadedrill/trainer/trainertest"

// What every test of a screen begins with.
var (
	golden     = trainertest.Golden
	practising = trainertest.Practising
	looking    = trainertest.Looking
	attempts   = trainertest.Attempts
	library    = trainertest.Library
	sheet      = trainertest.Sheet
	namesOf    = trainertest.NamesOf
	firstTrial = trainertest.FirstTrial
	choose     = trainertest.Choose
	seed       = trainertest.Seed
)
