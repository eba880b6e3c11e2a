package serve

import (
	"net/netip"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// limits bound how often things are tried. Those by account and by ticket lie in the
// book, see [waits], so that they hold across restarts; those here need not.
type limits struct {
	clock func() time.Time
	mu    sync.Mutex
	by    map[netip.Addr]*rate.Limiter
	sock  map[personID]*rate.Limiter
	// all holds for who names nobody that the book knows: no account counts that.
	all *rate.Limiter
}

// A class sits behind one address and signs in within a minute: by address the limit
// is generous. House choices.
const (
	triesASecond  = 5
	triesAtOnce   = 120
	socketsAtOnce = 20
	mostAddresses = 10_000
)

func (l *limits) init(clock func() time.Time) {
	l.clock, l.by, l.sock = clock, map[netip.Addr]*rate.Limiter{}, map[personID]*rate.Limiter{}
	l.all = rate.NewLimiter(20, 200)
}

// address takes a try by an address; false when there were too many.
func (l *limits) address(a netip.Addr) bool {
	if a.Is6() { // a household has 64 bits to choose from
		if p, err := a.WithZone("").Prefix(64); err == nil {
			a = p.Addr()
		}
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	return take(l.by, a, l.clock(), triesASecond, triesAtOnce)
}

// stranger takes a try for a name or a code that nobody has.
func (l *limits) stranger() bool { return l.all.AllowN(l.clock(), 1) }

// socket takes a socket of a person.
func (l *limits) socket(who personID) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return take(l.sock, who, l.clock(), 1, socketsAtOnce)
}

func take[K comparable](m map[K]*rate.Limiter, key K, now time.Time, every rate.Limit, atOnce int) bool {
	r := m[key]
	if r == nil {
		if len(m) >= mostAddresses { // the ones that have not tried for long are full again
			for k, other := range m {
				if other.TokensAt(now) >= float64(atOnce) {
					delete(m, k)
				}
			}
			if len(m) >= mostAddresses {
				return false
			}
		}
		r = rate.NewLimiter(every, atOnce)
		m[key] = r
	}
	return r.AllowN(now, 1)
}

// freeTries may be wrong before each further one waits: one second, two, four … up to
// a quarter of an hour. Somebody who guesses at an account can so keep its person
// waiting for that long; who is signed in already is not touched by it. House choices.
const (
	freeTries   = 5
	longestWait = 15 * time.Minute
)

// waits says until when no further try is taken after so many wrong ones.
func waits(wrong int, last time.Time) time.Time {
	if wrong < freeTries {
		return time.Time{}
	}
	wait := longestWait
	if n := wrong - freeTries; n < 10 {
		wait = min(wait, time.Second<<n)
	}
	return last.Add(wait)
}
