// Package display knows what a terminal can show: it refuses one that cannot
// carry the colours of an exercise, and holds the bytes of the display check with
// which a person says what the screen really shows.
package display

import "strings"

// Depth is the number of colours that every exercise needs: 24 bits. With the
// 256 of a palette, tooth colours fall onto some 20 of them and no answer means
// anything.
const Depth = 1 << 24

// Problem is why a terminal cannot be used, and what to do about it.
type Problem struct{ What, Do string }

func (p *Problem) Error() string { return p.What }

// Hint says what to do.
func (p *Problem) Hint() string { return p.Do }

// Refuse judges a terminal by its environment and by how many colours it is
// driven with; nil means that it will do. It looks at nothing else.
func Refuse(getenv func(string) string, colours int) error {
	term := getenv("TERM")
	switch {
	case getenv("NO_COLOR") != "":
		return &Problem{"NO_COLOR is set, and an exercise in colours cannot do without them.",
			"start it once without: env -u NO_COLOR shadedrill"}
	case term == "":
		return &Problem{"TERM is not set, so nothing is known of this terminal.",
			"start shadedrill in a terminal window, not in a pipe or an editor's output pane"}
	case term == "dumb":
		return &Problem{"This terminal calls itself dumb: it shows no colours.",
			"start shadedrill in a terminal window with 24-bit colours"}
	case colours >= Depth:
		return nil
	case inTmux(getenv):
		return &Problem{"tmux passes on fewer than 24 bits of colour, so shades would fall together.",
			`add to ~/.tmux.conf: set -as terminal-features ",*:RGB" (before tmux 3.2: set -ga terminal-overrides ",*:Tc"), restart tmux, ` +
				"and start with COLORTERM=truecolor if the terminal outside shows 24 bits"}
	case strings.HasPrefix(term, "screen"):
		return &Problem{"screen passes on fewer than 24 bits of colour, so shades would fall together.",
			"start shadedrill outside of screen, or use screen 5 with: truecolor on"}
	case term == "linux":
		return &Problem{"The text console shows 16 colours; shades would fall together.",
			"start shadedrill in a graphical terminal with 24-bit colours"}
	case getenv("TERM_PROGRAM") == "Apple_Terminal":
		return &Problem{"This terminal shows 256 colours; shades would fall together.",
			"newer versions of it show 24 bits: update it, or use another terminal with 24-bit colours"}
	case getenv("SSH_CONNECTION") != "":
		return &Problem{"Fewer than 24 bits of colour are announced over this connection, so shades would fall together.",
			"if your own terminal shows 24 bits, start with COLORTERM=truecolor shadedrill, or TERM=xterm-direct"}
	}
	return &Problem{"This terminal announces fewer than 24 bits of colour, so shades would fall together.",
		"if it does show 24 bits, start with COLORTERM=truecolor shadedrill; otherwise use a terminal that does"}
}

func inTmux(getenv func(string) string) bool {
	return getenv("TMUX") != "" || strings.HasPrefix(getenv("TERM"), "tmux")
}
