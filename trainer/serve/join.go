package serve

import (
	"context"
	"crypto/rand"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// How long tickets are good. House choices.
const (
	firstFor = 30 * time.Minute
	codeFor  = 8 * time.Hour       // on the wall during a lesson
	ownFor   = 14 * 24 * time.Hour // printed or sent
	codeUses = 400
)

// A code is typed from a wall: twelve letters, none of them a vowel, so that no word
// comes about, and none that is taken for another. The first four find its row, the
// other eight are the secret: 19^8 are 34 bits, far out of reach of who may try a few
// times a minute. Whoever has read the book could find them from the hash; until the
// code ends it lets in those alone who are on the roster and have no account.
const (
	codeLetters = "BCDFGHJKMNPQRTVWXYZ"
	codeID      = 4
	codeLength  = 12
)

func newCode() secret {
	letters := make([]byte, 0, codeLength)
	for len(letters) < codeLength {
		var b [1]byte
		rand.Read(b[:])
		if n := int(b[0]); n < 256/len(codeLetters)*len(codeLetters) { // each as often as the others
			letters = append(letters, codeLetters[n%len(codeLetters)])
		}
	}
	text := string(letters)
	return secret{id: "code-" + text[:codeID], text: text[:4] + "-" + text[4:8] + "-" + text[8:], hash: hashOf(text[codeID:])}
}

// splitTicket takes apart what somebody has typed, or what a link holds.
func splitTicket(text string) (id, random string, ok bool) {
	if id, random, ok = split(strings.TrimSpace(text)); ok {
		return id, random, ok
	}
	code := strings.ToUpper(strings.Map(func(r rune) rune {
		if r == '-' || r == ' ' {
			return -1
		}
		return r
	}, text))
	if len(code) != codeLength || strings.Trim(code, codeLetters) != "" {
		return "", "", false
	}
	return "code-" + code[:codeID], code[codeID:], true
}

var errTicket = fault.New("This link or code opens nothing: it was used, it has ended, or it is mistyped.", "ask whoever leads your class or team for a new one")

var errCode = fault.New("That is no code: a code has twelve letters, none of them A, E, I, L, O, S or U, and no digits.", "look at the wall again")

// ticketFor finds the ticket that a secret opens. Wrong secrets are counted where
// they belong to a ticket, in the book.
func (s *Server) ticketFor(ctx context.Context, r *http.Request, text string) (record.Ticket, error) {
	if !s.limits.address(s.client(r)) {
		return record.Ticket{}, errTooOften
	}
	id, random, ok := splitTicket(text)
	if !ok {
		if strings.Contains(text, ".") {
			return record.Ticket{}, errTicket
		}
		return record.Ticket{}, wrongAt("ticket", errCode)
	}
	t, err := s.Book.Ticket(ctx, id)
	if errors.Is(err, record.ErrNotFound) {
		if !s.limits.stranger() {
			return t, errTooOften
		}
		return t, errTicket
	}
	if err != nil {
		return t, err
	}
	if s.Clock().Before(waits(t.Wrong, t.WrongAt)) {
		return t, errTooOften
	}
	if !opens(random, t.Hash) {
		s.counts.refused.Add(1)
		err := s.Book.Merge(ctx, func(m record.Book) error {
			current, err := m.Ticket(ctx, id)
			if err != nil {
				return err
			}
			current.Wrong, current.WrongAt = current.Wrong+1, s.Clock()
			return m.PutTicket(ctx, current)
		})
		return record.Ticket{}, errors.Join(err, errTicket)
	}
	if !t.Good(s.Clock()) {
		return record.Ticket{}, errTicket
	}
	return t, nil
}

// use takes one use of a ticket, in the transaction of what it is used for.
func (s *Server) use(ctx context.Context, m record.Book, id string) error {
	t, err := m.Ticket(ctx, id)
	if err != nil || !t.Good(s.Clock()) {
		return errors.Join(err, errTicket)
	}
	t.Used++
	t.Wrong, t.WrongAt = 0, time.Time{}
	return m.PutTicket(ctx, t)
}

// Unled reports whether nobody who can sign in runs a class or team of the book, or may
// make one.
func Unled(ctx context.Context, book record.Book) (bool, error) {
	ids, err := book.Accounts(ctx)
	if err != nil {
		return false, err
	}
	for _, id := range ids {
		l, err := book.Learner(ctx, id)
		if err != nil || l.Role == scoring.RoleInstructor {
			return false, err
		}
		if l.Role == scoring.RoleLead {
			in, err := classesOf(ctx, book, id)
			if err != nil {
				return false, err
			}
			for _, c := range in {
				roster, err := book.Roster(ctx, c.ID)
				if err != nil {
					return false, err
				}
				if run, err := runners(ctx, book, c.ID, roster); err != nil || slices.Contains(run, id) {
					return false, err
				}
			}
		}
	}
	return true, nil
}

// FirstLink makes the link for whoever is to run the first class or team; "" where there
// is somebody already.
func (s *Server) FirstLink(ctx context.Context) (string, error) {
	if unled, err := Unled(ctx, s.Book); err != nil || !unled {
		return "", err
	}
	secret, now := newSecret(), s.Clock()
	err := s.Book.PutTicket(ctx, record.Ticket{ID: secret.id, Hash: secret.hash, Kind: record.TicketFirst, At: now, Until: now.Add(firstFor), Uses: 1})
	return s.origin + "/join/" + secret.text, err
}

// LinkFor makes a link with which somebody of the book can choose a new passphrase.
// Whoever runs the server makes it, for who has nobody else to ask.
func (s *Server) LinkFor(ctx context.Context, who personID) (string, error) {
	secret, now := newSecret(), s.Clock()
	err := s.Book.Merge(ctx, func(m record.Book) error {
		if err := m.RemoveTickets(ctx, "", who, now); err != nil {
			return err
		}
		if err := m.PutTicket(ctx, record.Ticket{ID: secret.id, Hash: secret.hash, Kind: record.TicketOwn, Learner: who, At: now, Until: now.Add(firstFor), Uses: 1}); err != nil {
			return err
		}
		return m.WriteServed(ctx, record.Served{At: now, What: "link made on the machine itself", About: who})
	})
	return s.origin + "/join/" + secret.text, err
}

// joinPage shows what a ticket is for. It redeems nothing: mail scanners open links.
func (s *Server) joinPage(w http.ResponseWriter, r *http.Request) {
	text := r.PathValue("ticket")
	if text == "" {
		s.askJoin(w, r, "", record.Ticket{}, nil)
		return
	}
	t, err := s.ticketFor(r.Context(), r, text)
	s.askJoin(w, r, text, t, err)
}

// askJoin is the form that belongs to a ticket; without one, that asks for a code.
func (s *Server) askJoin(w http.ResponseWriter, r *http.Request, text string, t record.Ticket, problem error) {
	ctx, status := r.Context(), http.StatusOK
	page := map[string]any{"Title": "Join a class or team", "Ticket": text, "Least": shortest, "Kind": "code"}
	if problem != nil {
		status = http.StatusForbidden
		page["Sent"] = sentWith(r, problem)
	}
	if t.ID != "" {
		page["Kind"] = string(t.Kind)
	} else if strings.Contains(text, ".") { // a link opens nothing when it is typed as a code
		page["Ticket"] = ""
	}
	switch t.Kind {
	case record.TicketFirst:
		page["Title"] = "Set up this server"
	case record.TicketOwn:
		page["Title"] = "Choose a passphrase"
	}
	if t.Class != "" {
		if c, err := s.class(ctx, t.Class); err == nil {
			page["Class"] = c.Name
		}
	}
	if t.Learner != "" {
		if l, err := s.Book.Learner(ctx, t.Learner); err == nil {
			page["Person"] = l.Name
		}
	}
	if who, _, err := s.whoIs(r); err == nil {
		page["SignedInAs"] = who.Name
	}
	s.show(w, status, "join", page)
}

// join redeems a ticket.
func (s *Server) join(w http.ResponseWriter, r *http.Request) {
	ctx, text := r.Context(), r.PostFormValue("ticket")
	t, err := s.ticketFor(ctx, r, text)
	if err != nil {
		s.askJoin(w, r, text, record.Ticket{}, err)
		return
	}
	if r.PostFormValue("step") == "code" {
		s.askJoin(w, r, text, t, nil)
		return
	}
	switch t.Kind {
	case record.TicketFirst:
		err = s.joinFirst(ctx, w, r, t)
	case record.TicketOwn:
		err = s.joinOwn(ctx, w, r, t)
	case record.TicketClass:
		err = s.joinClass(ctx, w, r, t)
	}
	if err != nil {
		s.askJoin(w, r, text, t, err)
		return
	}
	s.counts.signIns.Add(1)
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// joinFirst makes an instructor of somebody new to the book, or a lead where they say
// that it is a team.
func (s *Server) joinFirst(ctx context.Context, w http.ResponseWriter, r *http.Request, t record.Ticket) error {
	now := s.Clock()
	l := scoring.Learner{ID: record.NewLearnerID(now), Name: r.PostFormValue("name"), Role: scoring.RoleInstructor, At: now}
	if r.PostFormValue("runs") == "team" {
		l.Role = scoring.RoleLead
	}
	if _, err := record.CheckLearner(l); err != nil {
		return wrongAt("name", err)
	}
	return s.choose(ctx, w, l.ID, r.PostFormValue("passphrase"), func(m record.Book) error {
		if err := s.use(ctx, m, t.ID); err != nil {
			return err
		}
		known, err := m.LearnerByName(ctx, l.Name)
		switch {
		case err == nil && known.Role == l.Role:
			// The book knows somebody of this name, who has worked without a server.
			return wrongAt("name", fault.New("Somebody of this name is in the book already.", "add something to your name that tells the two apart, or give it to the same person with: shadedrill serve --link-for NAME"))
		case err != nil && !errors.Is(err, record.ErrNotFound):
			return err
		}
		if _, err := m.AddLearner(ctx, l); err != nil {
			return err
		}
		return m.WriteServed(ctx, record.Served{At: now, What: "first " + string(l.Role), About: l.ID})
	})
}

// joinOwn lets the one person choose a passphrase whom the ticket is for.
func (s *Server) joinOwn(ctx context.Context, w http.ResponseWriter, r *http.Request, t record.Ticket) error {
	return s.choose(ctx, w, t.Learner, r.PostFormValue("passphrase"), func(m record.Book) error {
		if err := s.use(ctx, m, t.ID); err != nil {
			return err
		}
		return m.WriteServed(ctx, record.Served{At: s.Clock(), By: t.Learner, What: "passphrase chosen by link", Class: t.Class, About: t.Learner})
	})
}

// joinClass takes in who is on the roster and has no account yet, by name or by
// number; or who is signed in already, whoever they are.
func (s *Server) joinClass(ctx context.Context, w http.ResponseWriter, r *http.Request, t record.Ticket) error {
	if who, _, err := s.whoIs(r); err == nil {
		return s.Book.Merge(ctx, func(m record.Book) error {
			if err := s.use(ctx, m, t.ID); err != nil {
				return err
			}
			if who.Role == scoring.RoleInstructor {
				// Whoever instructs and is on a roster runs that class: a code on a wall
				// must not make anybody that.
				return fault.New("An instructor joins no class or team by a code.", "let an instructor of the class put you on its list")
			}
			if err := m.Enrol(ctx, t.Class, who.ID, s.Clock()); err != nil {
				return err
			}
			return m.WriteServed(ctx, record.Served{At: s.Clock(), By: who.ID, What: "joined by code", Class: t.Class, About: who.ID})
		})
	}
	roster, err := s.Book.Roster(ctx, t.Class)
	if err != nil {
		return err
	}
	who, err := named(roster, r.PostFormValue("name"))
	if err != nil {
		return wrongAt("name", err)
	}
	return s.choose(ctx, w, who.ID, r.PostFormValue("passphrase"), func(m record.Book) error {
		if err := s.use(ctx, m, t.ID); err != nil {
			return err
		}
		if _, err := m.Account(ctx, who.ID); !errors.Is(err, record.ErrNotFound) {
			return errors.Join(err, fault.New("This name has an account already.", "sign in with its passphrase first, or ask whoever leads your class or team for a link of your own"))
		}
		return m.WriteServed(ctx, record.Served{At: s.Clock(), By: who.ID, What: "account made by code", Class: t.Class, About: who.ID})
	})
}

// named finds a learner of a roster by their number or their name. Who leads or
// instructs gets in by a link of their own alone: a code hangs on a wall.
func named(roster []scoring.Learner, name string) (scoring.Learner, error) {
	name = strings.TrimSpace(name)
	key := record.NameKey(name)
	var found []scoring.Learner
	for _, l := range roster {
		switch {
		case l.Role != scoring.RoleLearner:
		case l.Number != "" && strings.EqualFold(l.Number, name):
			return l, nil
		case key != "" && record.NameKey(l.Name) == key:
			found = append(found, l)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return scoring.Learner{}, fault.New("This name is not on the list.", "type it as it stands there, or let whoever leads your class or team look it up")
	}
	return scoring.Learner{}, errSeveral
}
