package display

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/gdamore/tcell/v2"

	"shadedrill/colour"
	"shadedrill/colour/fault"
)

func env(pairs ...string) func(string) string {
	return func(name string) string {
		for i := 0; i < len(pairs); i += 2 {
			if pairs[i] == name {
				return pairs[i+1]
			}
		}
		return ""
	}
}

func TestRefuse(t *testing.T) {
	for _, c := range []struct {
		name    string
		env     func(string) string
		colours int
		what    string // "" for accepted
		hint    string
	}{
		{"24 bits", env("TERM", "xterm-256color", "COLORTERM", "truecolor"), 1 << 24, "", ""},
		{"24 bits in tmux", env("TERM", "tmux-256color", "TMUX", "x"), 1 << 24, "", ""},
		{"NO_COLOR wins over everything", env("TERM", "xterm-direct", "NO_COLOR", "1"), 1 << 24, "NO_COLOR", "env -u NO_COLOR"},
		{"no TERM", env(), 1 << 24, "TERM is not set", "terminal window"},
		{"dumb", env("TERM", "dumb"), 1 << 24, "dumb", "24-bit"},
		{"256 colours", env("TERM", "xterm-256color"), 256, "fewer than 24 bits", "COLORTERM=truecolor"},
		{"one colour short of 24 bits", env("TERM", "xterm"), 1<<24 - 1, "fewer than 24 bits", "COLORTERM=truecolor"},
		{"tmux", env("TERM", "screen-256color", "TMUX", "/tmp/tmux-0/default,1,0"), 256, "tmux", "terminal-features"},
		{"tmux by its TERM", env("TERM", "tmux-256color"), 256, "tmux", "terminal-overrides"},
		{"screen", env("TERM", "screen"), 8, "screen", "outside"},
		{"text console", env("TERM", "linux"), 8, "console", "graphical"},
		{"over SSH", env("TERM", "xterm-256color", "SSH_CONNECTION", "a b"), 256, "connection", "COLORTERM=truecolor"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := Refuse("linux", c.env, c.colours)
			if c.what == "" {
				if err != nil {
					t.Fatalf("refused: %v", err)
				}
				return
			}
			var p *fault.Error
			if !errors.As(err, &p) {
				t.Fatalf("not refused: %v", err)
			}
			if !strings.Contains(p.Error(), c.what) || !strings.Contains(p.Hint(), c.hint) {
				t.Errorf("says %q, hint %q", p.Error(), p.Hint())
			}
			if strings.Contains(p.Error(), "\n") || strings.Contains(p.Hint(), "\n") {
				t.Error("more than a line")
			}
		})
	}
}

func TestRefuseKnowsTheSystem(t *testing.T) {
	nothing := env()
	for _, c := range []struct {
		name, system string
		env          func(string) string
		colours      int
		what, hint   string
	}{
		{"the command prompt sets no TERM", windows, nothing, Depth, "", ""},
		{"an older console", windows, nothing, 16, "fewer than 24 bits", "Windows Terminal"},
		{"colours switched off", windows, env("TCELL_TRUECOLOR", "disable"), 16, "TCELL_TRUECOLOR", "$env:TCELL_TRUECOLOR"},
		{"NO_COLOR", windows, env("NO_COLOR", "1"), Depth, "NO_COLOR", "set NO_COLOR="},
		{"the Mac's own terminal", mac, env("TERM", "xterm-256color", "TERM_PROGRAM", "Apple_Terminal"), 256, "macOS 26", "COLORTERM=truecolor"},
		{"the Mac's own terminal, when the person says so", mac, env("TERM", "xterm-256color", "TERM_PROGRAM", "Apple_Terminal", "COLORTERM", "truecolor"), Depth, "", ""},
		{"no TERM on a Mac", mac, nothing, Depth, "TERM is not set", "terminal window"},
		{"a page", Browser, env("TERM", "dumb", "NO_COLOR", "1"), Depth, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := Refuse(c.system, c.env, c.colours)
			p, refused := errors.AsType[*fault.Error](err)
			if refused != (c.what != "") {
				t.Fatalf("refused %v: %v", refused, err)
			}
			if refused && (!strings.Contains(p.Error(), c.what) || !strings.Contains(p.Hint(), c.hint)) {
				t.Errorf("says %q, hint %q", p.Error(), p.Hint())
			}
		})
	}
}

func TestSmallStepIsSmallAndFallsTogetherBelow24Bits(t *testing.T) {
	a, b := SmallStep[0], SmallStep[1]
	if e := colour.DeltaE00(a.Lab(), b.Lab()); e < 0.6 || e > 0.8 {
		t.Errorf("ΔE00 %.3f", e)
	}
	var palette []tcell.Color
	for i := range 256 {
		palette = append(palette, tcell.PaletteColor(i))
	}
	on := func(c colour.SRGB) tcell.Color {
		return tcell.FindColor(tcell.NewRGBColor(int32(c.R), int32(c.G), int32(c.B)), palette)
	}
	if on(a) != on(b) {
		t.Error("the two differ with 256 colours")
	}
	if a.R>>3 != b.R>>3 || a.G>>2 != b.G>>2 || a.B>>3 != b.B>>3 {
		t.Error("the two differ with 5:6:5 bits")
	}
}

func TestRampIsNeutralAndEven(t *testing.T) {
	ramp := Ramp(16)
	if ramp[0] != colour.Grey(0) || ramp[15] != colour.Grey(255) {
		t.Errorf("from %v to %v", ramp[0], ramp[15])
	}
	for i, c := range ramp {
		if c.R != c.G || c.G != c.B {
			t.Errorf("grey %d is %v", i, c)
		}
		if want := 100 * float64(i) / 15; math.Abs(c.Lab().L-want) > 0.3 {
			t.Errorf("grey %d has L* %.2f, not %.2f", i, c.Lab().L, want)
		}
	}
}

func TestTheUsualGreyGivesHalfTheLightOfWhite(t *testing.T) {
	// IEC 61966-2-1: linear light 0.5 encodes to 0.7354, code 188 of 255.
	if y := GammaGreys[gammaUsual].XYZ().Y; math.Abs(y-0.5) > 0.005 {
		t.Errorf("Y = %.4f", y)
	}
	for i := 1; i < len(GammaGreys); i++ {
		if gammaOf(GammaGreys[i]) <= gammaOf(GammaGreys[i-1]) {
			t.Error("gammas do not rise")
		}
	}
}

func TestJudge(t *testing.T) {
	good := GammaWords(gammaUsual)
	for _, c := range []struct {
		step, ramp, gamma, tint string
		reasons                 int
	}{
		{Seen, AllSteps, good, TintOff, 0},
		{Seen, AllSteps, GammaWords(gammaUsual + 1), TintOff, 0},
		{NotSeen, AllSteps, good, TintOff, 1},
		{Seen, DarkLost, good, TintOff, 1},
		{Seen, AllSteps, GammaWords(0), TintOff, 1},
		{Seen, AllSteps, NoGrey, TintOff, 1},
		{Seen, AllSteps, good, TintUnknown, 1},
		{NotSeen, BothLost, NoGrey, TintOn, 4},
	} {
		fit, why := Judge(c.step, c.ramp, c.gamma, c.tint)
		if fit != (c.reasons == 0) || len(why) != c.reasons {
			t.Errorf("%+v: %v %v", c, fit, why)
		}
	}
}
