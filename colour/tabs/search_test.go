package tabs_test

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/colour/tabs"
	"shadedrill/colour/tabs/design"
)

func sheet(t testing.TB, name string) *tabs.Sheet {
	t.Helper()
	l, err := tabs.Load(name)
	if err != nil {
		t.Fatal(err)
	}
	return tabs.NewSheet(l, nil)
}

// brute is the search without any shortcut, the oracle of Nearest.
func brute(s *tabs.Sheet, target colour.Lab) (best int, least float64) {
	for i := range s.Len() {
		if e := colour.DeltaE00(target, s.Lab(i)); i == 0 || e < least {
			best, least = i, e
		}
	}
	return best, least
}

func checkNearest(t *testing.T, s *tabs.Sheet, target colour.Lab) {
	t.Helper()
	i, e := s.Nearest(target)
	// Of tabs equally near either may be named.
	if _, want := brute(s, target); e != want || colour.DeltaE00(target, s.Lab(i)) != want {
		t.Errorf("nearest to %+v is tab %d at %.12f, the whole search finds %.12f", target, i, e, want)
	}
}

func TestNearestIsExact(t *testing.T) {
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, 1))
	for _, name := range tabs.Builtin() {
		s := sheet(t, name)
		for range 3000 {
			checkNearest(t, s, tabs.Teeth.Sample(rng))
			checkNearest(t, s, colour.Lab{L: 100 * rng.Float64(), A: 200*rng.Float64() - 100, B: 200*rng.Float64() - 100})
		}
	}
}

func FuzzNearest(f *testing.F) {
	s := sheet(f, "natural")
	f.Add(75.0, 2.0, 20.0)
	f.Add(0.0, -80.0, -80.0)
	f.Fuzz(func(t *testing.T, l, a, b float64) {
		c := colour.Lab{L: l, A: a, B: b}
		if !c.Finite() || l < 0 || l > 100 || max(a, -a, b, -b) > 160 {
			return
		}
		checkNearest(t, s, c)
	})
}

// BenchmarkNearestRatio reports how many times faster Nearest is than looking at
// every tab, over the same targets in the same run.
func BenchmarkNearestRatio(b *testing.B) {
	s := sheet(b, "natural")
	rng := rand.New(rand.NewPCG(1, 2))
	targets := make([]colour.Lab, 2000)
	for i := range targets {
		targets[i] = tabs.Teeth.Sample(rng)
	}
	var whole, quick time.Duration
	searches := 0
	for b.Loop() {
		begin := time.Now()
		for _, c := range targets {
			brute(s, c)
		}
		between := time.Now()
		for _, c := range targets {
			s.Nearest(c)
		}
		whole, quick = whole+between.Sub(begin), quick+time.Since(between)
		searches += len(targets)
	}
	b.ReportMetric(whole.Seconds()/quick.Seconds(), "times-faster")
	b.ReportMetric(float64(quick.Nanoseconds())/float64(searches), "ns/search")
}

// What the natural library reaches: 110 tabs at most, and with in-between answers
// every tooth colour within 1.65 ΔE00, as a screen shows it.
func TestNaturalReachesToothColours(t *testing.T) {
	s := sheet(t, "natural")
	if s.Len() > 110 {
		t.Errorf("%d tabs", s.Len())
	}
	pitch := 0.6
	if os.Getenv("SHADEDRILL_HEAVY") != "" {
		pitch = 0.3
	}
	alone, between := s.Coverage(tabs.Teeth.Grid(pitch))
	t.Logf("%d colours: tabs alone mean %.2f max %.2f, with in-betweens mean %.2f max %.3f",
		between.N, alone.Mean, alone.Max, between.Mean, between.Max)
	worst, farthestOfAll := s.Farthest(tabs.Teeth, 0.002)
	if farthestOfAll+0.002 > 1.65 {
		t.Errorf("%v lies %.3f ΔE00 from its best answer", worst.LCh(), farthestOfAll)
	}
	if between.Max > farthestOfAll+0.002 {
		t.Errorf("a colour of the grid lies at %.3f, the farthest was said to be at %.3f", between.Max, farthestOfAll)
	}
	if alone.Mean > 1.5 {
		t.Errorf("mean coverage error %.2f", alone.Mean)
	}
	for i := range s.Len() {
		if !tabs.Teeth.Contains(s.Lab(i)) {
			t.Errorf("%s is no colour of teeth", s.Name(i))
		}
	}
	rng := rand.New(rand.NewPCG(5, 5))
	const drawn = 100_000
	farthest := 0.0
	for range drawn {
		farthest = max(farthest, s.Best(tabs.Teeth.Sample(rng)).E)
	}
	if farthest > farthestOfAll+0.002 {
		t.Errorf("of %d colours drawn the farthest lies at %.3f", drawn, farthest)
	}
	for _, g := range s.Groups() {
		if len(g.Tabs) > 12 {
			t.Errorf("group %s has %d tabs, more than one overlooks", g.Name, len(g.Tabs))
		}
		if len(g.Columns) > 5 {
			t.Errorf("group %s has %d columns, more than one overlooks", g.Name, len(g.Columns))
		}
	}
}

