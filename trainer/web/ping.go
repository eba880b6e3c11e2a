package web

import "time"

// pings are the heartbeat of a socket: they keep it open, find out that it is dead
// (after sleep a socket says that it is open and is not), and measure the way there
// and back. They are answered by the page's script, so that they tell how soon
// the page acts, not only its network.
type pings struct {
	token  uint32          // of the last
	at     time.Time       // when it was sent
	wanted bool            // the page has asked
	open   bool            // it is not answered yet
	took   []time.Duration // the last answers
}

// The first few come soon, so that a time is known before the first answer.
const (
	soonPings   = 3
	soonEvery   = time.Second
	keptPings   = 15
	askedAtMost = time.Second
)

// due returns the token of a ping that is to be sent now.
func (p *pings) due(now time.Time) (token uint32, due bool) {
	since := now.Sub(p.at)
	every := pingEvery
	if p.token < soonPings {
		every = soonEvery
	}
	if p.open || !(since >= every || p.wanted && since >= askedAtMost) {
		return 0, false
	}
	p.token++
	p.at, p.open, p.wanted = now, true, false
	return p.token, true
}

// next is when a ping is due, or an answer overdue.
func (p *pings) next() time.Time {
	switch {
	case p.open:
		return p.at.Add(pongWithin)
	case p.wanted:
		return p.at.Add(askedAtMost)
	case p.token < soonPings:
		return p.at.Add(soonEvery)
	}
	return p.at.Add(pingEvery)
}

func (p *pings) overdue(now time.Time) bool { return p.open && now.Sub(p.at) > pongWithin }

func (p *pings) asked() { p.wanted = true }

// pong takes an answer; false when nothing was asked.
func (p *pings) pong(token uint32, now time.Time) bool {
	if !p.open || token != p.token {
		return false
	}
	p.open = false
	if len(p.took) == keptPings {
		p.took = p.took[:copy(p.took, p.took[1:])]
	}
	p.took = append(p.took, now.Sub(p.at))
	return true
}
