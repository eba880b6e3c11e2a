package ask

import (
	"errors"
	"fmt"
	"strconv"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/trainer/draw"
)

func init() {
	register(exercises.ValueFirst, Screen{
		Brief: []string{
			"Step 1: a strip of value groups, lightest to darkest, all of one hue and chroma. Find the group that is as light as the target; do not mind its hue yet.",
			"Step 2: the tabs of that group, more chroma to the right, yellower downwards. Take the one nearest to the target, or say that it lies between two.",
			"You can go back to step 1 until the answer is given.",
		},
		Ask:    newValueFirst,
		Worked: workedValueFirst,
	})
}

// valueFirst asks for the value group, then for chroma and hue within it.
//
//	group ──enter──> tab ──h──> between ──enter──> answered
//	  ^───backspace───┘ ^──h/backspace──┘
//	                   tab ──enter──────────────> answered
type valueFirst struct {
	Question
	sheet *tabs.Sheet
	step  valueStep
	rows  bool // row view: every choice beside the target
	group int  // index of the value group
	tab   int  // sheet index of the tab
	pair  int  // which of the tab's neighbours, in step between
	from  int  // first row of groups in the row view

	// What another kind does differently: words before the prompt, a field of
	// its own, and why there is no row view.
	lead   string
	field  func(c *draw.Canvas, in draw.Rect, candidate colour.SRGB, covered bool)
	noRows string
}

type valueStep int

const (
	chooseGroup valueStep = iota
	chooseTab
	chooseBetween
)

func newValueFirst(q Question) (Asker, error) { return newSheetAsker(q) }

func newSheetAsker(q Question) (*valueFirst, error) {
	sheet := q.Setup.Sheet
	if sheet == nil || sheet.Len() == 0 {
		return nil, errors.New("this exercise needs a tab library")
	}
	v := &valueFirst{Question: q, sheet: sheet}
	v.group = len(sheet.Groups()) / 2
	return v, nil
}

func (v *valueFirst) Step() string { return strconv.Itoa(int(v.step)) }

func (v *valueFirst) Prompt() string {
	groups := v.sheet.Groups()
	switch v.step {
	case chooseGroup:
		if v.lead != "" {
			return v.lead + ". Step 1 of 2: which value group is as light?"
		}
		return "Step 1 of 2, value: which group is as light as the target?"
	case chooseTab:
		if v.lead != "" {
			return v.lead + ". Step 2 of 2, chroma and hue: which tab?"
		}
		return fmt.Sprintf("Step 2 of 2, chroma and hue: which tab of group %s comes nearest?", groups[v.group].Name)
	default:
		return fmt.Sprintf("Between %s and which neighbour?", v.sheet.Name(v.tab))
	}
}

// chosen is the colour that the present choice stands for.
func (v *valueFirst) chosen() colour.SRGB {
	groups := v.sheet.Groups()
	switch v.step {
	case chooseGroup:
		return groups[v.group].Shown
	case chooseTab:
		return v.sheet.Shown(v.tab)
	default:
		return v.sheet.Between(v.tab, v.neighbour())
	}
}

func (v *valueFirst) neighbour() int { return v.sheet.Neighbours(v.tab)[v.pair] }

func (v *valueFirst) Keys() []draw.KeyHelp {
	var view []draw.KeyHelp
	switch {
	case v.noRows != "":
	case v.rows:
		view = []draw.KeyHelp{draw.Help("v", "large field", "v")}
	default:
		view = []draw.KeyHelp{draw.Help("v", "beside the target", "v")}
	}
	switch v.step {
	case chooseGroup:
		return append([]draw.KeyHelp{draw.Help("← →", "lighter, darker", "right"), draw.Help("Home End", "lightest, darkest", "end"),
			draw.Help("↵", "take this value", "enter")}, view...)
	case chooseTab:
		return append([]draw.KeyHelp{draw.Help("← →", "less, more chroma", "right"), draw.Help("↑ ↓", "redder, yellower", "down"),
			draw.Help("↵", "answer", "enter"), draw.Help("h", "between two", "h"),
			draw.Help("⌫", "back to value", "backspace")}, view...)
	default:
		return append([]draw.KeyHelp{draw.Help("← →", "other neighbour", "right"), draw.Help("↵", "answer", "enter"),
			draw.Help("h", "one tab after all", "h")}, view...)
	}
}

func (v *valueFirst) Key(k string) Reply {
	if k == "v" {
		if v.noRows != "" {
			return why(v.noRows)
		}
		v.rows = !v.rows
		return Reply{}
	}
	switch v.step {
	case chooseGroup:
		return v.groupKey(k)
	case chooseTab:
		return v.tabKey(k)
	default:
		return v.betweenKey(k)
	}
}

