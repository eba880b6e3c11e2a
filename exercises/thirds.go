package exercises

import (
	"math/rand/v2"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/exercises/observer"
)

// OptionNeighbours asks for the teeth at both sides as well: "both"; "none" is
// the usual.
const OptionNeighbours = "neighbours"

// Values of OptionNeighbours.
const (
	neighboursNone = "none"
	NeighboursBoth = "both"
)

// The thirds of a tooth, in the order asked: the neck first.
const (
	Cervical = "cervical"
	Middle   = "middle"
	Incisal  = "incisal"
)

var thirdsOfTooth = []string{Cervical, Middle, Incisal}

// The teeth of a scene. The tooth itself has no name; its neighbours are asked on
// request, since a crown is matched to both.
const (
	LeftTooth  = "left"
	RightTooth = "right"
)

// ThirdsPart names a third of a tooth of the scene, as a trial's part and as the
// role of its patch: "cervical", "left cervical".
func ThirdsPart(tooth, third string) string {
	if tooth == "" {
		return third
	}
	return tooth + " " + third
}

// ToothOf is the colours of a tooth of a thirds trial: "", LeftTooth or
// RightTooth. Every trial of a scene holds all its teeth.
func ToothOf(t Trial, tooth string) (cervical, middle, incisal colour.SRGB, ok bool) {
	var c [3]colour.SRGB
	for i, third := range thirdsOfTooth {
		if c[i], ok = t.Patch(ThirdsPart(tooth, third)); !ok {
			return colour.SRGB{}, colour.SRGB{}, colour.SRGB{}, false
		}
	}
	return c[0], c[1], c[2], true
}

// Thirds names it.
const Thirds KindID = "thirds"

// thirds shows a tooth whose colour runs from the neck to the edge and asks for a
// tab for each third: three trials a scene, nine with the neighbours.
type thirds struct{}

func init() { register(thirds{}) }

func (thirds) ID() KindID    { return Thirds }
func (thirds) Version() int  { return 2 }
func (thirds) Title() string { return "Thirds" }
func (thirds) Traits() Traits {
	return Traits{Seconds: 12, Scene: len(thirdsOfTooth), Levels: thinned, UsualLevel: usualThinned}
}
func (thirds) Trains() string {
	return "one tooth, three shades: cervical, middle and incisal third"
}

func (thirds) NewRun(s Setup) (Run, error) {
	if err := s.checkMatching(); err != nil {
		return nil, err
	}
	if err := checkWord("neighbours", s.Options[OptionNeighbours], neighboursNone, NeighboursBoth); err != nil {
		return nil, err
	}
	lamp, err := s.lamp()
	if err != nil {
		return nil, err
	}
	r := &thirdsRun{setup: s, lamp: lamp, teeth: []string{""}, scene: -1}
	if s.Options[OptionNeighbours] == NeighboursBoth {
		r.teeth = []string{"", LeftTooth, RightTooth}
	}
	return r, nil
}

type thirdsRun struct {
	setup Setup
	lamp  func(colour.Lab) colour.Lab
	teeth []string
	given int

	scene  int // the scene that trials holds, −1 for none yet
	trials []Trial
}

func (r *thirdsRun) each() int { return len(r.teeth) * len(thirdsOfTooth) }

// Planned counts whole scenes: a tooth is never left half asked.
func (r *thirdsRun) Planned() int {
	return (r.setup.Count + r.each() - 1) / r.each() * r.each()
}

func (r *thirdsRun) Next() (Trial, bool) {
	if r.given >= r.Planned() {
		return Trial{}, false
	}
	if scene := r.given / r.each(); scene != r.scene {
		r.scene = scene
		r.trials = r.trials[:0]
		patches := r.drawScene(r.setup.trialRand(scene))
		for i, p := range patches {
			r.trials = append(r.trials, Trial{Kind: Thirds, Version: thirds{}.Version(), Ordinal: scene*r.each() + i,
				Scene: scene, Part: p.Role, Target: p.Colour, Patches: patches})
		}
	}
	return r.trials[r.given%r.each()], true
}

