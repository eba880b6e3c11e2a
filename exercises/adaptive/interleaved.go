package adaptive

import (
	"errors"
	"fmt"
	"math/rand/v2"
)

// Trial is what an interleaved run asks next.
type Trial struct {
	Track int     // which track, by position
	Level float64 // 0 in a catch trial
	Catch bool    // nothing differs
}

// InterleavedConfig describes a run of several tracks, for instance one each for
// lightness, chroma and hue.
type InterleavedConfig struct {
	Tracks []Method
	// CatchShare is the share of all trials in which nothing differs, from 0 to 0.5.
	// A yes/no task needs them: without, readiness to say "different" cannot be told
	// from seeing.
	CatchShare float64
	// Trials caps the whole run, catch trials included. 0: the tracks' own limits.
	Trials int
}

// catchBlock is the number of trials over which the share of catch trials is kept:
// their places within it are drawn, so they cannot be foreseen, yet even a short
// run has its share.
const catchBlock = 10

// Interleaved mixes tracks: in each round every track that is not done has one
// trial, in drawn order. Catch trials come between, each with the looks of a drawn
// track. The same seed and the same answers give the same trials.
type Interleaved struct {
	config  InterleavedConfig
	rng     *rand.Rand
	round   []int  // tracks still to come in this round
	block   []bool // catch or not, still to come in this block
	owed    float64
	catches int
	trials  int
	next    *Trial
}

// NewInterleaved checks the configuration. rng is drawn from only here and in
// Next and Take.
func NewInterleaved(c InterleavedConfig, rng *rand.Rand) (*Interleaved, error) {
	if len(c.Tracks) == 0 {
		return nil, errors.New("there is no track to interleave")
	}
	for i, m := range c.Tracks {
		if m == nil {
			return nil, fmt.Errorf("track %d has no method", i+1)
		}
	}
	if !(c.CatchShare >= 0 && c.CatchShare <= 0.5) {
		return nil, fmt.Errorf("a share of %v catch trials is not between 0 and 0.5", c.CatchShare)
	}
	if c.Trials < 0 {
		return nil, fmt.Errorf("a run cannot be capped at %d trials", c.Trials)
	}
	if rng == nil {
		return nil, errors.New("interleaving needs a source of chance")
	}
	return &Interleaved{config: c, rng: rng}, nil
}

// Next is the trial to show now; it stays the same until an answer is taken. When
// every track is done it is the zero Trial, and Done says so.
func (r *Interleaved) Next() Trial {
	if r.next == nil {
		t := r.draw()
		r.next = &t
	}
	return *r.next
}

func (r *Interleaved) draw() Trial {
	if r.tracksDone() {
		return Trial{}
	}
	if r.drawCatch() {
		open := r.open()
		return Trial{Track: open[r.rng.IntN(len(open))], Catch: true}
	}
	for {
		if len(r.round) == 0 {
			r.round = r.open()
			r.rng.Shuffle(len(r.round), func(i, j int) { r.round[i], r.round[j] = r.round[j], r.round[i] })
		}
		track := r.round[0]
		r.round = r.round[1:]
		if m := r.config.Tracks[track]; !m.Done() {
			return Trial{Track: track, Level: m.Next()}
		}
	}
}

// drawCatch decides whether the next trial is a catch trial.
func (r *Interleaved) drawCatch() bool {
	if r.config.CatchShare == 0 {
		return false
	}
	if len(r.block) == 0 {
		r.owed += r.config.CatchShare * catchBlock
		n := int(r.owed + 1e-9)
		r.owed -= float64(n)
		r.block = make([]bool, catchBlock)
		for i := range n {
			r.block[i] = true
		}
		r.rng.Shuffle(catchBlock, func(i, j int) { r.block[i], r.block[j] = r.block[j], r.block[i] })
	}
	is := r.block[0]
	r.block = r.block[1:]
	return is
}

func (r *Interleaved) open() []int {
	var open []int
	for i, m := range r.config.Tracks {
		if !m.Done() {
			open = append(open, i)
		}
	}
	return open
}

// Take adds the answer to the trial that was shown: to its track, or, after a
// catch trial, to every method that learns from one.
func (r *Interleaved) Take(shown Trial, yes bool) error {
	if shown.Track < 0 || shown.Track >= len(r.config.Tracks) {
		return fmt.Errorf("there is no track %d among %d", shown.Track+1, len(r.config.Tracks))
	}
	r.Next() // the draw belongs to the sequence even when another trial was shown
	if shown.Catch {
		r.catches++
		for _, m := range r.config.Tracks {
			if c, ok := m.(catchTaker); ok {
				c.TakeCatch(yes)
			}
		}
	} else if err := r.config.Tracks[shown.Track].Take(shown.Level, yes); err != nil {
		return err
	}
	r.trials++
	r.next = nil
	return nil
}

// Done reports whether every track is done or the cap is reached.
func (r *Interleaved) Done() bool {
	return r.config.Trials > 0 && r.trials >= r.config.Trials || r.tracksDone()
}

func (r *Interleaved) tracksDone() bool {
	for _, m := range r.config.Tracks {
		if !m.Done() {
			return false
		}
	}
	return true
}

// Trials is the number of answers taken, catch trials among them.
func (r *Interleaved) Trials() int { return r.trials }
