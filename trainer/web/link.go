package web

import (
	"context"
	"errors"
	"io"
	"net/http"
	"slices"
	"time"

	"github.com/coder/websocket"
)

// Why a socket is closed, beside the codes of RFC 6455 (1001 going away: the server
// stops, come back; 1002 protocol; 1008 policy: too slow; 1009 too big).
const (
	CloseEnded    = websocket.StatusCode(4000) // the trainer has ended: there is nothing to come back to
	CloseTaken    = websocket.StatusCode(4001) // another window of the same person shows it now
	CloseSignedIn = websocket.StatusCode(4003) // nobody is signed in any more
)

// closing is a reason to close.
type closing struct {
	code   websocket.StatusCode
	reason string
}

func (c closing) or(other closing) closing {
	if c.code == 0 {
		return other
	}
	return c
}

// Times of a socket.
const (
	helloWithin = 5 * time.Second  // from its opening to the first message
	writeWithin = 2 * time.Second  // a message that does not fit into the socket's memory
	drawnWithin = 10 * time.Second // a picture that was sent
	pingEvery   = 15 * time.Second // proxies cut what is silent for a minute
	pongWithin  = 10 * time.Second
)

// A page may send this many messages at once, and as many a second in the long run;
// what is more waits in the socket. A key held down repeats some 30 times a second.
const (
	mostAtOnce  = 1000
	mostASecond = 100
)

// link is one socket of a screen. Its fields are guarded by the screen's mutex.
type link struct {
	conn   *websocket.Conn
	w, h   int // of the page, in cells
	wakes  chan struct{}
	gone   chan struct{} // closed when the screen has let go of it
	told   chan struct{} // closed when the page was told why; nil where there is nothing to tell
	first  uint32        // its first picture; 0 before it is sent
	last   uint32        // its last
	flight uint32        // sent and not yet drawn; 0 for none
	sent   time.Time     // when that was
	drew   time.Duration // from sending the last picture that was drawn until the page said so
	pings  pings
}

func (l *link) wake() {
	select {
	case l.wakes <- struct{}{}:
	default:
	}
}

// errOrigin is what Accept returns for a socket that another site asks for.
var errOrigin = errors.New("a socket asked for by another site")

// Accept opens a socket for a page from the given origin ("https://class.example"),
// and for no other: a browser names the origin, and who names none is no browser.
func Accept(w http.ResponseWriter, r *http.Request, origin string) (*websocket.Conn, error) {
	if r.Header.Get("Origin") != origin {
		http.Error(w, "this socket belongs to another site", http.StatusForbidden)
		return nil, errOrigin
	}
	// The origin was compared above, to the letter; the library would let pass a
	// missing one.
	return websocket.Accept(w, r, &websocket.AcceptOptions{InsecureSkipVerify: true})
}

// Serve shows the screen on a socket until that is closed, and returns why. A page
// that shows it already is told and let go.
func (s *Screen) Serve(ctx context.Context, conn *websocket.Conn) error {
	defer conn.CloseNow()
	conn.SetReadLimit(longest)
	var buf [longest + 2]byte // the library closes with 1009 before it is full
	hello, cancel := context.WithTimeout(ctx, helloWithin)
	m, err := read(hello, conn, buf[:])
	cancel()
	if err == nil && m.kind != msgHello {
		err = errMalformed
	}
	if err != nil {
		refuseSocket(conn, err)
		return err
	}
	l := &link{conn: conn, w: m.x, h: m.y, wakes: make(chan struct{}, 1), gone: make(chan struct{})}
	if err := s.attach(l); err != nil {
		conn.Close(CloseEnded, "the trainer has ended")
		return err
	}
	written := make(chan struct{})
	go func() {
		defer close(written)
		s.write(l)
	}()
	// One watch for all reads, in place of one each.
	stop := context.AfterFunc(ctx, func() { conn.CloseNow() })
	defer stop()
	err = s.read(l, buf[:])
	s.detach(l)
	<-written
	// A page that sends something when it is let go of ends the reading; it is still told.
	if told := s.toldOf(l); told != nil {
		<-told
	}
	return err
}

// refuseSocket closes a socket and says why.
func refuseSocket(conn *websocket.Conn, err error) {
	if errors.Is(err, errMalformed) {
		conn.Close(websocket.StatusProtocolError, "not understood")
	}
}

