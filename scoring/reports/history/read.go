package history

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"sync"

	"shadedrill/colour/tabs"
	"shadedrill/exercises"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// Read marks every attempt that the filter lets through.
//
// The brief forms are read first, since they are many times quicker to read and
// enough for most exercises. An exercise whose marks need more is read again,
// whole.
func Read(ctx context.Context, book Book, f record.Filter) (*History, error) {
	r, err := newReader(ctx, book, f)
	if err != nil {
		return nil, err
	}
	r.share()
	return r.read(ctx, book, f)
}

// ReadAlone does the same without helpers, for a caller who reads several
// people side by side, and keeps what was seen answer by answer.
func ReadAlone(ctx context.Context, book Book, f record.Filter) (*History, error) {
	r, err := newReader(ctx, book, f)
	if err != nil {
		return nil, err
	}
	r.keep = true
	return r.read(ctx, book, f)
}

func (r *reader) read(ctx context.Context, book Book, f record.Filter) (*History, error) {
	whole, err := r.briefs(ctx, book, f)
	if err == nil {
		for _, kind := range whole {
			f.Kind = string(kind)
			if err = r.attempts(ctx, book, f); err != nil {
				break
			}
		}
	}
	r.finish()
	if err != nil {
		return nil, err
	}
	return r.history(), nil
}

// reader sorts attempts as they come, sitting by sitting, and has each sitting
// marked beside the reading of the next.
type reader struct {
	sittings map[scoring.SittingID]scoring.Sitting
	byKind   map[exercises.KindID]*Kind
	jobs     chan job // nil: marked by whoever reads
	workers  sync.WaitGroup
	open     job // the sitting being read
	keep     bool
}

// job is a sitting whose answers are all there.
type job struct {
	history  *Sitting
	kind     exercises.KindID
	attempts []scoring.Attempt
}

func newReader(ctx context.Context, book Book, f record.Filter) (*reader, error) {
	sittings, err := book.Sittings(ctx, record.Filter{Learner: f.Learner, Sitting: f.Sitting, Kind: f.Kind, Within: f.Within})
	if err != nil {
		return nil, err
	}
	r := &reader{
		sittings: make(map[scoring.SittingID]scoring.Sitting, len(sittings)),
		byKind:   map[exercises.KindID]*Kind{},
	}
	sheets := map[string]*tabs.Sheet{}
	for _, s := range sittings {
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

// share has sittings marked by as many helpers as there are processors.
func (r *reader) share() {
	r.jobs = make(chan job, 64)
	for range runtime.GOMAXPROCS(0) {
		r.workers.Go(func() {
			for j := range r.jobs {
				j.mark()
			}
		})
	}
}

func (j job) mark() {
	j.history.room(len(j.attempts))
	for _, a := range j.attempts {
		j.history.Take(a)
	}
}

// briefs reads the brief forms and returns the exercises that must be read whole.
func (r *reader) briefs(ctx context.Context, book Book, f record.Filter) (whole []exercises.KindID, err error) {
	for b, err := range book.Briefs(ctx, f) {
		if err != nil {
			return nil, err
		}
		switch {
		case slices.Contains(whole, b.Kind):
		case b.More && !scoring.RulesOf(b.Kind).BriefIsEnough:
			whole = append(whole, b.Kind)
			r.forget(b.Kind)
		default:
			r.add(b.Attempt())
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
	if h := r.open.history; h == nil || h.ID != a.Sitting || r.open.kind != a.Trial.Kind {
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
		r.open = job{history: &Sitting{Sitting: s, keep: r.keep}, kind: a.Trial.Kind, attempts: r.open.attempts[:0]}
		k.Sittings = append(k.Sittings, r.open.history)
	}
	r.open.attempts = append(r.open.attempts, a)
}

// forget drops what was read of an exercise.
func (r *reader) forget(kind exercises.KindID) {
	if r.open.kind == kind {
		r.open = job{attempts: r.open.attempts[:0]}
	}
	delete(r.byKind, kind)
}

// hand gives the sitting just read to be marked.
func (r *reader) hand() {
	switch {
	case r.open.history == nil:
	case r.jobs == nil:
		r.open.mark()
		r.open = job{attempts: r.open.attempts[:0]} // the room is used again
	default:
		r.jobs <- r.open
		r.open = job{}
	}
}

func (r *reader) finish() {
	r.hand()
	if r.jobs != nil {
		close(r.jobs)
		r.workers.Wait()
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
				h.Adaptive = h.Adaptive || s.Setup.Adaptive
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
