package exercises

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// Tasks of the lighting exercise; empty is TaskLamps. The other is [TaskWhich]:
// which of three pairs breaks under the lamp named?
const TaskLamps = "lamps"

// Answers to TaskLamps, in Answer.Choice. TaskWhich is answered with the pair's
// number, "1" to "3".
const (
	Match      = "match"      // no difference to speak of
	Acceptable = "acceptable" // a difference that may stay
	Mismatch   = "mismatch"   // a difference that may not
)

// optionLamps lists the lamps to step through, by their IDs with commas between.
const optionLamps = "lamps"

// usualLamps are daylight, the lamp at home, tubes of two kinds, a lamp of today's
// and a modelled home one.
var usualLamps = []string{"d65", "a", "f2", "f11", "led-b3", "led-warm"}

// pairsToChooseFrom is how many pairs TaskWhich shows.
const pairsToChooseFrom = 3

// Lighting names it.
const Lighting KindID = "lighting"

// lighting shows what metamerism does: two surfaces of one colour in daylight
// that part under other lamps. A setup's Count is the number of answers, rounded
// up to whole pairs.
type lighting struct{}

func init() { register(lighting{}) }

func (lighting) ID() KindID    { return Lighting }
func (lighting) Version() int  { return 3 }
func (lighting) Title() string { return "Lighting" }
func (lighting) Traits() Traits {
	return Traits{Seconds: 10, Scene: len(usualLamps), Levels: spreads(5, 3.5, 2.5, 2, 1.6, 1.3, 1), UsualLevel: 7}
}
func (lighting) Trains() string {
	return "metamerism: a match in daylight that another lamp may break"
}

// ClueLamp is the lamp under which TaskWhich shows the pairs besides daylight, so
// that there is something to judge by: a lamp of another kind than the one asked,
// tubes for the lamps rich in red, the incandescent lamp for all others.
func ClueLamp(asked string) string {
	if asked == "a" || asked == "led-warm" {
		return "f11"
	}
	return "a"
}

func (lighting) NewRun(s Setup) (Run, error) {
	if err := s.checkCount(); err != nil {
		return nil, err
	}
	if err := checkWord("task", s.Task, TaskLamps, TaskWhich); err != nil {
		return nil, err
	}
	if err := checkWord("kind of target", string(s.Targets), string(NaturalTargets), string(TabTargets)); err != nil {
		return nil, err
	}
	if s.Viewing.Light != "" && !strings.EqualFold(s.Viewing.Light, colour.D65().ID) {
		return nil, unusable("leave the light out; the option "+optionLamps+" chooses the lamps", "this exercise changes the light itself")
	}
	r := &lightingRun{setup: s, scene: -1}
	var err error
	if r.lamps, err = lampsOf(s.Options[optionLamps]); err != nil {
		return nil, err
	}
	for _, l := range r.lamps {
		if l.ID != colour.D65().ID {
			r.tests = append(r.tests, l)
		}
	}
	if len(r.tests) == 0 {
		return nil, unusable("add a lamp such as a, f11 or led-warm", "daylight alone breaks no match")
	}
	if r.draw, err = s.drawTeeth(); err != nil {
		return nil, err
	}
	return r, nil
}

func lampsOf(option string) ([]colour.Light, error) {
	ids := usualLamps
	if option != "" {
		ids = strings.Split(option, ",")
	}
	var lamps []colour.Light
	for _, id := range ids {
		light, err := colour.LightByID(id)
		if err != nil {
			return nil, unknownLight(id)
		}
		if slices.ContainsFunc(lamps, func(l colour.Light) bool { return l.ID == light.ID }) {
			return nil, unusable("name each lamp once", "the lamp %s is named twice", light.ID)
		}
		lamps = append(lamps, light)
	}
	return lamps, nil
}