func (r *thirdsRun) Take(Trial, Answer) { r.given++ }

// run is how a third differs from the middle of its tooth, in parts of ΔE00.
type run struct{ L, C, H, sdL, sdC, sdH float64 }

// Studies agree that the neck is darker and more chromatic than the middle and
// the edge less chromatic, that both differences are beyond acceptability as a
// rule, and that the one at the neck is the larger (IJBM 2023;
// 13:146–150; ΔE*ab above 3.7 between all segments in young adults). The figures
// for the single parts are a house choice in that range: about 3.2 ΔE00 at the
// neck and 2.4 at the edge.
var (
	runToNeck = run{L: -1.9, C: 1.9, H: -0.7, sdL: 0.8, sdC: 0.8, sdH: 0.5}
	runToEdge = run{L: -0.4, C: -1.8, H: 0.3, sdL: 0.8, sdC: 0.8, sdH: 0.5}
)

// otherWay is how often a part of the gradient runs against the rule, so that
// nobody can answer from memory; house rule.
const otherWay = 0.2

func (g run) draw(rng *rand.Rand) (l, c, h float64) {
	l, c, h = g.L+g.sdL*rng.NormFloat64(), g.C+g.sdC*rng.NormFloat64(), g.H+g.sdH*rng.NormFloat64()
	if rng.Float64() < otherWay {
		l = -l
	}
	if rng.Float64() < otherWay {
		c = -c
	}
	return l, c, h
}

// drawScene draws the teeth of a scene, each third a patch, in the order asked.
// All can be displayed and are colours of teeth; after many tries the last draw is
// taken as it is, with the bytes that are shown.
func (r *thirdsRun) drawScene(rng *rand.Rand) []Patch {
	var patches []Patch
	for range 300 {
		var usable bool
		if patches, usable = r.tryScene(rng); usable {
			break
		}
	}
	return patches
}

func (r *thirdsRun) tryScene(rng *rand.Rand) (patches []Patch, usable bool) {
	middle := drawNatural(rng, r.setup.Sheet, func(c colour.Lab) colour.Lab { return c }).Lab()
	var neck, edge [3]float64
	neck[0], neck[1], neck[2] = runToNeck.draw(rng)
	edge[0], edge[1], edge[2] = runToEdge.draw(rng)
	usable = true
	for _, tooth := range r.teeth {
		body, toNeck, toEdge := middle, neck, edge
		if tooth != "" {
			// A neighbour resembles the tooth: mandibular central and lateral incisors
			// differ by 1.5 ΔE*ab on average (NJCP, AJOL 174563, 640 adults); its
			// gradient is of the same kind.
			body = observer.Shift(middle, 0.8*rng.NormFloat64(), 0.8*rng.NormFloat64(), 0.4*rng.NormFloat64())
			for i := range toNeck {
				toNeck[i] += 0.4 * rng.NormFloat64()
				toEdge[i] += 0.4 * rng.NormFloat64()
			}
		}
		for i, c := range []colour.Lab{
			observer.Shift(body, toNeck[0], toNeck[1], toNeck[2]), body,
			observer.Shift(body, toEdge[0], toEdge[1], toEdge[2]),
		} {
			if !tabs.Teeth.Contains(c) {
				usable = false
			}
			shown, fits := r.lamp(c).SRGB()
			usable = usable && fits
			if r.setup.Targets == TabTargets {
				nearest, _ := r.setup.Sheet.Nearest(shown.Lab())
				shown = r.setup.Sheet.Shown(nearest)
			}
			patches = append(patches, Patch{ThirdsPart(tooth, thirdsOfTooth[i]), shown})
		}
	}
	return patches, usable
}

// Simulate takes each third as a shade of its own, as in value first.
func (thirds) Simulate(t Trial, s Setup, who observer.Observer, rng *rand.Rand) Answer {
	return valueFirst{}.Simulate(t, s, who, rng)
}
