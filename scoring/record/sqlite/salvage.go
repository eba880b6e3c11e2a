package sqlite

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/sqlbook"
)

// Salvaged says what was saved out of a damaged book.
type Salvaged struct {
	People, Whole, Broken int      // sittings whose chain holds, and others
	Answers, Dropped      int      // read but not proved to be as they were given
	Missing               int      // counted by a chain and not to be read
	Lines                 []string // what could not be saved, a line a sitting
}

// Salvage reads the book at path, or its log alone, page by page, and writes a new
// book: every sitting whose chain holds, and of the others every answer whose link
// verifies. Classes, assignments and calibration sessions are not saved. The damaged
// book is not written to.
func Salvage(ctx context.Context, path, to string, at time.Time) (done Salvaged, err error) {
	if path, err = filepath.Abs(path); err != nil {
		return done, unreachable(path, err)
	}
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		return done, fault.New(to+" is there already", "name a new file: nothing is overwritten")
	}
	pages, size, err := pagesOf(path)
	if err != nil {
		return done, unreachable(path, err)
	}
	w := gather(pages, size)
	if len(w.attempts) == 0 && len(w.sittings) == 0 && len(w.learners) == 0 {
		return done, fault.New("nothing of a book can be read in "+path, notABook)
	}
	book, err := Open(ctx, to)
	if err != nil {
		return done, err
	}
	err = book.Update(ctx, func(into *sqlbook.Writer) error { return w.enter(ctx, into, at, &done) })
	if err = errors.Join(err, book.Close()); err != nil {
		os.Remove(to)
	}
	return done, err
}

// wreck is what was read, by the keys of the rows.
type wreck struct {
	words    []string
	learners map[int64]scoring.Learner
	erased   []string // identifiers
	sheets   map[string]string
	forms    map[string]record.Form // of the test, by fingerprint
	sittings map[int64]carved
	chains   map[int64]carved
	attempts map[int64]map[int64]carved // by sitting and ordinal
}

