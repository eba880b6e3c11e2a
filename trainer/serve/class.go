package serve

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	qr "github.com/piglig/go-qr"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/transfer"
)

// home is where somebody comes in: the sign-in, or what they can do here.
func (s *Server) home(w http.ResponseWriter, r *http.Request) {
	if _, _, err := s.whoIs(r); errors.Is(err, errNobody) {
		s.show(w, http.StatusOK, "sign-in", map[string]any{"Title": "Sign in"})
		return
	}
	s.signedIn(s.homePage)(w, r)
}

func (s *Server) homePage(v *visit) error {
	mine, run, err := v.classes()
	if err != nil {
		return err
	}
	taken, err := record.Taken(v.ctx, s.Book, v.who.ID, scoring.TestSet)
	if err != nil {
		return err
	}
	waiting, err := v.waiting()
	if err != nil {
		return err
	}
	return v.show("home", map[string]any{"Title": v.who.Name, "Classes": mine, "Run": run, "Taken": taken, "Waiting": waiting,
		"Makes": v.may(makeClass, thing{}) == nil})
}

// waiting is what the visitor was given and has still to do. They find it in the trainer.
func (v *visit) waiting() (list []string, err error) {
	if v.who.Role != scoring.RoleLearner {
		return nil, nil // they may take it all the same, and nobody waits for it
	}
	own := &ownBook{book: v.s.Book, who: v.who.ID}
	given, err := record.OpenSets(v.ctx, own, v.who.ID)
	if err != nil {
		return nil, err
	}
	forms, err := record.OpenForms(v.ctx, own, v.who.ID)
	for _, set := range append(given, forms...) {
		words := set.Name()
		if due := set.Due; !due.IsZero() {
			words += ", " + map[bool]string{false: "due", true: "was due"}[due.Before(v.s.Clock())] + " " + minute(due)
		}
		list = append(list, words)
	}
	return list, err
}

// classes are those that the visitor is in, and of them those that they run.
func (v *visit) classes() (in, run []scoring.Class, err error) {
	all, err := classesOf(v.ctx, v.s.Book, v.who.ID)
	if err != nil {
		return nil, nil, err
	}
	for _, c := range all {
		roster, err := v.s.Book.Roster(v.ctx, c.ID)
		if err != nil {
			return nil, nil, err
		}
		by, err := runners(v.ctx, v.s.Book, c.ID, roster)
		if err != nil {
			return nil, nil, err
		}
		if v.may(readClass, thing{RunBy: by}) == nil {
			run = append(run, c)
		} else {
			in = append(in, c)
		}
	}
	return in, run, nil
}

// makeClass makes a class and puts who made it on its roster, which is what makes it
// theirs. What a lead makes is a team.
func (s *Server) makeClass(v *visit) error {
	if err := v.may(makeClass, thing{}); err != nil {
		return err
	}
	made := "class made"
	if v.who.Role == scoring.RoleLead {
		made = teamMade
	}
	var class scoring.Class
	err := s.Book.Merge(v.ctx, func(m record.Book) (err error) {
		if class, err = m.AddClass(v.ctx, scoring.Class{Name: v.r.PostFormValue("name"), At: s.Clock()}); errors.Is(err, record.ErrTaken) {
			return wrongAt("name", fault.New("There is a class or team of this name already, perhaps somebody else's.", "add what tells the two apart, such as the year"))
		} else if err != nil {
			return wrongAt("name", err)
		}
		if err := m.Enrol(v.ctx, class.ID, v.who.ID, s.Clock()); err != nil {
			return err
		}
		return v.note(m, made, class.ID, "")
	})
	if err != nil {
		return err
	}
	return v.to(classPath(class))
}

// member is a line of the class's page.
type member struct {
	scoring.Learner
	HasAccount bool
}

func (s *Server) classPage(v *visit) error {
	class, roster, err := v.classFor(readClass)
	if err != nil {
		return err
	}
	members, err := s.members(v.ctx, roster)
	if err != nil {
		return err
	}
	given, err := s.setsOf(v.ctx, class, roster)
	if err != nil {
		return err
	}
	_, run, err := v.classes()
	if err != nil {
		return err
	}
	others := slices.DeleteFunc(run, func(c scoring.Class) bool { return c.ID == class.ID })
	return v.show("class", map[string]any{"Title": class.Name, "Class": class, "Members": members, "Sets": given, "Others": others, "Alone": len(roster) == 1,
		"Levels": usualLevels(), "Kinds": assignable(), "Sharable": sharable(), "Due": s.Clock().AddDate(0, 0, 7).Local().Format(time.DateOnly)})
}

