package recovery

import (
	"fmt"
	"math"
	"os"
	"testing"

	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/psychometric"
)

// Simulated observers with known thresholds: a few runs every time, with bounds
// that allow for so few; SHADEDRILL_HEAVY=1 makes 1,000 of each and holds them to the
// aims.
func TestThresholdsAreRecovered(t *testing.T) {
	runs, draws, bias, least, most, without := 10, 60, 0.15, 0.7, 1.0, 0.25
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		runs, draws, bias, least, most, without = 1000, 200, 0.05, 0.92, 0.98, 0.05
	}
	var conditions []Condition
	for _, of := range []func() (Condition, error){
		func() (Condition, error) { return yesNo(1.2, 3, 0.10, 0.02) },
		func() (Condition, error) { return detecting(1.2, 1, 0.15, 0.02) },
		func() (Condition, error) { return choice(1.2, 3, 0.02) },
		func() (Condition, error) { return choice(1.2, 1.5, 0.02) }, // shallow: the hardest to get right
	} {
		c, err := of()
		if err != nil {
			t.Fatal(err)
		}
		conditions = append(conditions, c)
	}
	for _, c := range conditions {
		c.Draws = draws
		row, err := Recover(c, Plan{Runs: runs, Seed: 1, Screens: Screen()})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: bias %+.3f, spread %.3f, covered %.3f, without %.3f", c.Subject.Name, row.Plain.Bias.Value, row.Plain.Spread, row.Plain.Covered.Value, row.Plain.Without)
		if b := row.Plain.Bias; !b.Defined() || math.Abs(b.Value) > bias {
			t.Errorf("%s: bias %.3f, want at most ±%.2f", c.Subject.Name, b.Value, bias)
		}
		if s := row.Plain.Covered; !s.Defined() || s.Value < least {
			t.Errorf("%s: intervals cover in %.3f of %d runs, want at least %.2f", c.Subject.Name, s.Value, runs, least)
		}
		if row.Plain.Without > without {
			t.Errorf("%s: no threshold in %.0f %% of runs", c.Subject.Name, 100*row.Plain.Without)
		}
		b := row.Bootstrap.Covered
		t.Logf("%s, bootstrap: covered %.3f", c.Subject.Name, b.Value)
		if !b.Defined() || b.Value < least || b.Value > most {
			t.Errorf("%s: bootstrap intervals cover in %.3f of %d runs, want %.2f to %.2f", c.Subject.Name, b.Value, runs, least, most)
		}
		if math.IsNaN(c.Subject.Sensitivity) {
			continue
		}
		d := row.DPrime
		t.Logf("%s, d′ = 1: bias %+.3f, spread %.3f, covered %.3f, without %.3f", c.Subject.Name, d.Bias.Value, d.Spread, d.Covered.Value, d.Without)
		if b := d.Bias; !b.Defined() || math.Abs(b.Value) > bias {
			t.Errorf("%s: d′ = 1 has a bias of %.3f, want at most ±%.2f", c.Subject.Name, b.Value, bias)
		}
		if s := d.Covered; !s.Defined() || s.Value < least || s.Value > most {
			t.Errorf("%s: intervals of d′ = 1 cover in %.3f of %d runs, want %.2f to %.2f", c.Subject.Name, s.Value, runs, least, most)
		}
		if d.Without > without {
			t.Errorf("%s: no d′ = 1 in %.0f %% of runs", c.Subject.Name, 100*d.Without)
		}
	}
}

// Somebody whose threshold lies at the smallest step of the screen, and who sees by
// another law than any that is fitted, is told a bound or an interval that holds.
func TestSmallThresholdsAreBoundsOrIntervalsThatHold(t *testing.T) {
	runs, least := 40, 0.85
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		runs, least = 1000, 0.93
	}
	for _, task := range []adaptive.Task{adaptive.YesNo, adaptive.ForcedChoice} {
		c, err := saturating(task)
		if err != nil {
			t.Fatal(err)
		}
		row, err := Recover(c, Plan{Runs: runs, Seed: 1, Screens: Screen()})
		if err != nil {
			t.Fatal(err)
		}
		t.Log(row.Line())
		if row.Screens != len(Screen()) {
			t.Errorf("%v: %d screens", task, row.Screens)
		}
		if h := row.Plain.Held; h.N < runs*99/100 || h.Value < least {
			t.Errorf("%v: %.3f of %d answers hold, want at least %.2f of %d", task, h.Value, h.N, least, runs)
		}
		if row.Plain.Bounds < 0.1 {
			t.Errorf("%v: a bound in %.2f of runs", task, row.Plain.Bounds)
		}
	}
}

// The same seed gives the same row, whatever the number of workers.
func TestRecoveryIsRepeatable(t *testing.T) {
	c, err := choice(1.2, 3, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	c.Trials = 25
	row := func(workers int) string {
		r, err := Recover(c, Plan{Runs: 6, Seed: 7, Screens: Screen(), Workers: workers})
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(r.Plain, r.Pairs)
	}
	if one, three := row(1), row(3); one != three {
		t.Errorf("one worker:\n%s\nthree:\n%s", one, three)
	}
}

// The truths that the table is compared with lie where they claim to lie.
func TestObserversHaveTheThresholdsTheyClaim(t *testing.T) {
	weibull, err := sigmoidal(adaptive.YesNo, psychometric.Weibull, 1.2, 3, 0.1, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	sdt, err := detector(adaptive.YesNo, 1.2, 1, 0.15, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	forced, err := detector(adaptive.ForcedChoice, 1.2, 1.3, 0, 0.02)
	if err != nil {
		t.Fatal(err)
	}
	rising, err := saturated(adaptive.YesNo, 3, 1, 0.25)
	if err != nil {
		t.Fatal(err)
	}
	choosing, err := saturated(adaptive.ForcedChoice, 3, 1, 0)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(rising.Plain-0.29) > 0.005 {
		t.Errorf("half at %.3f, computed by hand 0.29", rising.Plain)
	}
	for _, c := range []struct {
		name         string
		o            Subject
		level, wants float64
	}{
		{"plain", weibull, weibull.Plain, 0.5},
		{"corrected", weibull, weibull.Corrected, 0.1 + (1-0.1-0.02)/2},
		{"plain, detection", sdt, sdt.Plain, 0.5},
		{"identical, detection", sdt, 0, 0.15*0.98 + 0.01},
		{"plain, forced choice", forced, forced.Plain, 0.75},
		{"plain, saturating", rising, rising.Plain, 0.5},
		{"identical, saturating", rising, 0, 0.25},
		{"plain, saturating, forced choice", choosing, choosing.Plain, 0.75},
		{"d′ = 1, saturating, forced choice", choosing, 0.5, 0.760250},
		{"d′ = 1, forced choice", forced, forced.Sensitivity, 0.760250*0.98 + 0.01},
	} {
		if got := c.o.P(c.level); math.Abs(got-c.wants) > 1e-6 {
			t.Errorf("%s: P(%.3f) = %.6f, want %.6f", c.name, c.level, got, c.wants)
		}
	}
	if _, err := detector(adaptive.YesNo, 1.2, 1, 0.6, 0); err == nil {
		t.Error("an observer with 60 % false alarms has no 50 % point, but was made")
	}
}