// errEnded is what Serve returns when there is no trainer any more.
var errEnded = errors.New("the trainer has ended")

func (s *Screen) attach(l *link) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.ended {
		return errEnded
	}
	if s.link != nil {
		s.drop(s.link, closing{CloseTaken, "shown in another window"})
	}
	if s.idle != nil {
		s.idle.Stop()
	}
	s.link = l
	s.stats.Links++
	s.whole, s.keysNew, s.refusedNew = true, true, false
	s.refused = 0
	s.event.Broadcast()
	l.wake()
	return nil
}

// detach lets go of a socket that is closed.
func (s *Screen) detach(l *link) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.link == l {
		s.drop(l, closing{})
	}
}

func (s *Screen) toldOf(l *link) chan struct{} {
	s.mu.Lock()
	defer s.mu.Unlock()
	return l.told
}

// drop lets go of the socket. Closing takes a while, so it is done apart.
func (s *Screen) drop(l *link, why closing) {
	s.link = nil
	close(l.gone)
	if why.code != 0 {
		told := make(chan struct{})
		l.told = told
		go func() {
			defer close(told)
			l.conn.Close(why.code, why.reason)
		}()
	}
	if !s.ended {
		s.waitForPage()
	}
	s.event.Broadcast()
}

// Cut closes the page's socket with a code and a reason; the trainer goes on and
// waits for another.
func (s *Screen) Cut(code websocket.StatusCode, reason string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.link != nil {
		s.drop(s.link, closing{code, reason})
	}
}

// Goodbye says with which code and reason the page will be left when the trainer
// ends, such as 1001 when the server stops.
func (s *Screen) Goodbye(code websocket.StatusCode, reason string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.goodbye = closing{code, reason}
}

// read reads one message; buf is overwritten by the next.
func read(ctx context.Context, conn *websocket.Conn, buf []byte) (message, error) {
	typ, r, err := conn.Reader(ctx)
	if err != nil {
		return message{}, err
	}
	if typ != websocket.MessageBinary {
		return message{}, errMalformed
	}
	n := 0
	for {
		got, err := r.Read(buf[n:])
		n += got
		if err == io.EOF {
			return parse(buf[:n])
		}
		if err != nil {
			return message{}, err
		}
		if n == len(buf) {
			return message{}, errMalformed
		}
	}
}

// read takes what the page sends, until it is gone.
func (s *Screen) read(l *link, buf []byte) error {
	left, filled := float64(mostAtOnce), time.Now()
	for {
		m, err := read(context.Background(), l.conn, buf)
		if err == nil {
			err = s.take(l, m)
		}
		if err != nil {
			refuseSocket(l.conn, err)
			return err
		}
		now := time.Now()
		left = min(mostAtOnce, left+now.Sub(filled).Seconds()*mostASecond) - 1
		filled = now
		if left < 0 {
			select {
			case <-time.After(time.Second / mostASecond):
			case <-l.gone:
			}
		}
	}
}

var errGone = errors.New("the socket was let go of")

// take handles a message of a page.
func (s *Screen) take(l *link, m message) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.link != l {
		return errGone
	}
	switch m.kind {
	case msgHello:
		return errMalformed // a second one
	case msgKey, msgMouse:
		if m.picture > l.last || l.last == 0 {
			return errMalformed // a picture that was never sent
		}
		if m.picture < l.first { // made before the page was connected again
			s.refuse()
			return nil
		}
		for len(s.inputs) >= mostInputs && s.link == l {
			s.event.Wait()
		}
		if s.link != l {
			return errGone
		}
		m.at = s.options.Clock()
		s.inputs = append(s.inputs, m)
		s.event.Broadcast()
	case msgSize:
		l.w, l.h = m.x, m.y
		s.event.Broadcast()
	case msgDrawn:
		if l.flight == 0 || m.picture != l.flight {
			return errMalformed
		}
		l.flight, l.drew = 0, time.Since(l.sent)
		if s.hasPicture() {
			l.wake()
		}
	case msgPong:
		if !l.pings.pong(m.picture, time.Now()) {
			return errMalformed
		}
		l.wake() // the next is due sooner than an answer was
	case msgAsk:
		l.pings.asked()
		l.wake()
	case msgShown:
		s.shown = m.shown
		if tell := s.options.Shown; tell != nil {
			s.mu.Unlock()
			tell(*m.shown)
			s.mu.Lock()
		}
	}
	return nil
}

