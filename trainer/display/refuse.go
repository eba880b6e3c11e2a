// Package display knows what a terminal can show: it refuses one that cannot
// carry the colours of an exercise, and holds the bytes of the display check with
// which a person says what the screen really shows.
package display

import (
	"strings"

	"shadedrill/colour/fault"
)

// Depth is the number of colours that every exercise needs: 24 bits. With the
// 256 of a palette, tooth colours fall onto some 20 of them and no answer means
// anything.
const Depth = 1 << 24

// What a screen belongs to: the values of GOOS, and Browser for one that is drawn
// in a page and asks nothing of the environment.
const (
	windows = "windows"
	mac     = "darwin"
	Browser = "browser"
)

// Refuse judges a terminal by the system that it runs on, by its environment and
// by how many colours it is driven with; nil means that it will do. It looks at
// nothing else.
//
// Windows tells a program nothing in TERM: its consoles are driven by calls, and
// how many colours they show is known only from the screen itself.
func Refuse(system string, getenv func(string) string, colours int) error {
	switch {
	case system == Browser:
		return nil
	case getenv("NO_COLOR") != "":
		return fault.New("NO_COLOR is set, and an exercise in colours cannot do without them.", without(system))
	case system == windows:
		return refuseWindows(getenv, colours)
	}
	return refuseTerminal(system, getenv, colours)
}

func without(system string) string {
	if system == windows {
		return "start it once without: set NO_COLOR= in the command prompt, or $env:NO_COLOR='' in PowerShell, then shadedrill"
	}
	return "start it once without: env -u NO_COLOR shadedrill"
}

func refuseWindows(getenv func(string) string, colours int) error {
	switch {
	case colours >= Depth:
		return nil
	case getenv("TCELL_TRUECOLOR") == "disable":
		return fault.New("TCELL_TRUECOLOR=disable switches 24-bit colours off, so shades would fall together.",
			"start it once without: set TCELL_TRUECOLOR= in the command prompt, or $env:TCELL_TRUECOLOR='' in PowerShell, then shadedrill")
	case getenv("ConEmuANSI") == "OFF":
		return fault.New("This console passes on fewer than 24 bits of colour, so shades would fall together.",
			"switch ANSI sequences on in its settings, or start shadedrill in the Windows Terminal")
	}
	return fault.New("This console shows fewer than 24 bits of colour; shades would fall together.",
		"start shadedrill in the Windows Terminal, which comes with Windows 11 and can be installed on Windows 10")
}

func refuseTerminal(system string, getenv func(string) string, colours int) error {
	term := getenv("TERM")
	switch {
	case term == "":
		return fault.New("TERM is not set, so nothing is known of this terminal.",
			"start shadedrill in a terminal window, not in a pipe or an editor's output pane")
	case term == "dumb":
		return fault.New("This terminal calls itself dumb: it shows no colours.",
			"start shadedrill in a terminal window with 24-bit colours")
	case colours >= Depth:
		return nil
	case inTmux(getenv):
		return fault.New("tmux passes on fewer than 24 bits of colour, so shades would fall together.",
			`add to ~/.tmux.conf: set -as terminal-features ",*:RGB" (before tmux 3.2: set -ga terminal-overrides ",*:Tc"), restart tmux, `+
				"and start with COLORTERM=truecolor if the terminal outside shows 24 bits")
	case strings.HasPrefix(term, "screen"):
		return fault.New("screen passes on fewer than 24 bits of colour, so shades would fall together.",
			"start shadedrill outside of screen, or use screen 5 with: truecolor on")
	case term == "linux":
		return fault.New("The text console shows 16 colours; shades would fall together.",
			"start shadedrill in a graphical terminal with 24-bit colours")
	case system == mac && getenv("TERM_PROGRAM") == "Apple_Terminal":
		// Up to macOS 15 the system's own terminal knows 256 colours; macOS 26
		// brought 24 bits (announced by the maker in June 2025, seen by the author
		// of tcell, garrett.damore.org, December 2025). It does not say so in
		// COLORTERM, so the person must.
		return fault.New("The system's own terminal shows 24 bits of colour from macOS 26 on, and does not say whether this is one; before that it shows 256, and shades fall together.",
			"on macOS 26 or later start with COLORTERM=truecolor shadedrill; before that use another terminal with 24-bit colours, and let the display check decide")
	case getenv("SSH_CONNECTION") != "":
		return fault.New("Fewer than 24 bits of colour are announced over this connection, so shades would fall together.",
			"if your own terminal shows 24 bits, start with COLORTERM=truecolor shadedrill, or TERM=xterm-direct")
	}
	return fault.New("This terminal announces fewer than 24 bits of colour, so shades would fall together.",
		"if it does show 24 bits, start with COLORTERM=truecolor shadedrill; otherwise use a terminal that does")
}

func inTmux(getenv func(string) string) bool {
	return getenv("TMUX") != "" || strings.HasPrefix(getenv("TERM"), "tmux")
}
