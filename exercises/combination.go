package exercises

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Verdicts of a combination, from the best; the middle one is [Acceptable].
const (
	Blends = "blends" // the tooth cannot be told from the crown, or hardly
	Redo   = "redo"   // better to make the crown again, to match a stock tooth
)

// The stock has at most so many value levels, evenly chosen from the library's
// groups, and about stockSize teeth: house choices. A full library has a hundred
// and more tabs; a drawer of denture teeth has a few, and none in between.
const (
	mostLevels = 10
	stockSize  = 20
	mostALevel = 5
)

// fairMargin is how far, in ΔE00, the best stock tooth keeps from the two limits
// between the verdicts: on a limit itself either answer would be as good. House rule.
const fairMargin = 0.15

// The limits between the verdicts.
var (
	blendsTo = colour.Perceptibility.Value
	staysTo  = colour.Acceptability.Value
)

// StockTooth is a denture tooth of the stock, named by CIE notation of its
// daylight colour. Teeth of one value level share Level, 0 for the lightest.
type StockTooth struct {
	Name   string
	Level  int
	Colour colour.SRGB // as shown
}

// stockOf thins a sheet out: of each of some value groups a few teeth, those
// nearest to the centres of equal shares of the group by chroma. It returns them
// with their daylight colours. The same sheet gives the same stock.
func stockOf(sheet *tabs.Sheet) (stock []StockTooth, daylight []colour.Lab) {
	fits := map[int]bool{}
	for _, i := range showableTabs(sheet) {
		fits[i] = true
	}
	var usable [][][]int // groups, columns of equal chroma, tabs
	for _, g := range sheet.Groups() {
		var columns [][]int
		for _, column := range g.Columns {
			if shown := slices.DeleteFunc(slices.Clone(column), func(i int) bool { return !fits[i] }); len(shown) > 0 {
				columns = append(columns, shown)
			}
		}
		if len(columns) > 0 {
			usable = append(usable, columns)
		}
	}
	levels := min(mostLevels, len(usable))
	each := min(mostALevel, max(1, int(math.Round(stockSize/float64(levels)))))
	names, shown := map[string]bool{}, map[colour.SRGB]bool{}
	for level := range levels {
		at := 0
		if levels > 1 {
			at = int(math.Round(float64(level*(len(usable)-1)) / float64(levels-1)))
		}
		for _, i := range centresOf(sheet, usable[at], each) {
			tooth := StockTooth{sheet.Measured(i).LCh().String(), level, sheet.Shown(i)}
			// Two that bear one name or look the same would be one choice.
			if names[tooth.Name] || shown[tooth.Colour] {
				continue
			}
			names[tooth.Name], shown[tooth.Colour] = true, true
			stock, daylight = append(stock, tooth), append(daylight, sheet.Measured(i))
		}
	}
	return stock, daylight
}

// centresOf divides a group's columns into n shares and takes of each share the
// tab nearest to its mean colour: at most every second tab, since a stock is sparse.
func centresOf(sheet *tabs.Sheet, columns [][]int, n int) (centres []int) {
	n = min(n, len(columns), max(1, len(slices.Concat(columns...))/2))
	for k := range n {
		share := slices.Concat(columns[k*len(columns)/n : (k+1)*len(columns)/n]...)
		var mean colour.Lab
		for j, i := range share {
			mean = mean.Mix(sheet.Lab(i), 1/float64(j+1))
		}
		centres = append(centres, slices.MinFunc(share, func(a, b int) int {
			return cmp.Compare(colour.DeltaE00(mean, sheet.Lab(a)), colour.DeltaE00(mean, sheet.Lab(b)))
		}))
	}
	return centres
}

// stockRole is how a trial keeps a tooth: "stock 3 L78 C16 h86".
const stockRole = "stock "

func (s StockTooth) patch() Patch {
	return Patch{stockRole + strconv.Itoa(s.Level) + " " + s.Name, s.Colour}
}

// Stock lists the stock teeth of a trial, lightest level first and with rising
// chroma within it.
func Stock(t Trial) []StockTooth {
	var stock []StockTooth
	for _, p := range t.Patches {
		rest, ok := strings.CutPrefix(p.Role, stockRole)
		if !ok {
			continue
		}
		number, name, _ := strings.Cut(rest, " ")
		level, err := strconv.Atoi(number)
		if err != nil || name == "" {
			continue
		}
		stock = append(stock, StockTooth{name, level, p.Colour})
	}
	return stock
}

