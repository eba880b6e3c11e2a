package serve

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer"
	"shadedrill/trainer/display"
	"shadedrill/trainer/web"
)

type (
	personID = scoring.LearnerID
	setRef   = string // of a set, as a sitting names it
)

// drills are the trainers that run now, one a person. A trainer outlives its sockets:
// the page that comes back finds the same trial.
type drills struct {
	mu       sync.Mutex
	byPerson map[personID]*drill
	// next are the sets that somebody's next trainer begins with, since an instructor
	// has said "now".
	next map[personID]setRef
	// checks are the last display checks, which no sitting may hold yet.
	checks map[personID]scoring.DisplayCheck
}

// mostDrills bounds the trainers of one server. House choice: twice what was measured.
const mostDrills = 1000

// drill is one person's trainer.
type drill struct {
	who    personID
	screen *web.Screen
	stop   context.CancelCauseFunc
	ended  chan struct{}
	began  time.Time

	mu      sync.Mutex
	browser string // the signed-in browser that shows it
	check   scoring.DisplayCheck
	sitting scoring.Sitting
	planned int
	given   int
	last    time.Time // answer
}

func (d *drills) each(f func(*drill)) {
	d.mu.Lock()
	var list []*drill
	for _, x := range d.byPerson {
		list = append(list, x)
	}
	d.mu.Unlock()
	for _, x := range list {
		f(x)
	}
}

func (d *drills) of(who personID) *drill {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.byPerson[who]
}

func (d *drills) count() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return len(d.byPerson)
}

var errFull = errors.New("the server is full")

// drillFor is the person's trainer, or a new one.
func (s *Server) drillFor(who scoring.Learner) (*drill, error) {
	for {
		s.drills.mu.Lock()
		d := s.drills.byPerson[who.ID]
		if d == nil {
			break
		}
		s.drills.mu.Unlock()
		if !d.screen.Ended() {
			return d, nil
		}
		<-d.ended // it is on its way out
	}
	defer s.drills.mu.Unlock()
	if s.draining.Load() || len(s.drills.byPerson) >= mostDrills {
		return nil, errFull
	}
	ctx, stop := context.WithCancelCause(s.base)
	d := &drill{who: who.ID, screen: web.New(web.Options{Keep: s.Keep, Clock: s.Clock}), stop: stop, ended: make(chan struct{}), began: s.Clock()}
	cfg := trainer.Config{Book: s.ownBook(d), Person: who.ID, System: display.Browser, Clock: s.Clock, Getenv: func(string) string { return "" },
		Display: func() string { return shownWords(d.screen) }, Check: s.drills.checks[who.ID],
		Checked: func(c scoring.DisplayCheck) {
			s.drills.mu.Lock()
			s.drills.checks[who.ID] = c
			s.drills.mu.Unlock()
			d.mu.Lock()
			d.check = c
			d.mu.Unlock()
		}}
	d.check = cfg.Check
	if ref, ok := s.drills.next[who.ID]; ok {
		delete(s.drills.next, who.ID)
		if set, err := setOf(ctx, s.Book, ref); err == nil {
			cfg.Set = &set
		}
	}
	s.drills.byPerson[who.ID] = d
	s.running.Go(func() {
		defer close(d.ended)
		settle(ctx, d.screen)
		err := trainer.Run(ctx, d.screen, cfg)
		stop(nil)
		s.drills.mu.Lock()
		delete(s.drills.byPerson, who.ID)
		s.drills.mu.Unlock()
		if broken, ok := errors.AsType[*trainer.Broken](err); ok {
			s.counts.panics.Add(1)
			s.Log.Error("a trainer broke", "stack", string(broken.Stack))
		}
	})
	return d, nil
}