func (v *valueFirst) groupKey(k string) Reply {
	last := len(v.sheet.Groups()) - 1
	switch k {
	case "left", "up":
		if v.group == 0 {
			return why("This is the lightest group.")
		}
		v.group--
	case "right", "down":
		if v.group == last {
			return why("This is the darkest group.")
		}
		v.group++
	case "home":
		v.group = 0
	case "end":
		v.group = last
	case "enter":
		v.step, v.tab = chooseTab, v.sheet.Groups()[v.group].Middle()
		return Reply{Decided: true}
	case "h":
		return why("Between two comes in step 2. First take the nearest value with Enter.")
	case "backspace", "u":
		return why("This is the first step: there is nothing to go back to.")
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return noKey
		}
		if i > last {
			return why(fmt.Sprintf("There %s only %s.", scoring.Plural(last+1, "is", "are"), scoring.Count(last+1, "group", "groups")))
		}
		v.group = i
	}
	return Reply{}
}

func (v *valueFirst) grid() draw.Grid { return draw.Grid{Columns: v.sheet.Groups()[v.group].Columns} }

func (v *valueFirst) tabKey(k string) Reply {
	move := func(dc, dr int, end string) Reply {
		to, moved := v.grid().Step(v.tab, dc, dr)
		if !moved {
			return why("This group has no tab with " + end + " here.")
		}
		v.tab = to
		return Reply{}
	}
	own := v.sheet.Groups()[v.group].Tabs
	switch k {
	case "left":
		return move(-1, 0, "less chroma")
	case "right":
		return move(1, 0, "more chroma")
	case "up":
		return move(0, -1, "a redder hue")
	case "down":
		return move(0, 1, "a yellower hue")
	case "home":
		v.tab = own[0]
	case "end":
		v.tab = own[len(own)-1]
	case "backspace", "u":
		v.step = chooseGroup
	case "h":
		if len(v.sheet.Neighbours(v.tab)) == 0 {
			return why("This tab has no neighbour in its group.")
		}
		v.step, v.pair = chooseBetween, 0
	case "enter":
		return v.take(-1)
	default:
		i, ok := draw.Digit(k)
		if !ok {
			return noKey
		}
		if i >= len(own) {
			return why(fmt.Sprintf("This group has only %s.", scoring.Count(len(own), "tab", "tabs")))
		}
		v.tab = own[i]
	}
	return Reply{}
}

// take answers with the tab, or with what lies between it and another.
func (v *valueFirst) take(other int) Reply {
	a := exercises.TakeTab(v.sheet, v.tab, other)
	return Reply{Answer: &a}
}

func (v *valueFirst) betweenKey(k string) Reply {
	n := len(v.sheet.Neighbours(v.tab))
	switch k {
	case "left", "up":
		v.pair = (v.pair + n - 1) % n
	case "right", "down":
		v.pair = (v.pair + 1) % n
	case "h", "backspace", "u":
		v.step = chooseTab
	case "enter":
		return v.take(v.neighbour())
	default:
		return noKey
	}
	return Reply{}
}

// Pick handles a click: on another item it selects, on the selected one it
// takes it.
func (v *valueFirst) Pick(i int) Reply {
	switch v.step {
	case chooseGroup:
		if i == v.group {
			return v.groupKey("enter")
		}
		v.group = i
	case chooseTab:
		if i == v.tab {
			return v.tabKey("enter")
		}
		v.tab = i
	default:
		if i == v.tab || i == v.neighbour() {
			return v.betweenKey("enter")
		}
		for n, other := range v.sheet.Neighbours(v.tab) {
			if other == i {
				v.pair = n
				return Reply{}
			}
		}
		return why("This tab is not a neighbour of " + v.sheet.Name(v.tab) + ": another lies between them.")
	}
	return Reply{}
}

// workedValueFirst goes through both steps with a target that is one of the tabs, so
// that the end shows two patches that match.
func workedValueFirst(t exercises.Trial, setup exercises.Setup) (exercises.Trial, []Worked) {
	sheet := setup.Sheet
	groups := sheet.Groups()
	right := len(groups) / 2
	columns := groups[right].Columns
	target := columns[len(columns)-1][0] // most chroma, reddest
	t.Target, t.Patches = sheet.Shown(target), nil
	steps := []Worked{{nil, "The left patch is the target. First only value: half close your eyes and ask which one is lighter."}}
	if right > 0 {
		steps[0].Keys = []string{"left"}
		steps[0].Says = "The left patch is the target. First only value: half close your eyes. Here the candidate is lighter than the target; → makes it darker."
		steps = append(steps, Worked{[]string{"right"}, "Now both are as light. Do not mind that the colours still differ: ↵ takes this value."})
	}
	steps = append(steps, Worked{[]string{"enter"}, "The strip has become the tabs of this value. More chroma lies to the right, yellower hues below. The candidate is still too weak."})
	keys := []string{"end", "up", "up", "up", "up"}
	return t, append(steps, Worked{keys, "Right, until the strength matches; up or down, until neither looks redder. Where the target lies between two, h says so. ↵ answers."})
}
