//go:build unix

package serve

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/scoring/record/sqlite"
	"shadedrill/trainer/display"
	"shadedrill/trainer/web/webtest"
)

// What a killed server runs as: this test once more.
const (
	childBook    = "SHADEDRILL_TEST_SERVED_BOOK"
	childAddress = "SHADEDRILL_TEST_SERVED_AT"
)

func TestServedChild(t *testing.T) {
	path := os.Getenv(childBook)
	if path == "" {
		t.Skip("the other half of TestKilledServersLoseNothing")
	}
	book := bookAt(t, path)
	l, err := net.Listen("tcp", os.Getenv(childAddress))
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(context.Background(), Options{Book: book, PublicURL: "http://" + l.Addr().String(), hashMemory: cheap})
	if err != nil {
		t.Fatal(err)
	}
	everybody, err := book.Learners(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	given, err := book.Assignments(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range everybody {
		s.drills.checks[p.ID] = scoring.DisplayCheck{At: time.Now(), Colours: display.Depth, Acceptable: true, Terminal: "browser, srgb, standard range, read-back exact, pixel ratio 1"}
		s.drills.next[p.ID] = given[0].Set().Ref.String()
	}
	fmt.Println("listening")
	t.Fatal(s.Run(context.Background(), l, nil))
}

// A server that is killed at any moment, while many answer, has lost no answer that a
// page was told of, and everybody comes back to their trial.
func TestKilledServersLoseNothing(t *testing.T) {
	if os.Getenv("SHADEDRILL_HEAVY") == "" {
		t.Skip("takes minutes, most of them waiting: SHADEDRILL_HEAVY=1")
	}
	t.Run("file", func(t *testing.T) { killedServersLoseNothing(t, filepath.Join(t.TempDir(), "school.db")) })
	t.Run("database", func(t *testing.T) {
		killedServersLoseNothing(t, postgrestest.New(t).Database(t))
	})
}

// bookAt is a book in a file or in a database.
func bookAt(t *testing.T, name string) record.Store {
	t.Helper()
	var book record.Store
	var err error
	if postgres.Named(name) {
		book, err = postgres.Open(t.Context(), name)
	} else {
		book, err = sqlite.Open(t.Context(), name)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { book.Close() })
	return book
}

func killedServersLoseNothing(t *testing.T, path string) {
	learners, wanted := 50, int64(1000)
	ctx := context.Background()
	book := bookAt(t, path)
	h := opened(t, book)
	ida := h.instructor("Ida Vale")
	var names []string
	for n := range learners {
		names = append(names, fmt.Sprintf("Learner %02d", n))
	}
	class := ida.class("Monday group", names...)
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", fmt.Sprint(mostTrials), "due", "2031-05-01")
	ida.ok(status, page)
	cookies := map[personID]string{}
	for _, name := range names {
		secret, who := newSecret(), h.person(name).ID
		cookies[who] = "shadedrill=" + secret.text
		if err := book.PutSignedIn(ctx, record.SignedIn{ID: secret.id, Hash: secret.hash, Learner: who, At: time.Now(), Seen: time.Now()}); err != nil {
			t.Fatal(err)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := l.Addr().String()
	l.Close()

	var acknowledged atomic.Int64
	var mu sync.Mutex
	told := map[personID]int{} // the highest trial whose feedback a page has seen
	var stop atomic.Bool
	var all sync.WaitGroup
	for who, cookie := range cookies {
		all.Go(func() {
			for !stop.Load() {
				c, err := webtest.Dial(ctx, "ws://"+address+"/socket", webtest.Options{W: 120, H: 36, Header: http.Header{"Origin": {"http://" + address}, "Cookie": {cookie}}})
				if err != nil {
					time.Sleep(100 * time.Millisecond)
					continue
				}
				for !stop.Load() {
					// Whatever stands there after a calm look, Enter goes on; an answered trial
					// is counted.
					time.Sleep(850 * time.Millisecond)
					shown := ""
					if c.Until(5*time.Second, func(p *webtest.Picture) bool { shown = p.Text(); return true }) != nil {
						break
					}
					var n int
					if i := strings.Index(shown, "trial "); i >= 0 && strings.Contains(shown, "answered") {
						if fmt.Sscanf(shown[i:], "trial %d of", &n); n > 0 {
							mu.Lock()
							if n > told[who] {
								told[who] = n
								acknowledged.Add(1)
							}
							mu.Unlock()
						}
					}
					if c.Press("enter") != nil || c.Closed(time.Millisecond) != nil && c.Until(0, func(*webtest.Picture) bool { return true }) != nil {
						break
					}
				}
				c.Cut()
			}
		})
	}
	kills := 0
	for end := time.Now().Add(20 * time.Minute); acknowledged.Load() < wanted && time.Now().Before(end); kills++ {
		child := exec.Command(os.Args[0], "-test.run", "^TestServedChild$", "-test.timeout", "20m")
		child.Env = append(os.Environ(), childBook+"="+path, childAddress+"="+address)
		out, err := child.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := child.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for lines.Scan() && lines.Text() != "listening" {
		}
		// So many answers later, however slow the machine is.
		for enough := acknowledged.Load() + 5 + rand.Int64N(30); acknowledged.Load() < enough && time.Now().Before(end); {
			time.Sleep(rand.N(20 * time.Millisecond))
		}
		child.Process.Kill()
		child.Wait()
	}
	stop.Store(true)
	all.Wait()
	if acknowledged.Load() < wanted {
		t.Errorf("only %d answers in the time there was", acknowledged.Load())
	}
	has := map[personID]int{}
	for a, err := range book.Attempts(ctx, record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		has[a.Learner] = max(has[a.Learner], a.Trial.Ordinal+1)
	}
	for who, n := range told {
		if has[who] < n {
			t.Errorf("a page was told of answer %d, the book ends with %d", n, has[who])
		}
	}
	// A sitting whose beginning was on its way when the server died may stand there without
	// an answer beside the one that its person came back to.
	answered := map[personID]map[scoring.SittingID]bool{}
	for a, err := range book.Attempts(ctx, record.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		if answered[a.Learner] == nil {
			answered[a.Learner] = map[scoring.SittingID]bool{}
		}
		if answered[a.Learner][a.Sitting] = true; len(answered[a.Learner]) == 2 {
			t.Errorf("%s did not come back to their trial: answers in two sittings", a.Learner)
		}
	}
	if err := book.Whole(ctx, record.Filter{}); err != nil {
		t.Error(err)
	}
	t.Logf("%d answers acknowledged, killed %d times", acknowledged.Load(), kills)
}