// The files are what the generator makes; a search of minutes.
func TestLibrariesAreReproducible(t *testing.T) {
	if os.Getenv("SHADEDRILL_HEAVY") == "" {
		t.Log("left out without SHADEDRILL_HEAVY=1: it takes minutes")
		return
	}
	for name, compute := range map[string]func() (*tabs.Library, error){"natural": design.Natural, "starter": design.Starter} {
		l, err := compute()
		if err != nil {
			t.Fatal(err)
		}
		var got bytes.Buffer
		if err := design.WriteCSV(&got, l, "computed by go generate; do not edit"); err != nil {
			t.Fatal(err)
		}
		want, err := os.ReadFile(name + ".csv")
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got.Bytes(), want) {
			t.Errorf("%s.csv is not what the generator makes", name)
		}
	}
}

func TestReadCSVNamesTheFault(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":           {"", ""},
		"no columns":      {"name;L\n", ""},
		"missing column":  {"name,L,a\nx,1,2\n", "b"},
		"no tabs":         {"name,L,a,b\n", ""},
		"not a number":    {"name,L,a,b\nx,seventy,2,20\n", "2"},
		"decimal comma":   {"name,L,a,b\nx,\"75,3\",2,20\n", "2"},
		"NaN":             {"name,L,a,b\nx,NaN,2,20\n", "2"},
		"out of range":    {"name,L,a,b\nx,175,2,20\n", "2"},
		"twice the name":  {"name,L,a,b\nx,75,2,20\nx,70,2,20\n", "x"},
		"control":         {"name,L,a,b\n\"x\x1b[31m\",75,2,20\n", "2"},
		"bidi override":   {"name,L,a,b\nx\u202ey,75,2,20\n", "2"},
		"too few columns": {"name,L,a,b\nx,75,2\n", "2"},
	} {
		_, err := tabs.ReadCSV(strings.NewReader(c.text), "own")
		var hinted interface{ Hint() string }
		if err == nil || !strings.Contains(err.Error(), c.want) || !errors.As(err, &hinted) || hinted.Hint() == "" {
			t.Errorf("%s: %v", name, err)
		} else if strings.ContainsAny(err.Error(), "\x1b\u202e\n") {
			t.Errorf("%s: the message itself would act on a terminal: %q", name, err)
		}
	}
}

func TestReadCSVTakesWhatProgramsSave(t *testing.T) {
	for name, text := range map[string]string{
		"plain":       "name,L,a,b\none,75,2,20\ntwo,70,1,18\n",
		"BOM, CRLF":   "\ufeffname,L,a,b\r\none,75,2,20\r\ntwo,70,1,18\r\n",
		"other order": "b,a,L,name\n20,2,75,one\n18,1,70,two\n",
		"groups":      "name,L,a,b,group\none,75,2,20,light\ntwo,70,1,18,dark\n",
	} {
		l, err := tabs.ReadCSV(strings.NewReader(text), "own")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if i, ok := l.IndexOf("one"); !ok || l.Tab(i).Lab != (colour.Lab{L: 75, A: 2, B: 20}) || l.Len() != 2 {
			t.Errorf("%s: %d tabs", name, l.Len())
		}
	}
}

func FuzzReadCSV(f *testing.F) {
	f.Add("name,L,a,b\none,75,2,20\ntwo,70,1,18\n")
	f.Add("\ufeff# note\r\nname,L,a,b,group\r\n\"a\nb\",1e300,NaN,-0,\r\n")
	f.Fuzz(func(t *testing.T, text string) {
		l, err := tabs.ReadCSV(strings.NewReader(text), "own")
		if err != nil {
			return
		}
		s := tabs.NewSheet(l, nil)
		if s.Len() == 0 || s.Len() != l.Len() {
			t.Errorf("%d tabs, %d shown", l.Len(), s.Len())
		}
		for i := range s.Len() {
			if c := l.Tab(i).Lab; !c.Finite() {
				t.Errorf("tab %d is %+v", i, c)
			}
		}
		s.Best(s.Lab(0))
	})
}
