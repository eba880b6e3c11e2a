package process

import (
	"context"
	"io"
	"sync"
)

// listening is standard input that a signal ends: a read that waits for somebody to type
// or for another program would not notice that the run is to stop.
type listening struct {
	ctx  context.Context
	from io.Reader
	once sync.Once
	pipe *io.PipeReader
}

// Listen is standard input until ctx ends.
func Listen(ctx context.Context, from io.Reader) io.Reader { return &listening{ctx: ctx, from: from} }

func (l *listening) Read(b []byte) (int, error) {
	l.once.Do(func() {
		out, in := io.Pipe()
		l.pipe = out
		context.AfterFunc(l.ctx, func() { in.CloseWithError(context.Cause(l.ctx)) })
		go func() { // nothing in it can fail but the reading
			_, err := io.Copy(in, l.from)
			in.CloseWithError(err)
		}()
	})
	return l.pipe.Read(b)
}
