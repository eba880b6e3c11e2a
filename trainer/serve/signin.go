package serve

import (
	"cmp"
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// A browser stays signed in as long as it is used, and for half a year at most. House
// choices: students practise weekly, and laptops are their own.
const (
	idleFor = 21 * 24 * time.Hour
	atMost  = 180 * 24 * time.Hour
	seeAt   = 5 * time.Minute // how much later "seen" must be to be written
)

// cookieName has the prefix that binds a cookie to this host and to TLS (RFC 6265bis,
// section 4.1.3.2) wherever there is TLS.
func (s *Server) cookieName() string {
	if s.secure {
		return "__Host-shadedrill"
	}
	return "shadedrill"
}

var errNobody = errors.New("nobody is signed in")

// whoIs finds who has signed in where a request comes from. The role is the one in the
// book now.
func (s *Server) whoIs(r *http.Request) (scoring.Learner, record.SignedIn, error) {
	none := scoring.Learner{}
	c, err := r.Cookie(s.cookieName())
	if err != nil {
		return none, record.SignedIn{}, errNobody
	}
	id, random, ok := split(c.Value)
	if !ok {
		return none, record.SignedIn{}, errNobody
	}
	in, err := s.Book.SignedIn(r.Context(), id)
	if err != nil {
		if errors.Is(err, record.ErrNotFound) {
			err = errNobody
		}
		return none, in, err
	}
	if now := s.Clock(); !opens(random, in.Hash) || now.Sub(in.Seen) > idleFor || now.Sub(in.At) > atMost {
		return none, record.SignedIn{}, errNobody
	}
	who, err := s.Book.Learner(r.Context(), in.Learner)
	if err != nil {
		return none, in, err
	}
	s.see(r.Context(), in)
	return who, in, nil
}

// see writes down that a browser is used. That it cannot be written is no reason to
// stop anybody.
func (s *Server) see(ctx context.Context, in record.SignedIn) {
	if now := s.Clock(); now.Sub(in.Seen) > seeAt {
		in.Seen = now
		_ = s.Book.Merge(ctx, func(m record.Book) error {
			if _, err := m.SignedIn(ctx, in.ID); err != nil { // signed out meanwhile
				return err
			}
			return m.PutSignedIn(ctx, in)
		})
	}
}

// open signs a person in: always under a new identifier, whatever the browser brought.
func (s *Server) open(ctx context.Context, w http.ResponseWriter, m record.Book, who personID) error {
	secret, now := newSecret(), s.Clock()
	if err := m.PutSignedIn(ctx, record.SignedIn{ID: secret.id, Hash: secret.hash, Learner: who, At: now, Seen: now}); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: s.cookieName(), Value: secret.text, Path: "/", MaxAge: int(atMost / time.Second), HttpOnly: true, Secure: s.secure, SameSite: http.SameSiteLaxMode})
	return nil
}

func (s *Server) forget(w http.ResponseWriter) {
	http.SetCookie(w, &http.Cookie{Name: s.cookieName(), Path: "/", MaxAge: -1, HttpOnly: true, Secure: s.secure, SameSite: http.SameSiteLaxMode})
}

var (
	errTooOften = fault.New("That was tried too often.", "wait a quarter of an hour and try again")
	errSeveral  = fault.New("Several people have this name.", "type your number, such as your student number, instead of your name")
	errWrong    = fault.New("Name and passphrase do not belong together.", "type both again; whoever leads your class or team can give you a link for a new passphrase")
)

// wrongTakes is how long a wrong try takes at least.
const wrongTakes = 300 * time.Millisecond

