package sqlbook

import (
	"bytes"
	"compress/flate"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"sync"
	"time"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// PutSheet keeps a sheet under its fingerprint.
func (b *Book) PutSheet(ctx context.Context, s *tabs.Sheet) error {
	if _, err := b.Sheet(ctx, s.Fingerprint()); !errors.Is(err, record.ErrNotFound) {
		return err
	}
	return b.updateRows(ctx, func(w *Writer) error { return w.putSheet(ctx, s) })
}

func (w *Writer) putSheet(ctx context.Context, s *tabs.Sheet) error {
	body, err := json.Marshal(s)
	if err != nil {
		return err
	}
	_, err = w.Tx.ExecContext(ctx, "INSERT INTO sheet (fingerprint, body) VALUES (?, ?) ON CONFLICT DO NOTHING", s.Fingerprint(), string(body))
	return err
}

// Sheet returns a kept sheet.
func (b *Book) Sheet(ctx context.Context, fingerprint string) (*tabs.Sheet, error) {
	b.mu.Lock()
	s := b.sheets[fingerprint]
	b.mu.Unlock()
	if s != nil {
		return s, nil
	}
	s, err := sheet(ctx, b.read, fingerprint)
	if err != nil {
		return nil, b.Explain(err)
	}
	b.mu.Lock()
	b.sheets[fingerprint] = s
	b.mu.Unlock()
	return s, nil
}

func sheet(ctx context.Context, q Session, fingerprint string) (*tabs.Sheet, error) {
	var body []byte
	err := q.Patiently(ctx, func() error {
		return q.QueryRowContext(ctx, "SELECT body FROM sheet WHERE fingerprint = ?", fingerprint).Scan(&body)
	})
	if err != nil {
		return nil, found("sheet "+fingerprint, err)
	}
	return ReadSheet(fingerprint, body)
}

// ReadSheet reads a sheet that must have a fingerprint.
func ReadSheet(fingerprint string, body []byte) (*tabs.Sheet, error) {
	s := new(tabs.Sheet)
	if err := json.Unmarshal(body, s); err != nil {
		return nil, fmt.Errorf("sheet %s: %w", fingerprint, err)
	}
	if got := s.Fingerprint(); got != fingerprint {
		return nil, fmt.Errorf("sheet %s is damaged: its content has the fingerprint %s", fingerprint, got)
	}
	return s, nil
}

// StartSitting enters a sitting.
func (b *Book) StartSitting(ctx context.Context, s scoring.Sitting) error {
	s, err := record.CheckSitting(s)
	if err != nil {
		return err
	}
	return b.updateRows(ctx, func(w *Writer) error { return w.startSitting(ctx, s) })
}

func (w *Writer) startSitting(ctx context.Context, s scoring.Sitting) error {
	learner, err := w.learnerRow(ctx, s.Learner)
	if err != nil {
		return err
	}
	var book string
	var simulated bool
	if err := w.Tx.QueryRowContext(ctx, "SELECT b.ulid, l.ulid, l.simulated FROM book b, learner l WHERE l.id = ?", learner).Scan(&book, &s.Learner, &simulated); err != nil {
		return err
	}
	s.Origin = record.Here(s.Origin, book, simulated)
	whole := s
	sheet, err := w.sheetRow(ctx, s.Setup.SheetID)
	if err != nil {
		return err
	}
	experience, err := deflate(s.Setup.Experience)
	if err != nil {
		return err
	}
	s.Setup.Experience = nil
	setup, err := json.Marshal(s.Setup)
	if err != nil {
		return err
	}
	display, err := json.Marshal(s.Display)
	if err != nil {
		return err
	}
	var ended, imported any
	if !s.Ended.IsZero() {
		ended = s.Ended.UnixMilli()
	}
	if o := s.Origin; !o.At.IsZero() {
		imported = o.At.UnixMilli()
	}
	var id int64
	err = w.Tx.QueryRowContext(ctx, `INSERT INTO sitting (id, ulid, learner, kind, sheet, within, started, ended, left_early, setup, display, experience,
			road, origin_book, imported, simulated, begun_as)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (ulid) DO NOTHING RETURNING id`,
		w.Tx.key(), s.ID, learner, s.Setup.Kind, sheet, s.Within, s.Started.UnixMilli(), ended, s.Left, string(setup), string(display), experience,
		s.Origin.Road, s.Origin.Book, imported, s.Origin.Simulated, s.BegunAs).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("sitting %s: %w", s.ID, record.ErrTaken)
	}
	if err != nil {
		return err
	}
	return w.startChain(ctx, id, whole)
}

// deflate packs earlier outcomes; they are long and rarely read.
func deflate(list []exercises.Outcome) (any, error) {
	if len(list) == 0 {
		return nil, nil
	}
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.BestSpeed)
	if err != nil {
		return nil, err
	}
	if err := json.NewEncoder(w).Encode(list); err != nil {
		return nil, err
	}
	err = w.Close() // before the bytes are taken: it writes the last of them
	return packed.Bytes(), err
}