// drawTeeth draws daylight colours that a tooth can have, from the colours of
// natural teeth or from the library.
func (s Setup) drawTeeth() (func(*rand.Rand) colour.SRGB, error) {
	if s.Targets != TabTargets {
		daylight := func(c colour.Lab) colour.Lab { return c }
		return func(rng *rand.Rand) colour.SRGB { return drawShown(rng, daylight, tabs.NaturalTeeth.Sample) }, nil
	}
	if s.Sheet == nil || s.Sheet.Len() == 0 {
		return nil, unusable("choose a library of tabs, or natural targets", "there is no library to take the colours from")
	}
	fit := slices.DeleteFunc(showableTabs(s.Sheet), func(i int) bool { return !s.Sheet.Fits(i) })
	shown := make([]colour.SRGB, 0, len(fit))
	for _, i := range fit {
		shown = append(shown, s.Sheet.Shown(i))
	}
	toothLike := func(c colour.SRGB) bool {
		_, found := colour.ToothReflectance(c.Lab())
		return found
	}
	if !slices.ContainsFunc(shown, toothLike) {
		return nil, unusable("choose another library, or natural targets",
			"library %q has no tab of a colour that a tooth can have and a display can show", s.Sheet.Library())
	}
	return func(rng *rand.Rand) colour.SRGB { return shown[rng.IntN(len(shown))] }, nil
}

type lightingRun struct {
	setup Setup
	lamps []colour.Light // in the order shown
	tests []colour.Light // those other than daylight
	draw  func(*rand.Rand) colour.SRGB
	given int

	scene  int // the scene that trials holds, −1 for none yet
	trials []Trial
}

func (r *lightingRun) each() int {
	if r.setup.Task == TaskWhich {
		return 1
	}
	return len(r.lamps)
}

func (r *lightingRun) Planned() int {
	each := r.each()
	return (r.setup.Count + each - 1) / each * each
}

func (r *lightingRun) Next() (Trial, bool) {
	if r.given >= r.Planned() {
		return Trial{}, false
	}
	if scene := r.given / r.each(); scene != r.scene {
		r.scene = scene
		rng := r.setup.trialRand(scene)
		if r.setup.Task == TaskWhich {
			r.trials = []Trial{r.which(rng)}
		} else {
			r.trials = r.underEachLamp(rng)
		}
		for i := range r.trials {
			t := &r.trials[i]
			t.Kind, t.Version, t.Scene, t.Ordinal = Lighting, lighting{}.Version(), scene, scene*r.each()+i
		}
	}
	return r.trials[r.given%r.each()], true
}

func (r *lightingRun) Take(Trial, Answer) { r.given++ }

// underEachLamp makes one pair and a trial for each lamp. The pair is made for
// one lamp, drawn at random, to differ there by an amount that is drawn evenly
// from below perceptibility, below acceptability, or beyond; what the other lamps
// do to it follows. Where differences are larger than usual, the middle verdict is
// left out from [plainVerdicts] on, as in combination, and of several pairs the one is
// taken that keeps furthest off the limits between the verdicts under all lamps.
func (r *lightingRun) underEachLamp(rng *rand.Rand) []Trial {
	test := r.tests[rng.IntN(len(r.tests))]
	seen, accepted := colour.Perceptibility.Value, colour.Acceptability.Value
	verdict := rng.IntN(3)
	size := [][2]float64{{0, seen}, {seen, accepted}, {accepted, 4}}[verdict]
	if wide := r.setup.wide(); wide > 1 {
		if wide >= plainVerdicts && verdict == 1 {
			verdict = 2 * rng.IntN(2)
		}
		size = r.setup.verdictRange(verdict)
	}
	m, made := drawMetamers(rng, r.draw, test, size[0], size[1], r.lamps)
	if r.setup.wide() > 1 {
		for range plainTries {
			if next, ok := drawMetamers(rng, r.draw, test, size[0], size[1], r.lamps); ok && (!made || r.unclear(next) < r.unclear(m)) {
				m, made = next, true
			}
		}
	}
	if rng.IntN(2) == 1 {
		m.First, m.Second = m.Second, m.First
	}
	daylight := pairUnder(m, colour.D65())
	var trials []Trial
	for _, lamp := range r.lamps {
		pair := pairUnder(m, lamp)
		trials = append(trials, Trial{Part: lamp.ID, Target: pair.first, Level: pair.e, Patches: []Patch{
			{"sample", pair.second}, {"daylight", daylight.first}, {"daylight", daylight.second},
		}})
		trials[len(trials)-1].remember(m)
	}
	return trials
}

// plainTries is how many more pairs are drawn to find a plain one; house rule.
const plainTries = 11

// unclear is by how much a pair comes nearer to the limits between the verdicts than a
// level of larger differences lets it, summed over the lamps; 0 is plain.
func (r *lightingRun) unclear(m colour.Metamers) (sum float64) {
	margin := fairMargin * r.setup.wide() * r.setup.wide()
	for _, lamp := range r.tests {
		e := pairUnder(m, lamp).e
		sum += max(0, margin-min(math.Abs(e-blendsTo), math.Abs(e-staysTo)))
	}
	return sum
}