func (s *Server) members(ctx context.Context, roster []scoring.Learner) (list []member, err error) {
	ids, err := s.Book.Accounts(ctx)
	for _, l := range roster {
		_, has := slices.BinarySearch(ids, l.ID)
		list = append(list, member{l, has})
	}
	return list, err
}

// addRoster puts people on a class's list. Whoever is in the book already and not in
// one of the instructor's classes is not put there by name: to be on a list is to be
// read by who runs it. They join by themselves, with a code.
func (s *Server) addRoster(v *visit) error {
	class, _, err := v.classFor(invite)
	if err != nil {
		return err
	}
	var entries []transfer.Entry
	var notes []string
	if file, _, err := v.r.FormFile("roster"); err == nil {
		defer file.Close()
		read, err := transfer.ReadRoster(file, transfer.RosterColumns{})
		if err != nil {
			return wrongAt("roster", rosterFault(err))
		}
		entries, notes = read.Entries, append(read.Notes, read.Skipped...)
	} else if _, large := errors.AsType[*http.MaxBytesError](err); large {
		return wrongAt("roster", fault.New(fmt.Sprintf("That is more than a list of people: at most %d MB are read.", mostBody>>20), "choose the table of names, or split it"))
	}
	for _, name := range strings.Split(v.r.FormValue("names"), "\n") {
		if strings.TrimSpace(name) == "" {
			continue
		}
		clean, err := record.CleanName(name)
		if err != nil {
			return wrongAt("names", err)
		}
		entries = append(entries, transfer.Entry{Name: clean})
	}
	if len(entries) == 0 {
		return fault.New("Nobody is named.", "choose a roster file, or write names, one a line")
	}
	for _, e := range entries {
		if e.Role != "" && e.Role != scoring.RoleLearner {
			return fault.New(fmt.Sprintf("%s is to be %s: nobody becomes that by a roster here.", e.Name, e.Role), `leave the column "role" out`)
		}
	}
	for i := range entries {
		entries[i].Role = ""
	}
	known, err := s.Book.Learners(v.ctx)
	if err != nil {
		return err
	}
	far := map[personID]bool{}
	for _, l := range known {
		thing, err := s.thingOf(v.ctx, invite, v.who, l.ID)
		if err != nil {
			return err
		}
		far[l.ID] = v.may(invite, thing) != nil
	}
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		if _, err := transfer.Enrol(v.ctx, m, class.ID, entries, s.Clock()); err != nil {
			return err
		}
		now, err := m.Roster(v.ctx, class.ID)
		if err != nil {
			return err
		}
		var elsewhere []string
		for _, l := range now {
			if far[l.ID] {
				elsewhere = append(elsewhere, l.Name)
			}
		}
		if len(elsewhere) > 0 {
			return fault.New("Already in the book, and in no "+v.group()+" of yours: "+strings.Join(elsewhere, ", "), "let them sign in and join with a code for the wall; leave them out of the list")
		}
		return v.note(m, fmt.Sprintf("put on the list: %d", len(entries)), class.ID, "")
	})
	if errors.Is(err, record.ErrAmbiguous) {
		return fault.New("Several people of the book have a name of this list.", "give their numbers in a column of the roster")
	}
	if err != nil {
		return err
	}
	if len(notes) > 0 {
		return v.show("roster", map[string]any{"Title": class.Name + ": the list", "Class": class, "Count": len(entries), "Notes": notes})
	}
	return v.to(classPath(class))
}

// rosterFault says what is wrong with a roster in the words of the page that takes it.
func rosterFault(err error) error {
	const mend = "the first row names the columns, such as name, or first name and surname, and if you like student ID and e-mail; then one person a row"
	if list, ok := errors.AsType[*fault.List](err); ok {
		list.Mend = mend
		return list
	}
	if forBrowsers(fault.Hint(err)) == fault.Hint(err) {
		return err
	}
	return fault.New(err.Error(), mend)
}