// inflate unpacks earlier outcomes.
func inflate(packed []byte) (list []exercises.Outcome, err error) {
	if packed == nil {
		return nil, nil
	}
	const most = 1 << 20 // far more than the longest list takes
	err = json.NewDecoder(io.LimitReader(flate.NewReader(bytes.NewReader(packed)), most)).Decode(&list)
	return list, err
}

// EndSitting says that no more answers will come.
func (b *Book) EndSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error {
	if err := record.CheckMoment("the end of a sitting", at); err != nil {
		return err
	}
	return b.updateRows(ctx, func(w *Writer) error { return w.endSitting(ctx, id, at, left) })
}

func (w *Writer) endSitting(ctx context.Context, id scoring.SittingID, at time.Time, left bool) error {
	var row int64
	var ended bool
	var head []byte
	err := w.Tx.QueryRowContext(ctx, "SELECT s.id, s.ended IS NOT NULL, c.head FROM sitting s LEFT JOIN chain c ON c.sitting = s.id WHERE s.ulid = ?", id).Scan(&row, &ended, &head)
	if err != nil {
		return found(fmt.Sprintf("sitting %s", id), err)
	}
	if ended {
		return nil
	}
	if _, err := w.Tx.ExecContext(ctx, "UPDATE sitting SET left_early = ?, ended = ? WHERE id = ?", left, at.UnixMilli(), row); err != nil {
		return err
	}
	end := readLink(head).EndLink(at, left)
	if _, err := w.Tx.ExecContext(ctx, "UPDATE chain SET closed = ? WHERE sitting = ? AND closed IS NULL", end[:], row); err != nil {
		return err
	}
	if w.at.sitting == id {
		w.at = place{}
	}
	return nil
}

const sittingColumns = `SELECT s.ulid, l.ulid, s.within, s.started, s.ended, s.left_early, s.setup, s.display, s.road, s.origin_book, s.imported, s.simulated, s.begun_as`

// parsed remembers display checks, forms' parts, and setups but for their seeds, by their
// texts: a class has few of each, and finding one is quicker than reading it again. The
// zero value is ready.
type parsed struct {
	mu     sync.Mutex
	checks map[string]scoring.DisplayCheck
	setups map[string]exercises.Setup // by the text without the seed's digits
	forms  map[string]record.Form     // their cuts and parts, by the texts of both
}

// mostParsed bounds what is remembered, so that a book full of different ones fills no memory.
const mostParsed = 1000

func (p *parsed) displayCheck(text []byte) (scoring.DisplayCheck, error) {
	p.mu.Lock()
	check, known := p.checks[string(text)]
	p.mu.Unlock()
	if known {
		return check, nil
	}
	if err := json.Unmarshal(text, &check); err != nil {
		return scoring.DisplayCheck{}, err
	}
	remember(p, &p.checks, string(text), check)
	return check, nil
}

func (p *parsed) setupOf(text []byte) (exercises.Setup, error) {
	var room [512]byte
	head, seed, tail, cut := aroundSeed(text)
	key := append(append(room[:0], head...), tail...)
	if cut {
		p.mu.Lock()
		s, known := p.setups[string(key)]
		p.mu.Unlock()
		if known {
			s.Seed = seed
			return own(s), nil
		}
	}
	var s exercises.Setup
	if err := json.Unmarshal(text, &s); err != nil {
		return s, err
	}
	if cut && s.Seed == seed && s.Again == nil { // what is asked again is one person's alone
		remember(p, &p.setups, string(key), own(s))
	}
	return s, nil
}

// own is a setup that shares nothing with another.
func own(s exercises.Setup) exercises.Setup {
	s.Options, s.Experience, s.Again = maps.Clone(s.Options), slices.Clone(s.Experience), slices.Clone(s.Again)
	return s
}

// formOf reads the cuts and the parts of a form.
func (p *parsed) formOf(levels, parts []byte) (scoring.Cuts, []exercises.Setup, error) {
	key := string(levels) + "\n" + string(parts)
	p.mu.Lock()
	f, known := p.forms[key]
	p.mu.Unlock()
	if !known {
		if err := errors.Join(json.Unmarshal(levels, &f.Levels), json.Unmarshal(parts, &f.Parts)); err != nil {
			return f.Levels, nil, err
		}
		remember(p, &p.forms, key, f)
	}
	list := slices.Clone(f.Parts)
	for i := range list {
		list[i] = own(list[i])
	}
	return slices.Clone(f.Levels), list, nil
}

func remember[T any](p *parsed, in *map[string]T, text string, v T) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if *in == nil || len(*in) >= mostParsed {
		*in = map[string]T{}
	}
	(*in)[text] = v
}

// aroundSeed cuts the digits of its seed out of the text of a setup.
func aroundSeed(text []byte) (head []byte, seed uint64, tail []byte, ok bool) {
	const name = `"seed":`
	from := bytes.Index(text, []byte(name))
	if from < 0 {
		return nil, 0, nil, false
	}
	from += len(name)
	to := from
	for to < len(text) && '0' <= text[to] && text[to] <= '9' {
		to++
	}
	seed, err := strconv.ParseUint(string(text[from:to]), 10, 64)
	return text[:from], seed, text[to:], err == nil
}