func gather(pages map[uint32][]byte, size int) *wreck {
	w := &wreck{learners: map[int64]scoring.Learner{}, sheets: map[string]string{}, forms: map[string]record.Form{}, sittings: map[int64]carved{}, chains: map[int64]carved{}, attempts: map[int64]map[int64]carved{}}
	words := map[int64]string{}
	rows := map[int64][]string{}             // words, and identifiers of assignments
	indexed := map[uint32]map[int64]string{} // words, and others, by page of an index
	carve(pages, size, func(r carved) {
		c := r.columns
		text := func(i int) string { s, _ := c[i].(string); return s }
		whole := func(i int) int64 { n, _ := c[i].(int64); return n }
		isText := func(i int) bool { _, ok := c[i].(string); return ok }
		isBlob := func(i int) bool { _, ok := c[i].([]byte); return ok }
		n := len(c)
		switch {
		case r.table && n == 2 && c[0] == nil && isText(1):
			// The table of assignments' numbers looks the same.
			rows[r.rowid] = append(rows[r.rowid], text(1))
		case !r.table && n == 2 && isText(0) && !isText(1) && c[1] != nil:
			if indexed[r.page] == nil {
				indexed[r.page] = map[int64]string{}
			}
			indexed[r.page][whole(1)] = text(0)
		case !r.table && n == 2 && isText(0) && c[1] == nil:
			w.erased = append(w.erased, text(0))
		case !r.table && n == 2 && isText(0) && isText(1):
			w.sheets[text(0)] = text(1)
		case r.table && n >= 7 && n <= 12 && c[0] == nil && isText(1) && isText(2) && isText(3) && isText(4):
			l := scoring.Learner{ID: scoring.LearnerID(text(1)), Name: text(2), Role: scoring.Role(text(4)), At: time.UnixMilli(whole(5)).UTC(), Simulated: whole(6) != 0}
			if l.RoleAt = l.At; n > 7 {
				l.RoleAt = time.UnixMilli(whole(7)).UTC()
			}
			if n == 12 {
				l.Number, l.Email, l.Pseudonym = text(9), text(10), whole(11) != 0
			}
			if old, ok := w.learners[r.rowid]; !ok || old.RoleAt.Before(l.RoleAt) {
				w.learners[r.rowid] = l
			}
		case r.table && n == 8 && c[0] == nil && isText(1) && isText(2) && isText(5) && isText(6):
			f := record.Form{Name: text(2), At: time.UnixMilli(whole(4)).UTC()}
			if json.Unmarshal([]byte(text(5)), &f.Levels) == nil && json.Unmarshal([]byte(text(6)), &f.Parts) == nil {
				w.forms[text(1)] = f
			}
		case r.table && n == 9 && c[0] == nil && isBlob(1) && isBlob(4):
			if old, ok := w.chains[r.rowid]; !ok || old.columns[2].(int64) < whole(2) || c[5] != nil {
				w.chains[r.rowid] = r
			}
		case r.table && (n == 12 || n == 16 || n == 17) && c[0] == nil && isText(1) && isText(9) && isText(10):
			if old, ok := w.sittings[r.rowid]; !ok || old.columns[7] == nil {
				w.sittings[r.rowid] = r
			}
		case !r.table && n > onDiskLink-1 && n <= len(onDisk):
			if w.attempts[whole(0)] == nil {
				w.attempts[whole(0)] = map[int64]carved{}
			}
			w.attempts[whole(0)][whole(1)] = r
		}
	})
	// A word's index has it as well, on a page with the name of an exercise.
	for _, page := range indexed {
		if !slices.ContainsFunc(slices.Collect(maps.Values(page)), func(s string) bool { _, err := exercises.ByID(exercises.KindID(s)); return err == nil }) {
			continue
		}
		maps.Copy(words, page)
	}
	for n, texts := range rows {
		if _, known := words[n]; !known {
			slices.SortStableFunc(texts, func(a, b string) int {
				return cmp.Compare(btoi(identifier(a)), btoi(identifier(b)))
			})
			words[n] = texts[0]
		}
	}
	for n, s := range words {
		if n > 0 && n < 1<<20 {
			w.words = append(w.words, make([]string, max(0, int(n)+1-len(w.words)))...)
			w.words[n] = s
		}
	}
	return w
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// identifier reports whether a text looks like one that a book, or a simulation,
// gave out.
func identifier(s string) bool {
	return strings.HasPrefix(s, "sim-") || len(s) == 26 && strings.ToUpper(s) == s && !strings.ContainsAny(s, " .:-")
}

// enter writes what was read into a new book.
func (w *wreck) enter(ctx context.Context, into *sqlbook.Writer, at time.Time, done *Salvaged) error {
	m := into.Book()
	for _, id := range w.erased { // so that no old file brings them back
		if _, err := into.Tx.ExecContext(ctx, "INSERT INTO former (ulid) VALUES (?) ON CONFLICT DO NOTHING", id); err != nil {
			return err
		}
	}
	for _, l := range w.learners {
		if _, err := m.AddLearner(ctx, l); err == nil {
			done.People++
		}
	}
	for id, body := range w.sheets {
		if s, err := sqlbook.ReadSheet(id, []byte(body)); err == nil {
			if err := m.PutSheet(ctx, s); err != nil {
				return err
			}
		}
	}
	for print, f := range w.forms {
		if f.Print() != print { // one of a class, which comes again with the class
			continue
		}
		if _, err := m.AddForm(ctx, f); err != nil && !errors.Is(err, record.ErrNotFound) {
			return err
		}
	}
	ids := map[int64]bool{}
	for id := range w.sittings {
		ids[id] = true
	}
	for id := range w.attempts {
		ids[id] = true
	}
	for _, id := range slices.Sorted(maps.Keys(ids)) {
		if err := w.sitting(ctx, into, id, at, done); err != nil {
			return err
		}
	}
	// Who was joined with whom is known where a sitting tells of it.
	_, err := into.Tx.ExecContext(ctx, `INSERT INTO former (ulid, learner) SELECT begun_as, min(learner) FROM sitting
		WHERE begun_as <> '' AND begun_as NOT IN (SELECT ulid FROM learner) GROUP BY begun_as ON CONFLICT DO NOTHING`)
	return err
}

func (w *wreck) sitting(ctx context.Context, into *sqlbook.Writer, id int64, at time.Time, done *Salvaged) error {
	m := into.Book()
	s, readable := w.readSitting(id)
	answers, unread := w.readAnswers(id, s)
	c := w.chain(id, answers)
	broken := !readable || unread > 0
	if c.Start == (record.Link{}) {
		broken = broken || w.chained() // otherwise the form is one without chains
	} else {
		broken = broken || len(record.VerifyChain(s, answers, c)) > 0
	}
	kept := answers
	if broken && c.Start != (record.Link{}) {
		kept = holding(answers, c)
	}
	done.Dropped += len(answers) - len(kept)
	missing := max(0, c.Count-len(answers))
	done.Missing += missing
	name := string(s.ID)
	if !readable {
		if len(kept) == 0 {
			done.Lines = append(done.Lines, fmt.Sprintf("a sitting of which nothing could be read (number %d in the file)", id))
			return nil
		}
		s = scoring.Sitting{ID: scoring.SittingID(fmt.Sprintf("salvaged-%d-%d", at.UnixMilli(), id)), Started: kept[0].At, Setup: exercises.Setup{Kind: kept[0].Trial.Kind}}
		name = "whose own row is gone (number " + fmt.Sprint(id) + " in the file)"
	}
	ended := s.Ended
	s.Ended = time.Time{}
	left := s.Left
	s.Left = false
	if _, err := m.Learner(ctx, s.Learner); err != nil {
		broken = true
		l, err := w.stranger(ctx, m, s.Learner, at)
		if err != nil {
			return err
		}
		s.Learner = l
	}
	if _, err := m.Sheet(ctx, s.Setup.SheetID); err != nil && s.Setup.SheetID != "" {
		broken = true
		s.Setup.SheetID = ""
	}
	if err := m.StartSitting(ctx, s); err != nil {
		done.Lines = append(done.Lines, fmt.Sprintf("sitting %s: %v", name, err))
		done.Dropped += len(kept)
		return nil
	}
	saved := 0
	for _, a := range kept {
		a.Sitting, a.Learner = s.ID, s.Learner
		if err := m.Append(ctx, a); err != nil {
			broken = true
			done.Dropped++
			continue
		}
		saved++
	}
	done.Answers += saved
	if !ended.IsZero() {
		if err := m.EndSitting(ctx, s.ID, ended, left); err != nil {
			return err
		}
	}
	switch {
	case broken:
		done.Broken++
		done.Lines = append(done.Lines, fmt.Sprintf("sitting %s: %d answers saved, %d that could be read are not proved to be as they were given, %d could not be read", name, saved, len(answers)-saved, missing))
		return w.mark(ctx, into, s.ID, at, record.WhySalvaged, true)
	case !c.Begun.IsZero() || c.Start == (record.Link{}):
		done.Whole++
		if c.Begun.IsZero() {
			c.Begun, c.Why = at, record.WhySalvaged
		}
		return w.mark(ctx, into, s.ID, c.Begun, c.Why, false)
	}
	done.Whole++
	return nil
}

// mark writes when and why a chain was begun.
func (w *wreck) mark(ctx context.Context, into *sqlbook.Writer, id scoring.SittingID, begun time.Time, why string, lost bool) error {
	_, err := into.Tx.ExecContext(ctx, "UPDATE chain SET begun = ?, why = ?, lost = ? WHERE sitting = (SELECT id FROM sitting WHERE ulid = ?)", begun.UnixMilli(), why, lost, id)
	return err
}

// stranger stands for a person whose row is gone.
func (w *wreck) stranger(ctx context.Context, m record.Book, id scoring.LearnerID, at time.Time) (scoring.LearnerID, error) {
	if id == "" {
		id = "salvaged-unknown"
	}
	if l, err := m.Learner(ctx, id); err == nil {
		return l.ID, nil
	}
	l, err := m.AddLearner(ctx, scoring.Learner{ID: id, Name: "Unknown person " + string(id)[:min(40, len(id))], At: at})
	return l.ID, err
}

func (w *wreck) chained() bool { return len(w.chains) > 0 }

func (w *wreck) readSitting(id int64) (s scoring.Sitting, ok bool) {
	r, there := w.sittings[id]
	if !there {
		return s, false
	}
	c := r.columns
	text := func(i int) string { t, _ := c[i].(string); return t }
	whole := func(i int) int64 { n, _ := c[i].(int64); return n }
	s = scoring.Sitting{ID: scoring.SittingID(text(1)), Within: text(5), Started: time.UnixMilli(whole(6)).UTC(), Left: whole(8) != 0, Learner: w.learners[whole(2)].ID}
	if n, ended := c[7].(int64); ended {
		s.Ended = time.UnixMilli(n).UTC()
	}
	if json.Unmarshal([]byte(text(9)), &s.Setup) != nil || json.Unmarshal([]byte(text(10)), &s.Display) != nil {
		return s, false
	}
	packed, _ := c[11].([]byte)
	s.Setup.Experience, _ = sqlbook.Inflate(packed)
	s.Origin.Road = scoring.RoadUnknown
	if len(c) > 16 {
		s.BegunAs = scoring.LearnerID(text(16))
	}
	if len(c) >= 16 {
		s.Origin = scoring.Origin{Road: scoring.Road(text(12)), Book: text(13), Simulated: whole(15) != 0}
		if n, imported := c[14].(int64); imported {
			s.Origin.At = time.UnixMilli(n).UTC()
		}
	}
	return s, true
}

// onDisk are the columns of an answer as they lie in the file; the last two are there
// since the form that added each.
var onDisk = []string{"sitting", "ordinal", "at", "kind", "version", "scene", "part", "item", "level", "target", "key", "answer",
	"tab", "neighbour", "value_group", "choice", "first", "total", "looks", "timed_out", "more", "link", "chance"}

const onDiskLink = 21

// readAnswers gives the answers in order, and how many could not be understood.
func (w *wreck) readAnswers(id int64, s scoring.Sitting) (list []scoring.Attempt, unread int) {
	for _, n := range slices.Sorted(maps.Keys(w.attempts[id])) {
		cells := w.attempts[id][n].columns
		a, err := sqlbook.ReadAnswer(s, w.words, func(column string) any {
			if i := slices.Index(onDisk, column); i >= 0 && i < len(cells) {
				return cells[i]
			}
			return nil
		})
		if err != nil {
			unread++
			continue
		}
		list = append(list, a)
	}
	return list, unread
}

func (w *wreck) chain(id int64, answers []scoring.Attempt) (c record.Chain) {
	if r, ok := w.chains[id]; ok {
		blob := func(i int) record.Link { b, _ := r.columns[i].([]byte); return sqlbook.ReadLink(b) }
		count, _ := r.columns[2].(int64)
		c = record.Chain{Start: blob(1), Count: int(count), Head: blob(4), End: blob(5), Closed: r.columns[5] != nil}
		if n, begun := r.columns[6].(int64); begun {
			c.Begun = time.UnixMilli(n).UTC()
			c.Why, _ = r.columns[7].(string)
		}
		lost, _ := r.columns[8].(int64)
		c.Lost = lost != 0
	}
	for _, a := range answers {
		l := record.Linked{Ordinal: a.Trial.Ordinal}
		if cols := w.attempts[id][int64(a.Trial.Ordinal)].columns; len(cols) > onDiskLink {
			b, _ := cols[onDiskLink].([]byte)
			l.Link = sqlbook.ReadLink(b)
		}
		c.Answers = append(c.Answers, l)
	}
	slices.SortFunc(c.Answers, func(x, y record.Linked) int { return cmp.Compare(x.Ordinal, y.Ordinal) })
	return c
}

// holding are the answers whose link follows from the one before.
func holding(answers []scoring.Attempt, c record.Chain) (kept []scoring.Attempt) {
	before := c.Start
	for i, a := range answers {
		if stored := c.Answers[i].Link; before.Next(a) == stored {
			kept = append(kept, a)
			before = stored
		} else {
			before = stored
		}
	}
	return kept
}
