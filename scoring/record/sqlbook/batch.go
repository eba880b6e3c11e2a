package sqlbook

import (
	"context"

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
			if queue != nil { // ours was not in the queue: it went with the others
				return <-w.done
			}
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
	if len(all) > 1 {
		// What one of them gives up on must not undo the others.
		ctx := context.WithoutCancel(all[0].ctx)
		err := b.updateAnswers(ctx, all, func(w *Writer) error {
			for _, one := range all {
				if err := w.append(ctx, one.a); err != nil {
					return err
				}
			}
			return nil
		})
		if err == nil {
			for _, one := range all {
				one.done <- nil
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