// signIn takes a name and a passphrase. What is wrong it does not say, and for a name
// that nobody has it takes as long.
func (s *Server) signIn(w http.ResponseWriter, r *http.Request) {
	ctx, began := r.Context(), time.Now()
	name, passphrase := r.PostFormValue("name"), r.PostFormValue("passphrase")
	again := func(err error) {
		s.counts.refused.Add(1)
		s.show(w, http.StatusUnauthorized, "sign-in", map[string]any{"Title": "Sign in", "Sent": sentWith(r, err)})
	}
	if !s.limits.address(s.client(r)) {
		again(errTooOften)
		return
	}
	who, err := s.Book.LearnerByName(ctx, strings.TrimSpace(name))
	var account record.Account
	if err == nil {
		account, err = s.Book.Account(ctx, who.ID)
	}
	if errors.Is(err, record.ErrAmbiguous) {
		again(wrongAt("name", errSeveral))
		return
	}
	unknown := errors.Is(err, record.ErrNotFound)
	if err != nil && !unknown {
		again(err)
		return
	}
	if unknown && !s.limits.stranger() || s.Clock().Before(waits(account.Wrong, account.WrongAt)) {
		again(errTooOften)
		return
	}
	right, err := s.pass.matches(ctx, account.Hash, passphrase)
	if err != nil {
		again(err)
		return
	}
	if !unknown {
		err = s.Book.Merge(ctx, func(m record.Book) error {
			current, err := m.Account(ctx, who.ID)
			if err != nil {
				return err
			}
			switch {
			case !right:
				current.Wrong, current.WrongAt = current.Wrong+1, s.Clock()
			case current.Hash != account.Hash || s.Clock().Before(waits(current.Wrong, current.WrongAt)):
				right = false // changed, or guessed at, in this moment
				return nil
			default:
				current.Wrong, current.WrongAt = 0, time.Time{}
				if err := s.open(ctx, w, m, who.ID); err != nil {
					return err
				}
			}
			return m.PutAccount(ctx, current)
		})
	}
	switch {
	case err != nil:
		again(err)
	case !right:
		// Writing down that it was wrong takes a moment, which who has no account would
		// not take.
		time.Sleep(max(0, wrongTakes-time.Since(began)))
		again(wrongAt("passphrase", errWrong))
	default:
		s.counts.signIns.Add(1)
		http.Redirect(w, r, "/", http.StatusSeeOther)
	}
}

// signOut ends this browser's session, or all of the person's.
func (s *Server) signOut(v *visit) error {
	if v.r.PostFormValue("everywhere") != "" {
		if err := s.Book.SignOutAll(v.ctx, v.who.ID, time.Time{}); err != nil {
			return err
		}
		s.cutBrowser(v.who.ID, "")
	} else {
		if err := s.Book.SignOut(v.ctx, v.in.ID); err != nil {
			return err
		}
		s.cutBrowser(v.who.ID, v.in.ID)
	}
	s.forget(v.w)
	return v.to("/")
}

func (s *Server) accountPage(v *visit) error {
	return v.show("account", map[string]any{"Title": "Your account", "Least": shortest})
}

// changePassphrase ends all other sessions of the person.
func (s *Server) changePassphrase(v *visit) error {
	old, chosen := v.r.PostFormValue("old"), v.r.PostFormValue("passphrase")
	account, err := s.Book.Account(v.ctx, v.who.ID)
	if err != nil {
		return err
	}
	if !s.limits.address(s.client(v.r)) || s.Clock().Before(waits(account.Wrong, account.WrongAt)) {
		return errTooOften
	}
	right, err := s.pass.matches(v.ctx, account.Hash, old)
	if err != nil {
		return err
	}
	not := wrongAt("old", fault.New("That is not your passphrase.", "type the one that you have now above the new one"))
	if !right {
		err := s.Book.Merge(v.ctx, func(m record.Book) error { // many at once count as many
			current, err := m.Account(v.ctx, v.who.ID)
			if err != nil {
				return err
			}
			current.Wrong, current.WrongAt = current.Wrong+1, s.Clock()
			return m.PutAccount(v.ctx, current)
		})
		return cmp.Or(err, not)
	}
	err = s.choose(v.ctx, v.w, v.who.ID, chosen, func(m record.Book) error {
		current, err := m.Account(v.ctx, v.who.ID)
		switch {
		case err != nil:
			return err
		case s.Clock().Before(waits(current.Wrong, current.WrongAt)): // guessed at in this moment
			return errTooOften
		case current.Hash != account.Hash: // changed in this moment
			return not
		}
		return nil
	})
	if err != nil {
		return err
	}
	return v.to("/")
}

// choose gives a person a new passphrase, ends all their sessions and opens one here.
// also runs first, in the same transaction.
func (s *Server) choose(ctx context.Context, w http.ResponseWriter, who personID, passphrase string, also func(record.Book) error) error {
	if err := fits(passphrase); err != nil {
		return wrongAt("passphrase", err)
	}
	hash, err := s.pass.hash(ctx, passphrase)
	if err != nil {
		return err
	}
	err = s.Book.Merge(ctx, func(m record.Book) error {
		if also != nil {
			if err := also(m); err != nil {
				return err
			}
		}
		if err := m.SignOutAll(ctx, who, time.Time{}); err != nil {
			return err
		}
		if err := m.PutAccount(ctx, record.Account{Learner: who, Hash: hash, At: s.Clock()}); err != nil {
			return err
		}
		return s.open(ctx, w, m, who)
	})
	if err == nil {
		s.cutBrowser(who, "")
	}
	return err
}