// write sends pictures and pings, until the page is gone.
func (s *Screen) write(l *link) {
	look := time.NewTimer(0)
	defer look.Stop()
	tooLong := time.AfterFunc(time.Hour, func() { l.conn.CloseNow() })
	defer tooLong.Stop()
	tooLong.Stop()
	for {
		select {
		case <-l.gone:
			return
		case <-l.wakes:
		case <-look.C:
		}
		for {
			e := encoders.Get().(*encoder)
			ok, wait := s.next(l, e, time.Now())
			var err error
			if ok {
				tooLong.Reset(writeWithin)
				err = l.conn.Write(context.Background(), websocket.MessageBinary, e.buf)
				tooLong.Stop()
			} else {
				look.Reset(wait)
			}
			if cap(e.buf) < 1<<16 && len(e.colours) < 1<<12 { // an exception is not kept
				encoders.Put(e)
			}
			if err != nil {
				s.detach(l)
				l.conn.CloseNow() // the reader returns
				return
			}
			if !ok {
				break
			}
		}
	}
}

// hasPicture reports whether there is something that the page has not been sent.
func (s *Screen) hasPicture() bool {
	return !s.drawing && (s.whole || s.sceneNew || s.keysNew || s.refusedNew || s.cells.anyDirty())
}

// next makes the next message for a page; false when there is none, and then wait is
// how long at most until there may be one that nobody wakes for.
func (s *Screen) next(l *link, e *encoder, now time.Time) (ok bool, wait time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.link != l {
		return false, time.Hour
	}
	if l.flight != 0 && now.Sub(l.sent) > drawnWithin || l.pings.overdue(now) {
		s.drop(l, closing{websocket.StatusPolicyViolation, "the page does not answer"})
		return false, time.Hour
	}
	if token, due := l.pings.due(now); due {
		e.ping(token)
		return true, 0
	}
	wait = l.pings.next().Sub(now)
	if l.flight != 0 {
		wait = min(wait, l.sent.Add(drawnWithin).Sub(now))
	}
	wait = max(wait, 0) + time.Millisecond
	if l.flight != 0 || !s.hasPicture() {
		return false, wait
	}
	if l.first == 0 && (s.cells.w != l.w || s.cells.h != l.h) { // the size of the page is not taken over yet
		return false, wait
	}
	s.number++
	h := head{number: s.number, whole: s.whole, refused: -1, keys: s.keysNew, telling: s.telling}
	if s.refusedNew {
		h.refused = s.refused
	}
	e.picture(h, &s.cells)
	clear(s.cells.dirty)
	s.whole, s.sceneNew, s.keysNew, s.refusedNew = false, false, false, false
	l.flight, l.last, l.sent = s.number, s.number, now
	if l.first == 0 {
		l.first = s.number
	}
	if !s.changed.IsZero() {
		s.held, s.changed = now.Sub(s.changed), time.Time{}
	}
	s.stats.Pictures++
	s.stats.Bytes += len(e.buf)
	return true, 0
}

// Times tell how much later than the trainer thinks a person sees a picture and is
// heard.
type Times struct {
	// RoundTrip is the median of the last pings, from server to page and back; 0
	// when there was none.
	RoundTrip time.Duration
	Pings     int
	// Held is how long the first picture of the present scene waited until the page
	// had drawn the one before.
	Held time.Duration
}

// mostWay bounds what is taken off a time: a page that is late on purpose gains no
// more by it. House choice.
const mostWay = time.Second

// way is how much of the time from the scene's picture to a key was not the person's, and
// no more than that: of what the pings took the least, and not more than the last picture
// took, since a server or a line that was busy a moment ago need not be so now.
func (s *Screen) way() time.Duration {
	if s.link == nil || len(s.link.pings.took) == 0 {
		return 0
	}
	way := slices.Min(s.link.pings.took)
	if s.link.drew > 0 {
		way = min(way, s.link.drew)
	}
	return min(way+s.held, mostWay)
}

// Times are those of the page that shows the screen.
func (s *Screen) Times() Times {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.times()
}

func (s *Screen) times() Times {
	t := Times{Held: s.held}
	if s.link != nil {
		took := slices.Clone(s.link.pings.took)
		if t.Pings = len(took); t.Pings > 0 {
			slices.Sort(took)
			t.RoundTrip = took[len(took)/2]
		}
	}
	return t
}