// scanSitting reads a sitting into its place: it is long to be carried there.
func scanSitting(row Scanner, before *parsed, s *scoring.Sitting, further ...any) error {
	var started int64
	var ended, imported sql.NullInt64
	var setup, display []byte
	o := &s.Origin
	if err := row.Scan(append([]any{&s.ID, &s.Learner, &s.Within, &started, &ended, &s.Left, &setup, &display,
		&o.Road, &o.Book, &imported, &o.Simulated, &s.BegunAs}, further...)...); err != nil {
		return err
	}
	if imported.Valid {
		o.At = time.UnixMilli(imported.Int64).UTC()
	}
	s.Started = time.UnixMilli(started).UTC()
	if ended.Valid {
		s.Ended = time.UnixMilli(ended.Int64).UTC()
	}
	var err error
	if s.Setup, err = before.setupOf(setup); err != nil {
		return fmt.Errorf("sitting %s: its setup cannot be read: %w", s.ID, err)
	}
	if s.Display, err = before.displayCheck(display); err != nil {
		return fmt.Errorf("sitting %s: its display check cannot be read: %w", s.ID, err)
	}
	return nil
}

// Sitting returns one sitting whole.
func (b *Book) Sitting(ctx context.Context, id scoring.SittingID) (scoring.Sitting, error) {
	s, err := sitting(ctx, b.read, id)
	return s, b.Explain(err)
}

func sitting(ctx context.Context, q Session, id scoring.SittingID) (s scoring.Sitting, err error) {
	var packed []byte
	err = q.One(ctx, sittingColumns+", s.experience FROM sitting s JOIN learner l ON l.id = s.learner WHERE s.ulid = ?", []any{id}, func(row Scanner) error {
		return scanSitting(row, q.parsed, &s, &packed)
	})
	if err != nil {
		return s, found(fmt.Sprintf("sitting %s", id), err)
	}
	if s.Setup.Experience, err = inflate(packed); err != nil {
		return s, fmt.Errorf("sitting %s: its earlier outcomes cannot be read: %w", id, err)
	}
	return s, nil
}

// Sittings lists sittings, oldest first.
func (b *Book) Sittings(ctx context.Context, f record.Filter) ([]scoring.Sitting, error) {
	list, err := sittings(ctx, b.read, f)
	return list, b.Explain(err)
}

// usualSittings is for how many sittings room is made at first.
const usualSittings = 16

func sittings(ctx context.Context, q Session, f record.Filter) (list []scoring.Sitting, err error) {
	query, args := listing(f)
	err = q.Each(ctx, query, args, func(row Scanner) error {
		if list == nil {
			list = make([]scoring.Sitting, 0, usualSittings)
		}
		list = append(list, scoring.Sitting{})
		return scanSitting(row, q.parsed, &list[len(list)-1])
	})
	return list, err
}

// listing is the statement that lists sittings.
func listing(f record.Filter) (query string, args []any) {
	where, args := ofSittings(f)
	if f.Kind != "" {
		where, args = where+" AND s.kind = ?", append(args, f.Kind)
	}
	where, args = between(where, args, "s.started", f)
	return sittingColumns + " FROM sitting s CROSS JOIN learner l ON l.id = s.learner WHERE " + where + " ORDER BY s.started, s.ulid", args
}

// ofSittings narrows a query over sitting s, but for exercise and time.
func ofSittings(f record.Filter) (where string, args []any) {
	where = "true"
	if f.Learner != "" {
		where, args = where+" AND s.learner = "+whose, append(args, f.Learner, f.Learner)
	}
	if f.Sitting != "" {
		where, args = where+" AND s.ulid = ?", append(args, f.Sitting)
	}
	switch {
	case f.Within == "":
	case f.Learner != "" || f.Sitting != "":
		// Not by the index of what sittings belong to: a set that a whole class took has more
		// sittings than one person.
		where, args = where+" AND s.within || '' = ?", append(args, f.Within)
	default:
		where, args = where+" AND s.within <> '' AND s.within = ?", append(args, f.Within)
	}
	if f.Unfinished {
		where += " AND s.ended IS NULL"
	}
	return where, args
}

func between(where string, args []any, column string, f record.Filter) (string, []any) {
	if !f.From.IsZero() {
		where, args = where+" AND "+column+" >= ?", append(args, ceilMilli(f.From))
	}
	if !f.To.IsZero() {
		where, args = where+" AND "+column+" < ?", append(args, ceilMilli(f.To))
	}
	return where, args
}

// ceilMilli is the first whole millisecond not before t: what lies at or after
// t lies at or after it.
func ceilMilli(t time.Time) int64 {
	ms := t.UnixMilli()
	if time.UnixMilli(ms).Before(t) {
		ms++
	}
	return ms
}
