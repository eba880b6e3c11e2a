package process

import "testing"

func TestColumnsNarrowAndNeverWiden(t *testing.T) {
	for _, c := range []struct {
		columns        string
		terminal, want int
	}{
		{"", 0, 0}, {"", 120, 120}, {"90", 0, 90}, {"90", 120, 90}, {"200", 120, 120}, {"0", 120, 120}, {"-5", 0, 0}, {"wide", 80, 80},
	} {
		if got := textWidth(c.columns, c.terminal); got != c.want {
			t.Errorf("COLUMNS=%q on a terminal of %d: %d, want %d", c.columns, c.terminal, got, c.want)
		}
	}
}
