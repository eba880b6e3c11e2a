package trainer

import "time"

// The time of a trial: the rest before it, its looks, and what stops while it cannot be
// seen.

// rest shows the neutral field, then a look.
func (p *drillPage) rest() {
	now := p.now()
	p.spent.stop(now)
	p.phase = resting
	p.until = now.Add(p.setup.Viewing.Rest)
	if p.setup.Viewing.Rest <= 0 {
		p.uncover(now)
	}
}

func (p *drillPage) uncover(now time.Time) {
	p.phase = looking
	p.looks++
	p.look = stopwatch{}
	p.look.start(now)
	p.spent.start(now)
	p.message = ""
}

// counts reports that the limit of a look, or the time of an exercise by hand, runs.
func (p *drillPage) counts() bool { return p.phase == looking }

func (p *drillPage) due(now time.Time) (time.Time, bool) {
	if p.paused {
		return time.Time{}, false
	}
	switch p.phase {
	case resting:
		return p.until, true
	case looking:
		if p.begun { // the seconds are shown
			return now.Add(time.Second - p.spent.elapsed(now)%time.Second), true
		}
		limit := p.setup.Viewing.Limit
		if limit <= 0 {
			return time.Time{}, false
		}
		// Wake at every full second for the counter, at last for the end.
		left := limit - p.look.elapsed(now)
		if left <= 0 {
			return now, true
		}
		full := left % time.Second
		if full == 0 {
			full = time.Second
		}
		return now.Add(min(left, full)), true
	}
	return time.Time{}, false
}

func (p *drillPage) tick(now time.Time) {
	switch p.phase {
	case resting:
		p.uncover(now)
	case looking:
		if !p.traits.ByHand && p.look.elapsed(now) >= p.setup.Viewing.Limit {
			p.look.stop(now)
			p.phase = covered
		}
	}
}

// pause stops the clocks while the trial cannot be seen.
func (p *drillPage) pause(now time.Time) {
	if p.paused || p.traits.ByHand { // tabs in the hand stay in sight
		return
	}
	p.paused = true
	p.left = p.until.Sub(now)
	p.look.stop(now)
	p.spent.stop(now)
}

func (p *drillPage) resume(now time.Time) {
	if !p.paused {
		return
	}
	p.paused = false
	switch p.phase {
	case resting:
		p.until = now.Add(p.left)
	case looking:
		p.look.start(now)
		p.spent.start(now)
	case covered:
		p.spent.start(now)
	}
}
