package serve

import (
	"fmt"
	"net/http"
	"runtime"
	"sync/atomic"
)

// counts are what the server says of itself to whoever runs it; nothing of people.
type counts struct {
	requests, failures, refused, signIns, sockets, answers, panics atomic.Int64
}

// Metrics answers with the counters as text, in the form that Prometheus reads
// (version 0.0.4). It belongs on an address that strangers do not reach.
func (s *Server) Metrics() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		for _, c := range []struct {
			name, kind, help string
			value            int64
		}{
			{"shadedrill_requests_total", "counter", "requests answered", s.counts.requests.Load()},
			{"shadedrill_failures_total", "counter", "requests that failed here", s.counts.failures.Load()},
			{"shadedrill_refused_total", "counter", "wrong passphrases, codes and requests", s.counts.refused.Load()},
			{"shadedrill_sign_ins_total", "counter", "people who signed in", s.counts.signIns.Load()},
			{"shadedrill_answers_total", "counter", "answers that are in the book", s.counts.answers.Load()},
			{"shadedrill_panics_total", "counter", "defects met", s.counts.panics.Load()},
			{"shadedrill_sockets", "gauge", "pages that show a drill", s.counts.sockets.Load()},
			{"shadedrill_trainers", "gauge", "trainers that run, with or without a page", int64(s.drills.count())},
			{"shadedrill_goroutines", "gauge", "goroutines", int64(runtime.NumGoroutine())},
			{"shadedrill_heap_bytes", "gauge", "memory in use", int64(m.HeapInuse)},
		} {
			fmt.Fprintf(w, "# HELP %s %s\n# TYPE %[1]s %[3]s\n%[1]s %[4]d\n", c.name, c.help, c.kind, c.value)
		}
	})
}
