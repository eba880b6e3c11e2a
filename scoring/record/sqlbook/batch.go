package sqlbook

import (
	"context"
	"errors"
	"fmt"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
)

// mostTogether is how many answers go into one transaction. Each waits for the disk
// once, and with it all that have come meanwhile: so the more people answer, the fewer
// waits there are for each. House choice; measured in trainer/serve.
const mostTogether = 64

// batch is answers that wait to be written. Whoever comes first writes for all that
// have come until then; the others wait for what became of theirs.
type batch struct {
	mu      chan struct{} // holds tokens; whoever writes takes one
	waiting chan *waiting
}

type waiting struct {
	ctx  context.Context
	a    scoring.Attempt
	done chan error
}

// newBatch lets so many write at once.
func newBatch(writers int) batch {
	b := batch{mu: make(chan struct{}, writers), waiting: make(chan *waiting, mostTogether)}
	for range writers {
		b.mu <- struct{}{}
	}
	return b
}

// appendTogether records a checked answer, in one transaction with those that come
// at the same time. It is on the disk when appendTogether returns nil.
func (b *Book) appendTogether(ctx context.Context, a scoring.Attempt) error {
	w := &waiting{ctx, a, make(chan error, 1)}
	queue := b.batch.waiting
	for {
		select {
		case err := <-w.done:
			return err
		case queue <- w:
			queue = nil
		case <-b.batch.mu:
			func() {
				defer func() { b.batch.mu <- struct{}{} }()
				b.writeWaiting(w, queue != nil)
			}()
			// Ours went with the others just now, or before with somebody else's.
			return <-w.done
		}
	}
}

// writeWaiting writes what waits, and with it the writer's own answer where that is not
// among it.
func (b *Book) writeWaiting(own *waiting, apart bool) {
	var all []*waiting
	if apart {
		all = append(all, own)
	}
	for len(all) < mostTogether {
		select {
		case w := <-b.batch.waiting:
			all = append(all, w)
			continue
		default:
		}
		break
	}
	if len(all) == 0 {
		return
	}
	if len(all) > 1 || b.in.Sends != nil {
		ctx := all[0].ctx
		if len(all) > 1 { // what one of them gives up on must not undo the others
			ctx = context.WithoutCancel(ctx)
		}
		err := b.updateAnswers(ctx, all, func(w *Writer) error { return w.appendAll(ctx, all) })
		// What is wrong with the book is so for all of them, and is not waited for again.
		var ofTheBook *fault.Error
		if apart := errors.Is(err, errApart); err == nil || !apart && (len(all) == 1 || errors.As(err, &ofTheBook)) {
			for _, one := range all {
				one.done <- err
			}
			return
		}
	}
	// One alone; or one of several is not as it should be, and then each for itself.
	for _, one := range all {
		ctx := one.ctx
		if len(all) > 1 {
			ctx = context.WithoutCancel(ctx)
		}
		one.done <- b.updateAnswers(ctx, []*waiting{one}, func(w *Writer) error { return w.append(ctx, one.a) })
	}
}

// errApart says that an answer does not simply follow those before it: its sitting has
// ended, has no chain or another learner, or the answer is there already.
var errApart = errors.New("answers to be written one by one")

// appendAll records answers, in as few round trips as the engine allows.
func (w *Writer) appendAll(ctx context.Context, all []*waiting) error {
	send := w.book.in.Sends
	if send == nil {
		for _, one := range all {
			if err := w.append(ctx, one.a); err != nil {
				return fmt.Errorf("%w: %w", errApart, err)
			}
		}
		return nil
	}
	places, err := w.places(ctx, all)
	if err != nil {
		return err
	}
	var list []Statement
	for _, one := range all {
		p, known := places[one.a.Sitting]
		ordinal := one.a.Trial.Ordinal
		if !known || p.learner != one.a.Learner || p.ended || !p.chained || ordinal <= p.last {
			return errApart
		}
		row, err := w.row(ctx, p.id, one.a)
		if err != nil {
			return err
		}
		l := p.head.Next(one.a)
		p.last, p.head = ordinal, l
		list = append(list, w.Tx.put(enterAttempt, append(row, blob(l))...), w.Tx.put(lengthenChain, ordinal, l[:], p.id))
	}
	// Whoever changes a chain meanwhile undoes this: it was read in the same transaction.
	err = send(ctx, w.conn, list)
	if errors.Is(err, ErrThere) {
		return errApart
	}
	return err
}

// places finds the sittings that answers go to, by one statement.
func (w *Writer) places(ctx context.Context, all []*waiting) (map[scoring.SittingID]*place, error) {
	var sittings []string
	for _, one := range all {
		sittings = append(sittings, string(one.a.Sitting))
	}
	places := map[scoring.SittingID]*place{}
	err := w.Tx.Each(ctx, placesOf, []any{sittings}, func(rows Scanner) error {
		var p place
		var head []byte
		err := rows.Scan(&p.sitting, &p.id, &p.learner, &p.ended, &p.last, &head)
		p.head, p.chained = readLink(head), head != nil
		places[p.sitting] = &p
		return err
	})
	return places, err
}