// StockStrip is a patch for each value level of a stock, lightest first: they differ in
// lightness alone, as the value groups of a library do.
func StockStrip(stock []StockTooth) []colour.SRGB {
	var levels [][]colour.Lab
	last := -1
	for _, s := range stock {
		if s.Level != last {
			last, levels = s.Level, append(levels, nil)
		}
		levels[len(levels)-1] = append(levels[len(levels)-1], s.Colour.Lab())
	}
	return tabs.EvenStrip(levels)
}

// NearestStock is the stock tooth nearest to a colour and its ΔE00; of equally
// near ones the first. Without a stock it is −1.
func NearestStock(stock []StockTooth, c colour.Lab) (i int, e float64) {
	i, e = -1, math.Inf(1)
	for k, s := range stock {
		if d := colour.DeltaE00(c, s.Colour.Lab()); d < e {
			i, e = k, d
		}
	}
	return i, e
}

// TakeStock is the answer "this tooth, and this is how it goes with the crown".
func TakeStock(s StockTooth, verdict string) Answer {
	shown := s.Colour
	return Answer{Tab: s.Name, Colour: &shown, Choice: verdict}
}

// Combination names it.
const Combination KindID = "combination"

// combination shows an existing crown and a sparse stock of denture teeth: which
// tooth is nearest, and does it go with the crown.
type combination struct{}

func init() { register(combination{}) }

func (combination) ID() KindID    { return Combination }
func (combination) Version() int  { return 2 }
func (combination) Title() string { return "Combination" }
func (combination) Traits() Traits {
	return Traits{Seconds: 15, Levels: stocks, UsualLevel: 7}
}
func (combination) Trains() string {
	return "a denture tooth beside a crown: the nearest of a sparse stock, and whether it will do"
}

func (combination) NewRun(s Setup) (Run, error) {
	if err := s.checkMatching(); err != nil {
		return nil, err
	}
	lamp, err := s.lamp()
	if err != nil {
		return nil, err
	}
	r := &combinationRun{setup: s, lamp: lamp}
	r.stock, r.daylight = stockOf(s.Sheet)
	if len(r.stock) < 2 {
		return nil, unusable("choose a library with at least two tabs that differ plainly",
			"library %q gives a stock of a single tooth: there is nothing to choose between", s.Sheet.Library())
	}
	for _, tooth := range r.stock {
		r.patches = append(r.patches, tooth.patch())
	}
	if s.Targets == TabTargets {
		r.crownsOf(s.Sheet)
	}
	return r, nil
}

// crownsOf sorts the tabs by the verdict that they call for. An evenly spread
// library has no two tabs a little apart, and so none for the middle verdict; then
// the colours halfway between neighbours, which are answers too, are crowns as well.
func (r *combinationRun) crownsOf(sheet *tabs.Sheet) {
	add := func(crown colour.SRGB) {
		_, e := NearestStock(r.stock, crown.Lab())
		v := verdictFor(e)
		r.crowns[v] = append(r.crowns[v], crown)
	}
	shown := showableTabs(sheet)
	for _, i := range shown {
		add(sheet.Shown(i))
	}
	if len(r.crowns[0]) > 0 && len(r.crowns[1]) > 0 && len(r.crowns[2]) > 0 {
		return
	}
	for _, i := range shown {
		for _, j := range sheet.Neighbours(i) {
			if j > i && slices.Contains(shown, j) {
				add(sheet.Between(i, j))
			}
		}
	}
}

// plainVerdicts is the spread from which on the middle verdict is left out.
const plainVerdicts = 1.8

