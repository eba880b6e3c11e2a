package exercises

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"sync"

	"shadedrill/colour"
	"shadedrill/exercises/adaptive"
	"shadedrill/exercises/observer"
)

// Tasks of the threshold exercise.
const (
	// TaskWhich shows two pairs, one of which differs: which?
	TaskWhich = "which"
	// TaskDifferent shows one pair, sometimes an identical one: do they differ?
	TaskDifferent = "different"
	// TaskAccept shows one pair, sometimes an identical one: would you leave it in
	// the mouth?
	TaskAccept = "accept"
)

// Answers to the tasks, in Answer.Choice.
const (
	Left   = "left"
	Right  = "right"
	Differ = "different"
	Same   = "same"
	Leave  = "leave"
	Change = "change"
)

// Methods that choose the levels.
const (
	MethodQuestPlus = "quest-plus"
	MethodStaircase = "staircase" // 1-up/2-down in the forced choice, 1-up/1-down in yes/no
	MethodWeighted  = "weighted"  // Kaernbach's weighted steps to the task's threshold
)

// Options of the threshold exercise.
const (
	OptionMethod = "method" // one of the methods
	OptionWidth  = "width"  // stop a track when its 95 % interval is narrower than this share of the threshold
)

// catchShare is the share of identical pairs in the yes/no tasks: one in five
// (house rule), enough for a false-alarm rate, few enough not to bore.
const catchShare = 0.2

// Threshold names it.
const Threshold KindID = "threshold"

type threshold struct{}

func init() { register(threshold{}) }

func (threshold) ID() KindID    { return Threshold }
func (threshold) Version() int  { return 1 }
func (threshold) Title() string { return "Thresholds" }
func (threshold) Traits() Traits {
	return Traits{MeasuresThreshold: true, AnswerDriven: true, Narrows: true, Task: TaskWhich, Seconds: 2.5}
}
func (threshold) Trains() string {
	return "how small a difference you see, and how large a one you accept"
}

// ThresholdTask says what a task asks for, for adaptive methods and fits.
func ThresholdTask(task string) (adaptive.Task, error) {
	switch task {
	case TaskWhich:
		return adaptive.ForcedChoice, nil
	case TaskDifferent, TaskAccept:
		return adaptive.YesNo, nil
	}
	return 0, fmt.Errorf("no threshold task %q; there are %s, %s and %s", task, TaskWhich, TaskDifferent, TaskAccept)
}

// Passed says whether an answer counts as "beyond threshold": the differing pair
// found, a difference seen, a restoration not left.
func Passed(t Trial, a Answer) bool {
	switch a.Choice {
	case Differ, Change:
		return true
	case Left, Right:
		return a.Choice == t.Key
	}
	return false
}

func (threshold) NewRun(s Setup) (Run, error) {
	task, err := ThresholdTask(s.Task)
	if err != nil {
		return nil, err
	}
	if s.Count < 1 {
		return nil, fmt.Errorf("a threshold needs at least one trial, not %d", s.Count)
	}
	r := &thresholdRun{setup: s, forced: task == adaptive.ForcedChoice}
	for i, track := range tracks {
		if s.Attribute == "" || s.Attribute == track.attribute {
			r.tracks = append(r.tracks, i)
		}
	}
	if len(r.tracks) == 0 {
		return nil, fmt.Errorf("no attribute %q; there are value, chroma and hue", s.Attribute)
	}
	config := adaptive.InterleavedConfig{Trials: s.Count}
	if !r.forced {
		config.CatchShare = catchShare
	}
	for _, i := range r.tracks {
		m, err := newMethod(s, task, i)
		if err != nil {
			return nil, err
		}
		config.Tracks = append(config.Tracks, m)
	}
	// The order of tracks and catch trials has a source of its own, apart from
	// every trial's (whose second seed is at least 1).
	r.method, err = adaptive.NewInterleaved(config, rand.New(rand.NewPCG(s.Seed, 0)))
	if err != nil {
		return nil, err
	}
	return r, nil
}

// defaultTables holds the table of each task and track: the same for everybody,
// and the slowest part of a start.
var defaultTables sync.Map

func defaultTable(task adaptive.Task, track int) (*adaptive.Table, error) {
	key := [2]int{int(task), track}
	if t, ok := defaultTables.Load(key); ok {
		return t.(*adaptive.Table), nil
	}
	t, err := adaptive.DefaultTable(task, ThresholdLevels(tracks[track].attribute))
	if err != nil {
		return nil, err
	}
	defaultTables.Store(key, t)
	return t, nil
}