// makeCode makes a new code for the wall; the one before ends.
func (s *Server) makeCode(v *visit) error {
	class, _, err := v.classFor(invite)
	if err != nil {
		return err
	}
	code, now := newCode(), s.Clock()
	good, err := s.goodTickets(v.ctx, class.ID, func(t record.Ticket) bool { return t.Kind == record.TicketClass })
	if err != nil {
		return err
	}
	if len(good) > 0 { // pressed twice, it would take away what hangs on the wall
		if ok, err := v.confirmed("A code is good already, until " + minute(good[0].Until) + ". A new one ends it: whoever types the one before is not let in."); !ok {
			return err
		}
	}
	err = s.Book.Merge(v.ctx, func(m record.Book) error {
		if err := m.RemoveTickets(v.ctx, class.ID, "", now); err != nil {
			return err
		}
		if _, err := m.Ticket(v.ctx, code.id); !errors.Is(err, record.ErrNotFound) {
			return errors.Join(err, fault.New("The code came out like another one.", "ask for it once more"))
		}
		if err := m.PutTicket(v.ctx, record.Ticket{ID: code.id, Hash: code.hash, Kind: record.TicketClass, Class: class.ID, By: v.who.ID, At: now, Until: now.Add(codeFor), Uses: codeUses}); err != nil {
			return err
		}
		return v.note(m, "code made", class.ID, "")
	})
	if err != nil {
		return err
	}
	picture, err := qrPicture(s.origin + "/join/" + code.text)
	if err != nil {
		return err
	}
	return v.show("code", map[string]any{"Title": class.Name + ": the code", "Class": class, "Code": code.text, "Address": s.origin, "Until": now.Add(codeFor), "QR": picture})
}

