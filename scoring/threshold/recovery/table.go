package recovery

import (
	"fmt"
	"math"
	"strings"

	"shadedrill/scoring"
)

// Header and Cells are the table as text, for whoever prints or writes it: one line
// a condition, percentages of the truth.
func Header() []string {
	return []string{"task", "observer", "threshold", "false alarms", "lapses", "trials",
		"bias", "spread", "covered", "corrected: bias", "covered", "d′ = 1: bias", "covered", "bootstrap covered", "no result"}
}

// Cells are the row's values in the order of [Header].
func (r Row) Cells() []string {
	percent := func(e scoring.Estimate) string {
		if !e.Defined() {
			return "–"
		}
		return fmt.Sprintf("%+.1f %%", 100*e.Value)
	}
	share := func(e scoring.Estimate) string { return strings.TrimPrefix(percent(e), "+") }
	trials := fmt.Sprintf("%.0f", r.Pairs)
	if r.Catches > 0 {
		trials += fmt.Sprintf(" + %.0f", r.Catches)
	}
	spread := "–"
	if !math.IsNaN(r.Plain.Spread) {
		spread = fmt.Sprintf("%.1f %%", 100*r.Plain.Spread)
	}
	falseAlarms := "–"
	if r.Catches > 0 {
		falseAlarms = fmt.Sprintf("%.0f %%", 100*r.Condition.FalseAlarms)
	}
	return []string{
		r.Condition.Observer.Task.String(), r.Condition.Observer.Name,
		fmt.Sprintf("%.1f", r.Condition.Observer.Plain), falseAlarms, fmt.Sprintf("%.0f %%", 100*r.Condition.Lapse), trials,
		percent(r.Plain.Bias), spread, share(r.Plain.Covered),
		percent(r.Corrected.Bias), share(r.Corrected.Covered),
		percent(r.DPrime.Bias), share(r.DPrime.Covered), share(r.Bootstrap.Covered),
		fmt.Sprintf("%.1f %%", 100*r.Plain.Without),
	}
}
