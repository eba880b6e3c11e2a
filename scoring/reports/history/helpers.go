package history

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
)

// Helpers work side by side, as many as there are processors. What one of them
// panics over becomes an error: nothing that lies in a book may end the program.
type Helpers struct {
	jobs    chan func() error
	workers sync.WaitGroup
	mu      sync.Mutex
	err     error // the first
}

// NewHelpers sets them to work; Wait lets them go.
func NewHelpers() *Helpers {
	h := &Helpers{jobs: make(chan func() error, 64)}
	for range runtime.GOMAXPROCS(0) {
		h.workers.Go(func() {
			for job := range h.jobs {
				if err := guarded(job); err != nil {
					h.mu.Lock()
					if h.err == nil {
						h.err = err
					}
					h.mu.Unlock()
				}
			}
		})
	}
	return h
}

// Do has a job done. After an error the rest is still taken, and done.
func (h *Helpers) Do(job func() error) { h.jobs <- job }

// Failed says whether a job has failed, so that no more need be begun.
func (h *Helpers) Failed() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.err != nil
}

// Wait waits until all jobs are done and returns the first error.
func (h *Helpers) Wait() error {
	close(h.jobs)
	h.workers.Wait()
	return h.err
}

// guarded calls f and returns a panic of it as an error.
func guarded(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &Panic{Value: p, Stack: debug.Stack()}
		}
	}()
	return f()
}

// Panic is a fault of the program that came to light over somebody's answers.
type Panic struct {
	Value any
	Stack []byte
}

func (p *Panic) Error() string { return fmt.Sprintf("the program failed over an answer: %v", p.Value) }