// roleRare is the role of a patch that is never drawn; like those under the lamp asked it
// is for the feedback only: it says of the pair asked about
// what no colour tells.
const roleRare = "under-rare"

// remember keeps with the trial that no smooth pair of reflectances parts as this one
// does.
func (t *Trial) remember(m colour.Metamers) {
	if m.Unlikely() {
		t.Patches = append(t.Patches, Patch{roleRare, colour.Grey(0)})
	}
}

// Rare says that pairs which part like the one asked about are rarer in the mouth (see
// [colour.Metamers.Unlikely]).
func (t Trial) Rare() bool {
	_, rare := t.Patch(roleRare)
	return rare
}

// which makes three pairs. One breaks under the lamp asked; the other two hold
// there, though they may break under the clue's. Their bytes have the roles
// "pair-1" … in daylight, "clue-1" … under the clue's lamp, and "under-1" … under
// the lamp asked, which are for the feedback only.
func (r *lightingRun) which(rng *rand.Rand) Trial {
	asked := r.tests[rng.IntN(len(r.tests))]
	clue := lampOf(ClueLamp(asked.ID))
	lamps := []colour.Light{asked, clue}
	broken := r.breaking(rng, asked, lamps)
	holds := min(1.2, pairUnder(broken, asked).e/2)
	var pairs []colour.Metamers
	key := rng.IntN(pairsToChooseFrom)
	for i := range pairsToChooseFrom {
		if i == key {
			pairs = append(pairs, broken)
			continue
		}
		var m colour.Metamers
		for range 50 { // as a rule, one in two or three holds
			if m, _ = drawMetamers(rng, r.draw, clue, 0, 3, lamps); pairUnder(m, asked).e <= holds {
				break
			}
			m.Second = m.First // what is left if none should hold
		}
		pairs = append(pairs, m)
	}
	t := Trial{Part: asked.ID, Key: strconv.Itoa(key + 1), Level: pairUnder(broken, asked).e}
	for i, m := range pairs {
		if rng.IntN(2) == 1 {
			m.First, m.Second = m.Second, m.First
		}
		for _, view := range []struct {
			role  string
			light colour.Light
		}{{"pair", colour.D65()}, {"clue", clue}, {"under", asked}} {
			pair := pairUnder(m, view.light)
			role := fmt.Sprintf("%s-%d", view.role, i+1)
			t.Patches = append(t.Patches, Patch{role, pair.first}, Patch{role, pair.second})
		}
	}
	t.Target = t.Patches[0].Colour
	t.remember(broken)
	return t
}

// breaking makes a pair that differs by 2.5–4.5 under the lamp, or by less where
// the lamp is too close to daylight for that.
func (r *lightingRun) breaking(rng *rand.Rand, asked colour.Light, lamps []colour.Light) colour.Metamers {
	for from := 2.5; ; from *= 0.7 {
		m, ok := drawMetamers(rng, r.draw, asked, from, from+2, lamps)
		if ok || from < 0.5 {
			return m
		}
	}
}

// Simulate judges the size of each difference with the observer's scatter. For
// TaskWhich it names the pair that differs most under the clue's lamp.
func (lighting) Simulate(t Trial, s Setup, who observer.Observer, rng *rand.Rand) Answer {
	if s.Task != TaskWhich {
		sample, _ := t.Patch("sample")
		e := colour.DeltaE00(t.Target.Lab(), sample.Lab())
		return Answer{Choice: []string{Match, Acceptable, Mismatch}[who.Judges(e, rng)]}
	}
	if rng.Float64() < who.Lapse {
		return Answer{Choice: strconv.Itoa(1 + rng.IntN(pairsToChooseFrom))}
	}
	largest, choice := 0.0, "1"
	for i := 1; i <= pairsToChooseFrom; i++ {
		pair := t.PatchesOf(fmt.Sprintf("clue-%d", i))
		if len(pair) != 2 {
			continue
		}
		e := colour.DeltaE00(pair[0].Lab(), pair[1].Lab()) + who.Noise*rng.NormFloat64()
		if i == 1 || e > largest {
			largest, choice = e, strconv.Itoa(i)
		}
	}
	return Answer{Choice: choice}
}