func newMethod(s Setup, task adaptive.Task, track int) (adaptive.Method, error) {
	stop := adaptive.Stop{Trials: s.Count, AtLeast: min(20, s.Count)}
	if text := s.Options[OptionWidth]; text != "" {
		width, err := strconv.ParseFloat(text, 64)
		if err != nil || !(width >= 0) {
			return nil, fmt.Errorf("the interval width to stop at is not a share such as 0.3: %q", text)
		}
		stop.RelativeWidth = width
	}
	table, err := defaultTable(task, track)
	if err != nil {
		return nil, err
	}
	levels := table.Levels()
	start := levels.Nearest(2.5) // plain to see, far from the end of the range
	switch method := s.Options[OptionMethod]; method {
	case "", MethodQuestPlus:
		return adaptive.NewQuestPlus(table, adaptive.DefaultAim, stop)
	case MethodStaircase:
		down := 1
		if task == adaptive.ForcedChoice {
			down = 2
		}
		stop.Reversals = 16
		return adaptive.NewStaircase(adaptive.Transformed(levels, start, down, stop, 0.6, 0.4, 0.2))
	case MethodWeighted:
		target := 0.5
		if task == adaptive.ForcedChoice {
			target = 0.75
		}
		stop.Reversals = 16
		config, err := adaptive.Weighted(levels, start, target, 0.2, stop)
		if err != nil {
			return nil, err
		}
		return adaptive.NewStaircase(config)
	default:
		return nil, fmt.Errorf("no method %q; there are %s", method,
			strings.Join([]string{MethodQuestPlus, MethodStaircase, MethodWeighted}, ", "))
	}
}

type thresholdRun struct {
	setup  Setup
	forced bool
	tracks []int // the method's tracks, as places in the list of all tracks
	method *adaptive.Interleaved
	given  int
}

func (r *thresholdRun) Planned() int { return r.setup.Count }

func (r *thresholdRun) Next() (Trial, bool) {
	if r.method.Done() {
		return Trial{}, false
	}
	rng := r.setup.trialRand(r.given)
	next := r.method.Next()
	track := r.tracks[next.Track]
	pairs := pairsOf()[track]
	t := Trial{Kind: Threshold, Version: threshold{}.Version(), Ordinal: r.given, Part: tracks[track].attribute}
	pair := pairs.around(next.Level, rng)
	if next.Catch {
		same := pairs[rng.IntN(len(pairs))]
		pair = colour.Pair{Standard: same.Standard, Sample: same.Standard}
	}
	t.Level = pair.E
	first, second := pair.Standard, pair.Sample
	if rng.IntN(2) == 1 {
		first, second = second, first
	}
	t.Target = pair.Standard
	if !r.forced {
		t.Target = first
		t.Patches = []Patch{{"sample", second}}
		return t, true
	}
	differing := []Patch{{Left, first}, {Left, second}}
	identical := []Patch{{Right, pair.Standard}, {Right, pair.Standard}}
	t.Key = Left
	if rng.IntN(2) == 1 {
		t.Key = Right
		for i := range differing {
			differing[i].Role, identical[i].Role = Right, Left
		}
		differing, identical = identical, differing
	}
	t.Patches = slices.Concat(differing, identical)
	return t, true
}

func (r *thresholdRun) Take(t Trial, a Answer) {
	shown := adaptive.Trial{Level: t.Level, Catch: t.Level == 0}
	for i, track := range r.tracks {
		if tracks[track].attribute == t.Part {
			shown.Track = i
		}
	}
	// The only errors are a track or a level that no trial of ours has; an
	// imported trial that has one teaches the method nothing.
	_ = r.method.Take(shown, Passed(t, a))
	r.given++
}

func (threshold) Simulate(t Trial, s Setup, who observer.Observer, rng *rand.Rand) Answer {
	if t.Key != "" {
		return Answer{Choice: who.Which(t.Level, t.Key, Left, Right, rng)}
	}
	yes, no := Differ, Same
	if s.Task == TaskAccept {
		yes, no = Change, Leave
	}
	if who.Differs(t.Level, rng) {
		return Answer{Choice: yes}
	}
	return Answer{Choice: no}
}
