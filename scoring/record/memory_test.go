package record_test

import (
	"testing"

	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
)

func TestMemory(t *testing.T) {
	recordtest.Run(t, func(*testing.T) record.Store { return record.NewMemory() })
}