// settle waits until the page has said what its display is like and the way to it was
// measured once, so that both are known when a sitting begins; not longer than a moment.
func settle(ctx context.Context, screen *web.Screen) {
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(settleWithin); time.Now().Before(end); {
		if _, said := screen.Shown(); said && screen.Times().Pings > 0 {
			return
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

const settleWithin = 2 * time.Second

// ownBook is the book for one trainer, which tells the drill what happens.
func (s *Server) ownBook(d *drill) *ownBook {
	return &ownBook{book: s.Book, who: d.who,
		roundTrip: func() time.Duration { return d.screen.Times().RoundTrip },
		begun: func(sitting scoring.Sitting) {
			d.mu.Lock()
			defer d.mu.Unlock()
			if d.sitting.ID != sitting.ID {
				d.given, d.last = 0, time.Time{}
			}
			d.sitting, d.planned = sitting, sitting.Setup.Count
			if !sitting.Display.At.IsZero() {
				d.check = sitting.Display
			}
			if n := sitting.Setup.Repeats; n > 1 {
				d.planned *= n
			}
		},
		given: func(a scoring.Attempt) {
			s.counts.answers.Add(1)
			d.mu.Lock()
			defer d.mu.Unlock()
			d.given, d.last = a.Trial.Ordinal+1, a.At
		},
		ended: func(id scoring.SittingID) {
			d.mu.Lock()
			defer d.mu.Unlock()
			if d.sitting.ID == id {
				d.sitting = scoring.Sitting{}
			}
		}}
}

// shownWords is what a browser says of its display, in words that do not depend on
// the browser. A display check holds as long as they are the same.
func shownWords(screen *web.Screen) string {
	shown, ok := screen.Shown()
	if !ok {
		return "browser"
	}
	words := []string{"browser", shown.Gamut, shown.Range + " range", "read-back " + shown.ReadBack, fmt.Sprintf("pixel ratio %.3g", shown.PixelRatio)}
	for _, w := range []struct {
		is   bool
		word string
	}{{shown.Forced, "colours forced"}, {shown.Darkened, "darkened"}, {shown.Inverted, "inverted"}, {shown.Filtered, "filtered"}, {shown.Touch, "touch"}} {
		if w.is {
			words = append(words, w.word)
		}
	}
	return strings.Join(words, ", ")
}

// now is what somebody does at the moment, for the live page.
type now struct {
	Name           string
	Account        bool
	Here, Watched  bool
	Doing          string
	Set            setRef // that it is part of
	Given, Planned int
	Last           time.Time
	Idle           time.Duration
	Doubtful       bool // the display check failed
	Elsewhere      bool // answers, and has no trainer on this server
}

// Remarks say what whoever looks on should know besides.
func (n now) Remarks() string {
	var list []string
	add := func(is bool, words string) {
		if is && n.Here {
			list = append(list, words)
		}
	}
	add(n.Elsewhere, "not on this server")
	add(!n.Watched, "page closed")
	add(n.Idle > 3*time.Minute, fmt.Sprintf("no answer for %.0f minutes", n.Idle.Minutes()))
	add(n.Doubtful, "display check failed")
	return strings.Join(list, ", ")
}

// elsewhereFor is for how long after an answer somebody who has no trainer here is said
// to answer on another server that has the same book. House choice: longer than most
// looks. The book is asked, and only when somebody has the live page open: a notice from
// the database would reach no server that keeps its book in a file.
const elsewhereFor = 3 * time.Minute

// elsewhere is what somebody does on another server, as far as the book tells.
func (s *Server) elsewhere(ctx context.Context, who personID) (n now, err error) {
	open, err := s.Book.Sittings(ctx, record.Filter{Learner: who, Unfinished: true})
	if err != nil || len(open) == 0 {
		return n, err
	}
	at := open[len(open)-1]
	last, given := at.Started, 0
	for a, err := range s.Book.Attempts(ctx, record.Filter{Sitting: at.ID, Light: true, Silent: true}) {
		if err != nil {
			return n, err
		}
		given++
		last = a.At
	}
	since := s.Clock().Sub(last)
	if since > elsewhereFor {
		return n, nil
	}
	n = now{Here: true, Watched: true, Elsewhere: true, Doing: at.SetTitle(), Set: at.Within, Given: given, Planned: at.Setup.Items(), Last: last, Idle: since}
	if n.Doing == "" {
		n.Doing = kindTitle(at.Setup.Kind)
	}
	return n, nil
}

// at reports whether the person is in the middle of a set.
func (d *drill) at(ref setRef) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.sitting.Within == ref
}

func (d *drill) now(at time.Time) now {
	d.mu.Lock()
	defer d.mu.Unlock()
	n := now{Here: true, Watched: d.screen.Watched(), Doing: "in the menu", Last: d.last}
	if d.sitting.ID != "" {
		n.Given, n.Planned, n.Set = d.given, d.planned, d.sitting.Within
		n.Doing = d.sitting.SetTitle()
		if n.Doing == "" {
			n.Doing = kindTitle(d.sitting.Setup.Kind)
		}
	}
	since := d.last
	if since.IsZero() {
		since = d.began
	}
	n.Idle = at.Sub(since)
	n.Doubtful = !d.check.At.IsZero() && !d.check.Acceptable
	return n
}

func kindTitle(id exercises.KindID) string {
	kind, err := exercises.ByID(id)
	if err != nil {
		return "a drill"
	}
	return strings.ToLower(kind.Title())
}

// drillPage is the page with the picture.
func (s *Server) drillPage(v *visit) error {
	return web.Page{Socket: "/socket", Home: "/", Assets: "/assets/"}.Write(v.w)
}

// socket shows a person their own trainer. Which one it is stands in the session and
// nowhere in the request.
func (s *Server) socket(w http.ResponseWriter, r *http.Request) {
	who, in, err := s.whoIs(r)
	switch {
	case err != nil:
		http.Error(w, "not signed in", http.StatusUnauthorized)
		return
	case !allowed(who, takeDrills, thing{Of: who.ID}):
		http.Error(w, "not allowed", http.StatusForbidden)
		return
	case s.draining.Load():
		http.Error(w, "the server stops", http.StatusServiceUnavailable)
		return
	case !s.limits.socket(who.ID):
		http.Error(w, "too often", http.StatusTooManyRequests)
		return
	}
	conn, err := web.Accept(w, r, s.origin)
	if err != nil {
		return
	}
	d, err := s.drillFor(who)
	if err != nil {
		conn.Close(1013, "the server is full or stops")
		return
	}
	d.mu.Lock()
	d.browser = in.ID
	d.mu.Unlock()
	s.counts.sockets.Add(1)
	defer s.counts.sockets.Add(-1)
	ctx, cancel := context.WithCancel(s.base)
	defer cancel()
	go s.renew(ctx, d, in)
	d.screen.Serve(ctx, conn)
}

// renewEvery is how often a page that is open renews its session, and how soon at the
// latest it is closed when that was ended elsewhere in the book.
const renewEvery = time.Minute

// renew keeps a session that is used, and closes the page of one that has ended.
func (s *Server) renew(ctx context.Context, d *drill, in record.SignedIn) {
	tick := time.NewTicker(renewEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		current, err := s.Book.SignedIn(ctx, in.ID)
		if errors.Is(err, record.ErrNotFound) {
			s.cutBrowser(d.who, in.ID)
			return
		}
		if err == nil {
			s.see(ctx, current)
		}
	}
}

// cutBrowser closes the page of a browser that is not signed in any more; with "" that
// of any. The trainer waits for the person to sign in again.
func (s *Server) cutBrowser(who personID, browser string) {
	d := s.drills.of(who)
	if d == nil {
		return
	}
	d.mu.Lock()
	shows := browser == "" || d.browser == browser
	d.mu.Unlock()
	if shows {
		d.screen.Cut(web.CloseSignedIn, "nobody is signed in here any more")
	}
}

// end ends a person's trainer, if one runs, and waits for it; what was answered is
// kept. The page comes back by itself and finds a new one.
func (s *Server) end(ctx context.Context, who personID, why string) {
	d := s.drills.of(who)
	if d == nil {
		return
	}
	d.screen.Goodbye(1001, why)
	d.stop(errors.New(why))
	select {
	case <-d.ended:
	case <-ctx.Done():
	}
}

// setOf finds a set of the book by the text that its sittings bear.
func setOf(ctx context.Context, book record.Book, text setRef) (scoring.Set, error) {
	ref, _ := scoring.ParseSetRef(text)
	switch ref.Kind {
	case scoring.AssignmentSet:
		all, err := book.Assignments(ctx, "")
		if i := slices.IndexFunc(all, func(a scoring.Assignment) bool { return string(a.ID) == ref.Name }); i >= 0 {
			return all[i].Set(), nil
		}
		if err != nil {
			return scoring.Set{}, err
		}
	case scoring.PanelSet:
		p, err := book.PanelByName(ctx, ref.Name)
		return p.Set(), err
	case scoring.TestSet:
		all, err := book.Forms(ctx)
		for _, f := range all {
			if set := f.Set(); set.Ref == ref {
				return set, nil
			}
		}
		if err != nil {
			return scoring.Set{}, err
		}
	}
	return scoring.Set{}, fmt.Errorf("what is taken: %w", record.ErrNotFound)
}
