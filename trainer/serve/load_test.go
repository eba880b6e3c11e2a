//go:build unix

package serve

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"runtime/pprof"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/postgres/postgrestest"
	"shadedrill/trainer/display"
	"shadedrill/trainer/web/webtest"
)

// mostLoad bounds the load generator: it is for this machine alone.
const mostLoad = 1000

// TestLoad drills with many learners at once, each a key a second, page and server in
// one process on this machine, and prints what it measured. A small load by default;
// SHADEDRILL_LOAD=500x60s go test -run Load -v -timeout 30m ./trainer/serve, and with
// SHADEDRILL_LOAD_ON=postgres SHADEDRILL_POSTGRES=1 on a database.
func TestLoad(t *testing.T) {
	learners, lasts := 6, 6*time.Second
	if spec := os.Getenv("SHADEDRILL_LOAD"); spec != "" {
		n, d, _ := strings.Cut(spec, "x")
		learners = number(n)
		var err error
		if lasts, err = time.ParseDuration(d); err != nil || learners < 1 || learners > mostLoad {
			t.Fatalf("SHADEDRILL_LOAD=%q: such as 500x60s, up to %d learners", spec, mostLoad)
		}
	}
	ctx := context.Background()
	book := loadBook(t)
	h := openedWith(t, Options{Book: book, hashMemory: memoryKiB})
	ida := h.instructor("Ida Vale")
	var names []string
	for n := range learners {
		names = append(names, fmt.Sprintf("Learner %04d", n))
	}
	class := ida.class("Monday group", names...)
	status, page := ida.post("/classes/"+class+"/assign", "kind", "value-first", "count", fmt.Sprint(mostTrials), "due", "2031-05-01")
	ida.ok(status, page)
	given, err := book.Assignments(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	hash, err := h.server.pass.hash(ctx, phrase)
	if err != nil {
		t.Fatal(err)
	}
	cookies := map[personID]string{}
	everybody, err := book.Roster(ctx, scoring.ClassID(class))
	if err != nil {
		t.Fatal(err)
	}
	everybody = slices.DeleteFunc(everybody, func(l scoring.Learner) bool { return l.Role != scoring.RoleLearner })
	err = book.Merge(ctx, func(m record.Book) error {
		for _, l := range everybody {
			secret := newSecret()
			cookies[l.ID] = "shadedrill=" + secret.text
			if err := m.PutAccount(ctx, record.Account{Learner: l.ID, Hash: hash, At: time.Now()}); err != nil {
				return err
			}
			if err := m.PutSignedIn(ctx, record.SignedIn{ID: secret.id, Hash: secret.hash, Learner: l.ID, At: time.Now(), Seen: time.Now()}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range everybody { // as after a display check
		h.server.drills.next[l.ID] = given[0].Set().Ref.String()
		h.server.drills.checks[l.ID] = scoring.DisplayCheck{At: time.Now(), Colours: display.Depth, Acceptable: true, Terminal: "browser, srgb, standard range, read-back exact, pixel ratio 1"}
	}
	runtime.GC()
	empty, goroutines := inUse(), runtime.NumGoroutine()

	var (
		mu                     sync.Mutex
		arrows, answers, burst []time.Duration
		acknowledged, pressed  atomic.Int64
		ready, ended           sync.WaitGroup
		go1                    = make(chan struct{})
		together               = make(chan struct{})
		stop                   atomic.Bool
	)
	keep := func(list *[]time.Duration, d time.Duration) {
		mu.Lock()
		*list = append(*list, d)
		mu.Unlock()
	}
	ready.Add(learners)
	for i, l := range everybody {
		ended.Go(func() {
			time.Sleep(time.Duration(i) * 10 * time.Millisecond) // a class comes in within seconds
			c, err := webtest.Dial(ctx, "ws"+strings.TrimPrefix(h.url, "http")+"/socket", webtest.Options{W: 120, H: 36,
				Header: http.Header{"Origin": {h.url}, "Cookie": {cookies[l.ID]}}})
			if err != nil {
				t.Error(err)
				ready.Done()
				return
			}
			defer c.Cut()
			see := func(text string) bool {
				if err := c.Until(2*time.Minute, func(p *webtest.Picture) bool { return p.Shows(text) }); err != nil {
					t.Errorf("waiting for %q: %v", text, err)
					return false
				}
				return true
			}
			// key presses a key and waits for the picture that it brings.
			key := func(name string) time.Duration {
				began, before := time.Now(), c.Number()
				pressed.Add(1)
				if err := c.Press(name); err != nil {
					t.Error(err)
				}
				if err := c.Until(2*time.Minute, func(p *webtest.Picture) bool { return p.Number > before }); err != nil {
					t.Error(err)
				}
				return time.Since(began)
			}
			if !see("begin") {
				ready.Done()
				return
			}
			ready.Done()
			<-go1
			time.Sleep(time.Second + rand.N(3*time.Second))
			key("enter")
			second := func() { time.Sleep(time.Second) }
			for turn := 0; !stop.Load() && turn < mostTrials-3; turn++ {
				if !see("Step 1 of 2") {
					return
				}
				second()
				keep(&arrows, key([]string{"left", "right"}[turn%2]))
				second()
				pressed.Add(2)
				c.Press("enter")
				if !see("Step 2 of 2") { // a picture that brings a second less of the look is not it
					return
				}
				second()
				began := time.Now()
				c.Press("enter")
				if !see("answered") {
					return
				}
				keep(&answers, time.Since(began))
				acknowledged.Add(1)
				second()
				key("enter")
			}
			// All answer in the same moment.
			if !see("Step 1 of 2") {
				return
			}
			second()
			key("enter")
			<-together
			began := time.Now()
			pressed.Add(1)
			c.Press("enter")
			if see("answered") {
				keep(&burst, time.Since(began))
				acknowledged.Add(1)
			}
		})
	}
	ready.Wait()
	runtime.GC()
	full, come := inUse(), runtime.NumGoroutine()
	// What a sign-in takes is known before: it is no key.
	const alone = 6
	before := processor()
	for n := range alone {
		h.signIn(t, everybody[n%len(everybody)])
	}
	signIn := (processor() - before) / alone
	profiled := profile(t)
	began, used := time.Now(), processor()
	close(go1)
	signIns := h.storm(t, everybody, lasts)
	time.Sleep(lasts - time.Since(began))
	took, spent, keys := time.Since(began), processor()-used, pressed.Load()
	at60 := runtime.NumGoroutine()
	runtime.GC()
	after := inUse()
	if after > full+full/4+20e6 {
		t.Errorf("the memory in use grew from %d to %d MB", full/1e6, after/1e6)
	}
	profiled()
	stop.Store(true)
	time.Sleep(12 * time.Second) // until all wait
	close(together)
	ended.Wait()

	inBook := 0
	for a, err := range book.Attempts(ctx, record.Filter{Within: given[0].Set().Ref.String(), Light: true}) {
		if err != nil || a.Trial.Kind == "" {
			t.Fatal(err)
		}
		inBook++
	}
	if int64(inBook) != acknowledged.Load() {
		t.Errorf("%d answers were acknowledged, %d are in the book", acknowledged.Load(), inBook)
	}
	if len(burst) != learners {
		t.Errorf("%d of %d answered in the same moment", len(burst), learners)
	}
	refused, inputs := 0, 0
	h.server.drills.each(func(d *drill) { s := d.screen.Stats(); refused, inputs = refused+s.Refused, inputs+s.Inputs })
	if refused != 0 {
		t.Errorf("%d keys were refused to people who wait for each picture", refused)
	}
	load, _ := os.ReadFile("/proc/loadavg")
	t.Logf("%d learners for %v, load of the machine %s", learners, took.Round(time.Second), strings.TrimSpace(string(load)))
	t.Logf("arrow to picture: %s", percentiles(arrows))
	t.Logf("Enter to feedback, the answer on the disk: %s", percentiles(answers))
	t.Logf("all in the same moment: %s", percentiles(burst))
	t.Logf("%d sign-ins beside: %s", len(signIns), percentiles(signIns))
	ofSignIns := signIn * time.Duration(len(signIns))
	t.Logf("processor time for 1,000 keys, both ends: %.2f s, without what the %d sign-ins took (%d keys; a sign-in alone %v, with them %.2f s)",
		(spent-ofSignIns).Seconds()*1000/float64(max(1, keys)), len(signIns), keys, signIn.Round(time.Millisecond), spent.Seconds()*1000/float64(max(1, keys)))
	t.Logf("memory a learner, both ends: %.2f MB when all have come in, %.2f at the end of the steady part; goroutines %d before, %d when all have come in, %d at the end",
		float64(full-empty)/float64(learners)/1e6, float64(after-empty)/float64(learners)/1e6, goroutines, come, at60)
	t.Logf("%d answers acknowledged, %d in the book; %d keys taken, %d refused", acknowledged.Load(), inBook, inputs, refused)
}

// loadBook is an empty book in a file, or with SHADEDRILL_LOAD_ON=postgres in a database
// of a server of its own, on the same cores, that waits for the disk as usual.
func loadBook(t *testing.T) record.Store {
	t.Helper()
	if os.Getenv("SHADEDRILL_LOAD_ON") == "postgres" {
		return bookAt(t, postgrestest.New(t, "shared_buffers=256MB").Database(t))
	}
	return bookAt(t, filepath.Join(t.TempDir(), "school.db"))
}

// storm lets people sign in beside the drills: sixty a minute, a few of them with wrong
// passphrases.
func (h *house) storm(t *testing.T, everybody []scoring.Learner, lasts time.Duration) (took []time.Duration) {
	t.Helper()
	for end := time.Now().Add(lasts - 2*time.Second); time.Now().Before(end); time.Sleep(time.Second) {
		began := time.Now()
		h.signIn(t, everybody[len(took)%len(everybody)])
		took = append(took, time.Since(began))
	}
	return took
}

func (h *house) signIn(t *testing.T, who scoring.Learner) {
	t.Helper()
	if status, _ := h.browser().post("/sign-in", "name", who.Name, "passphrase", phrase); status != http.StatusOK {
		t.Errorf("%s cannot sign in: %d", who.Name, status)
	}
}

// profile writes what the processor does in the steady part, where SHADEDRILL_PROFILE
// names a file.
func profile(t *testing.T) (done func()) {
	path := os.Getenv("SHADEDRILL_PROFILE")
	if path == "" {
		return func() {}
	}
	f, err := os.Create(path)
	if err == nil {
		err = pprof.StartCPUProfile(f)
	}
	if err != nil {
		t.Fatal(err)
	}
	return func() { pprof.StopCPUProfile(); f.Close() }
}

func inUse() int64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapInuse + m.StackInuse)
}

// processor is the time of all cores that this process has used.
func processor() time.Duration {
	var u syscall.Rusage
	syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func percentiles(list []time.Duration) string {
	if len(list) == 0 {
		return "none"
	}
	slices.Sort(list)
	at := func(p float64) time.Duration {
		return list[min(len(list)-1, int(p*float64(len(list))))].Round(10 * time.Microsecond)
	}
	return fmt.Sprintf("median %v, 99 %% %v, most %v, of %d", at(.5), at(.99), list[len(list)-1].Round(10*time.Microsecond), len(list))
}