// qrPicture draws a link as a path in a picture of its own, 4 modules of quiet zone
// around it (ISO/IEC 18004).
func qrPicture(link string) (template.HTML, error) {
	code, err := qr.EncodeText(link, qr.Medium)
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	n := code.Size()
	fmt.Fprintf(&b, `<svg class="qr" viewBox="-4 -4 %d %d" role="img" aria-label="the link as a square code"><path d="`, n+8, n+8)
	for y := range n {
		for x := range n {
			if code.Module(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String()), nil
}

// makeLinks makes a link for everybody of a class who has no account.
func (s *Server) makeLinks(v *visit) error {
	class, roster, err := v.classFor(invite)
	if err != nil {
		return err
	}
	members, err := s.members(v.ctx, roster)
	if err != nil {
		return err
	}
	var who []scoring.Learner
	for _, m := range members {
		if !m.HasAccount && m.Role == scoring.RoleLearner {
			who = append(who, m.Learner)
		}
	}
	if len(roster) == 1 {
		return fault.New("Nobody is on the list yet.", "put people on it first")
	}
	if len(who) == 0 {
		return fault.New("Everybody on the list has an account.", "the link for a new passphrase stands beside each name")
	}
	good, err := s.goodTickets(v.ctx, class.ID, func(t record.Ticket) bool {
		return t.Kind == record.TicketOwn && slices.ContainsFunc(who, func(l scoring.Learner) bool { return l.ID == t.Learner })
	})
	if err != nil {
		return err
	}
	if n := len(good); n > 0 { // pressed twice, it would make waste paper of what was just printed
		ask := fmt.Sprintf("%s of this %s can still be used. New ones are made for %s, and those from before open nothing any more.", scoring.Count(n, "link", "links"), v.group(), scoring.Count(len(who), "person", "people"))
		if ok, err := v.confirmed(ask); !ok {
			return err
		}
	}
	return v.showLinks(class, who)
}

// goodTickets are those of a class that still open something.
func (s *Server) goodTickets(ctx context.Context, class scoring.ClassID, of func(record.Ticket) bool) ([]record.Ticket, error) {
	all, err := s.Book.Tickets(ctx, class)
	now := s.Clock()
	return slices.DeleteFunc(all, func(t record.Ticket) bool { return !of(t) || !t.Good(now) }), err
}

// showLinks makes links for people and shows them, once: the book has only hashes. A
// person's links from before open nothing any more.
func (v *visit) showLinks(class scoring.Class, who []scoring.Learner) error {
	type link struct {
		Name, Link string
		QR         template.HTML
	}
	var links []link
	now := v.s.Clock()
	err := v.s.Book.Merge(v.ctx, func(m record.Book) error {
		for _, l := range who {
			secret := newSecret()
			if err := m.RemoveTickets(v.ctx, "", l.ID, now); err != nil {
				return err
			}
			if err := m.PutTicket(v.ctx, record.Ticket{ID: secret.id, Hash: secret.hash, Kind: record.TicketOwn, Class: class.ID, Learner: l.ID, By: v.who.ID, At: now, Until: now.Add(ownFor), Uses: 1}); err != nil {
				return err
			}
			if err := v.note(m, "link made", class.ID, l.ID); err != nil {
				return err
			}
			links = append(links, link{Name: l.Name, Link: v.s.origin + "/join/" + secret.text})
		}
		return nil
	})
	if err != nil {
		return err
	}
	for i := range links {
		if links[i].QR, err = qrPicture(links[i].Link); err != nil {
			return err
		}
	}
	return v.show("links", map[string]any{"Title": class.Name + ": personal links", "Class": class, "Links": links, "Until": now.Add(ownFor)})
}

func (s *Server) livePage(v *visit) error {
	class, roster, err := v.classFor(readClass)
	if err != nil {
		return err
	}
	members, err := s.members(v.ctx, roster)
	if err != nil {
		return err
	}
	given, err := s.setsOf(v.ctx, class, roster)
	if err != nil {
		return err
	}
	called := map[setRef]string{}
	for _, a := range given {
		called[a.Ref] = a.Name
	}
	var list []now
	here, elsewhere := 0, 0
	for _, m := range members {
		if m.Role == scoring.RoleInstructor {
			continue
		}
		n := now{}
		if d := s.drills.of(m.ID); d != nil {
			n = d.now(s.Clock())
		} else if n, err = s.elsewhere(v.ctx, m.ID); err != nil {
			return err
		}
		switch {
		case n.Elsewhere:
			elsewhere++
		case n.Watched:
			here++
		}
		if name := called[n.Set]; n.Set != "" && name != "" {
			n.Doing = name
		}
		n.Name, n.Account = m.Name, m.HasAccount
		list = append(list, n)
	}
	begun, collected := "", "" // just now, by who looks
	for _, a := range given {
		switch query := v.r.URL.Query(); a.Ref {
		case query.Get("begun"):
			begun = a.Name
		case query.Get("collected"):
			collected = a.Name
		}
	}
	v.w.Header().Set("Refresh", strconv.Itoa(liveEvery))
	return v.show("live", map[string]any{"Title": class.Name + ": who is where", "Begun": begun, "Collected": collected, "Class": class, "People": list, "Here": here, "Elsewhere": elsewhere, "At": s.Clock(), "Every": liveEvery})
}

// liveEvery is after how many seconds the live page is asked for anew.
const liveEvery = 5

func (s *Server) logPage(v *visit) error {
	class, _, err := v.classFor(readLog)
	if err != nil {
		return err
	}
	done, err := s.Book.ServedIn(v.ctx, class.ID)
	if err != nil {
		return err
	}
	type line struct {
		At              time.Time
		By, What, About string
	}
	names := map[personID]string{"": ""}
	name := func(id personID) string {
		if _, asked := names[id]; !asked {
			names[id] = v.name(id)
		}
		return names[id]
	}
	var lines []line
	for _, d := range slices.Backward(done) {
		lines = append(lines, line{d.At, name(d.By), d.What, name(d.About)})
	}
	return v.show("log", map[string]any{"Title": class.Name + ": what was done", "Class": class, "Lines": lines})
}

// assignable are the exercises that can be given to a class.
func assignable() (list []exercises.Kind) {
	return slices.DeleteFunc(exercises.Kinds(), func(k exercises.Kind) bool { return k.Traits().ByHand })
}

// sharable are those of them whose items several people can take: the next trial does not
// depend on the answers.
func sharable() []exercises.Kind {
	return slices.DeleteFunc(assignable(), func(k exercises.Kind) bool { return k.Traits().AnswerDriven })
}

// number reads a number of a form; 0 for none.
func number(text string) int {
	n, _ := strconv.Atoi(strings.TrimSpace(text))
	return n
}