// verdictRange is the ΔE00 of the best stock tooth that a verdict's crowns are drawn from;
// each verdict comes up in a third of the trials. The last ends where nobody would ask. Where differences are
// larger than usual the verdicts lie further apart, as far as the middle one has room.
func (s Setup) verdictRange(verdict int) [2]float64 {
	margin := fairMargin * s.wide() * s.wide()
	if wide := s.wide(); wide < 1 { // near the limits on both sides
		near := 2*wide - 1
		return [][2]float64{{(1 - near) * (blendsTo - margin), blendsTo - margin}, {blendsTo + margin, staysTo - margin},
			{staysTo + margin, staysTo + margin + near*(4.5-staysTo-fairMargin)}}[verdict]
	}
	switch verdict {
	case 0:
		return [2]float64{0, max(0.1, blendsTo-margin)}
	case 1:
		margin = min(margin, 0.9*(staysTo-blendsTo)/2)
		return [2]float64{blendsTo + margin, staysTo - margin}
	}
	return [2]float64{staysTo + margin, 4.5 + margin - fairMargin}
}

// verdictFor is 0, 1 or 2 for the three verdicts from the best.
func verdictFor(e float64) int {
	switch {
	case e <= blendsTo:
		return 0
	case e <= staysTo:
		return 1
	}
	return 2
}

type combinationRun struct {
	setup    Setup
	lamp     func(colour.Lab) colour.Lab
	stock    []StockTooth
	daylight []colour.Lab // of the stock
	patches  []Patch
	crowns   [3][]colour.SRGB // by verdict, for targets that are tabs
	given    int
}

func (r *combinationRun) Planned() int { return r.setup.Count }

func (r *combinationRun) Take(Trial, Answer) { r.given++ }

func (r *combinationRun) Next() (Trial, bool) {
	if r.given >= r.setup.Count {
		return Trial{}, false
	}
	crown := r.draw(r.setup.trialRand(r.given))
	_, e := NearestStock(r.stock, crown.Lab())
	return Trial{Kind: Combination, Version: combination{}.Version(), Ordinal: r.given, Scene: r.given,
		Target: crown, Level: e, Patches: r.patches}, true
}

// draw makes a crown for one of the three verdicts, each as often as the others:
// evenly drawn tooth colours would hardly ever blend with so sparse a stock.
func (r *combinationRun) draw(rng *rand.Rand) colour.SRGB {
	verdict := rng.IntN(3)
	if r.setup.wide() >= plainVerdicts && verdict == 1 {
		verdict = 2 * rng.IntN(2) // the middle one is never plain
	}
	if r.setup.Targets == TabTargets {
		for len(r.crowns[verdict]) == 0 {
			verdict = (verdict + 1) % 3
		}
		return r.crowns[verdict][rng.IntN(len(r.crowns[verdict]))]
	}
	wanted := r.setup.verdictRange(verdict)
	var best colour.SRGB
	least := math.Inf(1)
	// Nearly always one of the first dozen will do. A library far from the colours
	// of teeth has none; then the one that misses least is taken.
	for range 300 {
		from := r.daylight[rng.IntN(len(r.daylight))]
		e := wanted[0] + rng.Float64()*(wanted[1]-wanted[0])
		// Three normal draws point in every direction alike.
		daylight, _ := colour.Step(from, e, colour.Direction{L: rng.NormFloat64(), C: rng.NormFloat64(), H: rng.NormFloat64()})
		shown, fits := r.lamp(daylight).SRGB()
		if !fits {
			continue
		}
		_, got := NearestStock(r.stock, shown.Lab())
		miss := max(0, wanted[0]-got, got-wanted[1])
		if !tabs.Teeth.Contains(daylight) {
			miss += 1
		}
		if miss < least {
			best, least = shown, miss
		}
		if least == 0 {
			break
		}
	}
	if math.IsInf(least, 1) { // no colour around the stock can be shown
		return r.stock[rng.IntN(len(r.stock))].Colour
	}
	return best
}

// Simulate takes the tooth that is nearest to the crown as seen, and judges the
// pair as it stands: a bias shifts the choice, but both colours of a pair are seen
// with it. A lapse is any tooth.
func (combination) Simulate(t Trial, _ Setup, who observer.Observer, rng *rand.Rand) Answer {
	stock := Stock(t)
	if len(stock) == 0 {
		return Answer{}
	}
	i, _ := NearestStock(stock, who.Perceive(t.Target.Lab(), rng))
	if rng.Float64() < who.Lapse {
		i = rng.IntN(len(stock))
	}
	e := colour.DeltaE00(t.Target.Lab(), stock[i].Colour.Lab())
	return TakeStock(stock[i], []string{Blends, Acceptable, Redo}[who.Judges(e, rng)])
}
