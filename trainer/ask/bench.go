package ask

import (
	"fmt"
	"slices"
	"strconv"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.Bench, Screen{
		Brief: []string{
			"You need two sets of the same real tabs, a neutral grey cloth, the light you take shades in, and somebody who lays out. Tabs may be numbered on their backs; every mark that can be seen from the front is masked.",
			"For each round the screen tells the person who lays out which tab goes where: the left set and the right set, each in rows from left to right. Whoever practises does not see that.",
			"Then say for each place of the left set which place of the right set is its pair. The time is kept. The screen shows no colour.",
		},
		Notes:    benchNotes,
		Ask:      newBench,
		Words:    benchWords,
		Lesson:   benchLesson,
		Truth:    benchTable,
		Sides:    func(Feedback) []Side { return nil },
		Summary:  benchSummary,
		Trials:   usualRounds,
		OwnLight: true,
		Units:    [2]string{"round", "rounds"},
		Variants: []Variant{
			{"Bench: the usual number of pairs", "Twelve pairs, or as many as your own library has tabs.", exercises.Setup{}, nil},
			{"Bench: six pairs", "For a small set, or to begin with.", exercises.Setup{Options: map[string]string{exercises.OptionPairs: "6"}}, nil},
			{"Bench: twenty pairs", "For a long table.", exercises.Setup{Options: map[string]string{exercises.OptionPairs: "20"}}, nil},
		},
	})
}

// usualRounds are about a quarter of an hour (common practice, no source).
const usualRounds = 3

// benchAsker leads through a round with real tabs:
//
//	hand over ──> layout, for who lays out ──> hidden ──(time begins)──> pairs
type benchAsker struct {
	Question
	layout exercises.Layout
	names  [2][]string // of what lies at each place
	stage  benchStage
	page   int // of the layout
	pages  int
	pairs  []int // place in the right set for each of the left, −1 for none yet
	at     int   // place in the left set; one beyond the last is the line that hands in
	digits string
	sure   bool // was told that places are without a pair
}

type benchStage int

const (
	handOver benchStage = iota
	layingOut
	hidden
	askingPairs
)

func newBench(q Question) (Asker, error) {
	l, err := exercises.LayoutOf(q.Trial)
	if err != nil {
		return nil, err
	}
	a := &benchAsker{Question: q, layout: l, pages: 1, pairs: slices.Repeat([]int{-1}, len(l.A))}
	a.names[0], a.names[1] = l.Names(q.Setup.Sheet)
	return a, nil
}

func (a *benchAsker) n() int { return len(a.layout.A) }

func (a *benchAsker) Step() string { return strconv.Itoa(int(a.stage)) }

func (a *benchAsker) Unsaved() string {
	if a.stage != askingPairs || a.left() == a.n() && a.digits == "" {
		return ""
	}
	return "The pairs of this round are not handed in yet. They are lost if you leave."
}

func (a *benchAsker) Prompt() string {
	switch a.stage {
	case handOver:
		return "Give the screen to the person who lays out the tabs."
	case layingOut:
		return "For the person who lays out: which tab lies where. 1 is at the left."
	case hidden:
		return "The layout is hidden again."
	}
	if a.at == a.n() {
		if open := a.left(); open > 0 {
			return "This is the end; " + scoring.Count(open, "place has", "places have") + " no pair yet."
		}
		return "Every place has its pair."
	}
	return fmt.Sprintf("Which tab of the right set is the pair of left %d?", a.at+1)
}

func (a *benchAsker) Keys() []draw.KeyHelp {
	switch a.stage {
	case handOver:
		return []draw.KeyHelp{draw.Help("↵", "show the layout", "enter")}
	case layingOut:
		keys := []draw.KeyHelp{draw.Help("↵", "both sets lie: hide it", "enter")}
		if a.pages > 1 {
			keys = append(keys, draw.Help("← →", fmt.Sprintf("page %d of %d", a.page+1, a.pages), "right"))
		}
		return keys
	case hidden:
		return []draw.KeyHelp{draw.Help("↵", "begin, the time starts", "enter"), draw.Help("⌫", "the layout again", "backspace")}
	}
	take := "take it, next place"
	if a.at == a.n() {
		take = "hand in"
	}
	return []draw.KeyHelp{draw.Help("0–9", "place in the right set", ""), draw.Help("↵", take, "enter"), draw.Help("⌫", "clear", "backspace"),
		draw.Help("← ↑ ↓ →", "another place", "down"), draw.Help("e", "to the end", "e")}
}

