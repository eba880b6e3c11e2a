package history

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Read marks every attempt that the filter lets through.
//
// All is read lightly first, which is many times quicker and enough for most
// exercises. An exercise whose marks need more is read again, whole.
func Read(ctx context.Context, book Book, f record.Filter) (*History, error) {
	r, err := newReader(ctx, book, f)
	if err != nil {
		return nil, err
	}
	r.helpers = NewHelpers()
	return r.read(ctx, book, f)
}

// ReadAlone does the same without helpers, for a caller who reads several
// people side by side, and keeps what was seen answer by answer in the place of points
// and excess.
func ReadAlone(ctx context.Context, book Book, f record.Filter) (*History, error) {
	r, err := newReader(ctx, book, f)
	if err != nil {
		return nil, err
	}
	r.keep = true
	return r.read(ctx, book, f)
}

func (r *reader) read(ctx context.Context, book Book, f record.Filter) (*History, error) {
	whole, err := r.light(ctx, book, f)
	if err == nil {
		for _, kind := range whole {
			f.Kind = string(kind)
			if err = r.attempts(ctx, book, f); err != nil {
				break
			}
		}
	}
	r.hand()
	if r.helpers != nil {
		err = errors.Join(err, r.helpers.Wait())
	}
	if err != nil {
		return nil, err
	}
	return r.history(), nil
}

// reader sorts attempts as they come, sitting by sitting, and has each marked as a
// whole; with helpers beside the reading of the next.
type reader struct {
	sittings map[scoring.SittingID]*scoring.Sitting
	byKind   map[exercises.KindID]*Kind
	helpers  *Helpers // nil: marked by whoever reads
	open     *Sitting // the sitting being read
	kind     exercises.KindID
	waiting  []scoring.Attempt // of the open sitting
	keep     bool
}

func newReader(ctx context.Context, book Book, f record.Filter) (*reader, error) {
	sittings, err := book.Sittings(ctx, record.Filter{Learner: f.Learner, Sitting: f.Sitting, Kind: f.Kind, Within: f.Within})
	if err != nil {
		return nil, err
	}
	r := &reader{
		sittings: make(map[scoring.SittingID]*scoring.Sitting, len(sittings)),
		byKind:   map[exercises.KindID]*Kind{},
	}
	sheets := map[string]*tabs.Sheet{}
	for i := range sittings {
		s := &sittings[i]
		if id := s.Setup.SheetID; id != "" {
			if _, known := sheets[id]; !known {
				if sheets[id], err = book.Sheet(ctx, id); err != nil {
					return nil, err
				}
			}
			s.Setup.Sheet = sheets[id]
		}
		r.sittings[s.ID] = s
	}
	return r, nil
}

// light reads lightly and returns the exercises that must be read whole.
func (r *reader) light(ctx context.Context, book Book, f record.Filter) (whole []exercises.KindID, err error) {
	f.Light = true
	for a, err := range book.Attempts(ctx, f) {
		if err != nil {
			return nil, err
		}
		switch kind := a.Trial.Kind; {
		case slices.Contains(whole, kind):
		case a.Cut && !scoring.RulesOf(kind).LightIsEnough:
			whole = append(whole, kind)
			r.forget(kind)
		default:
			r.add(a)
		}
	}
	return whole, nil
}

func (r *reader) attempts(ctx context.Context, book Book, f record.Filter) error {
	for a, err := range book.Attempts(ctx, f) {
		if err != nil {
			return err
		}
		r.add(a)
	}
	return nil
}

// add takes the next attempt. One of a sitting that started while we read is
// left for the next time.
func (r *reader) add(a scoring.Attempt) {
	if r.open == nil || r.open.ID != a.Sitting || r.kind != a.Trial.Kind {
		r.hand()
		s, known := r.sittings[a.Sitting]
		if !known {
			return
		}
		k := r.byKind[a.Trial.Kind]
		if k == nil {
			k = &Kind{ID: a.Trial.Kind, Title: KindTitle(a.Trial.Kind)}
			r.byKind[a.Trial.Kind] = k
		}
		r.open, r.kind = &Sitting{Sitting: *s, keep: r.keep}, a.Trial.Kind
		k.Sittings = append(k.Sittings, r.open)
	}
	if r.waiting = append(r.waiting, a); r.helpers == nil && len(r.waiting) == mostWaiting {
		r.open.Take(r.waiting...)
		r.waiting = r.waiting[:0]
	}
}

// mostWaiting is how many answers of one sitting wait to be marked together: what says
// that it is one sitting may hold a million.
const mostWaiting = 512

// forget drops what was read of an exercise.
func (r *reader) forget(kind exercises.KindID) {
	if r.kind == kind {
		r.open, r.kind, r.waiting = nil, "", r.waiting[:0]
	}
	delete(r.byKind, kind)
}

// hand has the sitting just read marked.
func (r *reader) hand() {
	s, attempts := r.open, r.waiting
	r.open, r.waiting = nil, nil
	switch {
	case s == nil:
	case r.helpers == nil:
		s.Take(attempts...)
		r.waiting = attempts[:0]
	default:
		r.helpers.Do(func() error {
			s.Take(attempts...)
			return nil
		})
	}
}

// history puts exercises and sittings in their order.
func (r *reader) history() *History {
	h := &History{}
	seen := map[scoring.SittingID]bool{}
	for _, k := range r.byKind {
		slices.SortStableFunc(k.Sittings, func(a, b *Sitting) int { return a.Sitting.Started.Compare(b.Sitting.Started) })
		for _, s := range k.Sittings {
			k.Attempts += s.Count()
			if !seen[s.ID] {
				seen[s.ID] = true
				h.Adaptive = h.Adaptive || s.Setup.Adaptive && exercises.TraitsOf(k.ID).Adapts
			}
			if h.First.IsZero() || s.First.Before(h.First) {
				h.First = s.First
			}
			if s.Last.After(h.Last) {
				h.Last = s.Last
			}
		}
		h.Attempts += k.Attempts
		h.Kinds = append(h.Kinds, k)
	}
	h.Sittings = len(seen)
	order := exercises.Kinds()
	place := func(k *Kind) int {
		i := slices.IndexFunc(order, func(o exercises.Kind) bool { return o.ID() == k.ID })
		if i < 0 {
			return len(order)
		}
		return i
	}
	slices.SortFunc(h.Kinds, func(a, b *Kind) int {
		return cmp.Or(cmp.Compare(place(a), place(b)), cmp.Compare(a.ID, b.ID))
	})
	return h
}