func (a *benchAsker) Key(k string) Reply {
	switch a.stage {
	case handOver:
		if k == "enter" || k == "space" {
			a.stage, a.page = layingOut, 0
			return Reply{}
		}
	case layingOut:
		switch k {
		case "enter":
			if a.page < a.pages-1 {
				a.page++
				return why("The layout goes on here.")
			}
			a.stage = hidden
		case "left", "page up", "up":
			if a.page == 0 {
				return why("This is the first page of the layout.")
			}
			a.page--
		case "right", "page down", "down":
			if a.page == a.pages-1 {
				return why("This is the last page of the layout.")
			}
			a.page++
		default:
			return noKey
		}
		return Reply{}
	case hidden:
		switch k {
		case "enter", "space":
			a.stage = askingPairs
			return Reply{Begun: true}
		case "backspace":
			a.stage, a.page = layingOut, 0
			return Reply{}
		}
	case askingPairs:
		return a.pairKey(k)
	}
	return noKey
}

func (a *benchAsker) pairKey(k string) Reply {
	was := a.sure
	a.sure = false
	if len(k) == 1 && k[0] >= '0' && k[0] <= '9' {
		return a.digit(k)
	}
	switch k {
	case "enter":
		if a.at == a.n() {
			return a.handIn(was)
		}
		return a.take()
	case "backspace", "delete":
		switch {
		case a.digits != "":
			a.digits = a.digits[:len(a.digits)-1]
		case a.at < a.n() && a.pairs[a.at] >= 0:
			a.pairs[a.at] = -1
		default:
			return why("There is nothing to clear.")
		}
		return Reply{}
	case "up", "left":
		return a.move(a.at - 1)
	case "down", "right", "tab":
		return a.move(a.at + 1)
	case "home":
		return a.move(0)
	case "end", "e":
		return a.move(a.n())
	}
	return noKey
}

// move goes to another place. What was typed is taken on the way; what cannot be, keeps
// whoever typed it where they are.
func (a *benchAsker) move(to int) Reply {
	var r Reply
	if a.digits != "" {
		if r = a.pair(); r.Say != "" {
			return r
		}
	}
	switch {
	case to < 0:
		r.Say = "This is the first place."
	case to > a.n():
		r.Say = "This is the end: Enter hands in."
	default:
		a.at = to
	}
	return r
}

func (a *benchAsker) digit(k string) Reply {
	if a.at == a.n() {
		return why("This is the end: choose a place with the arrows, or hand in with Enter.")
	}
	if len(a.digits) == len(fmt.Sprint(a.n())) {
		return why(a.beyond(a.digits + k))
	}
	a.digits += k
	return Reply{}
}

func (a *benchAsker) beyond(typed string) string {
	return fmt.Sprintf("There is no place %s: the right set has 1 to %d.", typed, a.n())
}

// take pairs the place with what was typed and goes on to the next that is open.
func (a *benchAsker) take() Reply {
	if a.digits == "" {
		if a.pairs[a.at] < 0 {
			a.at++
			return why(fmt.Sprintf("Left %d is left open for now.", a.at))
		}
		a.at = a.open(a.at + 1)
		return Reply{}
	}
	r := a.pair()
	if r.Say == "" {
		a.at = a.open(a.at + 1)
	}
	return r
}

// pair pairs the place with what was typed. A tab of the right set has one pair: what is
// taken stays so until it is cleared there.
func (a *benchAsker) pair() Reply {
	typed := a.digits
	b, _ := strconv.Atoi(typed)
	a.digits = ""
	if b < 1 || b > a.n() {
		return why(a.beyond(typed))
	}
	if earlier := slices.Index(a.pairs, b-1); earlier >= 0 && earlier != a.at {
		return why(fmt.Sprintf("Right %d is the pair of left %d already: clear it there (⌫), or take another.", b, earlier+1))
	}
	a.pairs[a.at] = b - 1
	return Reply{Decided: true}
}

// open is the next place without a pair, from one on and then from the first, or
// the end.
func (a *benchAsker) open(from int) int {
	for i := range a.n() {
		if at := (from + i) % a.n(); a.pairs[at] < 0 {
			return at
		}
	}
	return a.n()
}

func (a *benchAsker) handIn(sure bool) Reply {
	if open := a.left(); open > 0 && !sure {
		a.sure = true
		return why(draw.UpperFirst(scoring.Count(open, "place has", "places have")) + " no pair. Enter again hands in all the same.")
	}
	return Reply{Answer: &exercises.Answer{Order: slices.Clone(a.pairs)}}
}

func (a *benchAsker) left() int {
	open := 0
	for _, b := range a.pairs {
		if b < 0 {
			open++
		}
	}
	return open
}

// Pick chooses a place by mouse.
func (a *benchAsker) Pick(i int) Reply {
	if a.stage != askingPairs {
		return Reply{}
	}
	a.sure = false
	return a.move(i)
}

// benchNotes are for the help.
func benchNotes() []string {
	return []string{
		"· Pair with both sets under the same lamp, at arm's length, and look away to grey now and then.",
		"· With --library FILE the tabs have the names of your own measured library, and the size of every mistake is told in ΔE00.",
		"· Any other number of tabs: shadedrill practise bench --pairs 9.",
		"· " + scoring.BenchChance(12),
	}
}
