package panels

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
)

func sixAlike(noise float64) []observer.Observer {
	var list []observer.Observer
	for range 6 {
		list = append(list, observer.Observer{Noise: noise})
	}
	return list
}

func divides(t testing.TB, r report.Report) (n, of int) {
	t.Helper()
	s := reporttest.Section(t, r, "items")
	for row := range s.Rows {
		if reporttest.Cell(t, s, row, "split") == report.Yes(true) {
			n++
		}
	}
	return n, len(s.Rows)
}

// Ordinary people of one mind: one team, and no shade divides them, though half of
// their pairs of answers lie beyond acceptability. Over six sessions a false word may
// come once.
func TestPeopleOfOneMindAreOneTeam(t *testing.T) {
	apart, named, beyond := 0, 0, 0.0
	for seed := range uint64(6) {
		book, asked := sitPanel(t, 20, 2, 100+seed, 0, sixAlike(1)...)
		r := panelOf(t, book, asked)
		if strings.HasPrefix(r.Lead[0], "Not one team") {
			apart++
		} else if !strings.HasPrefix(r.Lead[0], "One team: nobody") && !strings.HasPrefix(r.Lead[0], "Perhaps one team: nobody") {
			t.Errorf("seed %d: %s", seed, r.Lead[0])
		}
		n, _ := divides(t, r)
		named += n
		beyond = max(beyond, reporttest.Cell(t, reporttest.Section(t, r, "items"), 0, "beyond_acceptability").(report.Number).Value)
	}
	if apart > 1 || named > 3 { // of 120 items
		t.Errorf("%d of 6 teams are said to be none, %d of 120 shades to divide", apart, named)
	}
	if beyond < 0.5 {
		t.Errorf("the old rule, half of the pairs beyond acceptability, was never met: %.0f %%", 100*beyond)
	}
}

// Few items and much scatter: differences beyond perceptibility come about by chance,
// and are no verdict.
func TestChanceIsNoVerdictOnATeam(t *testing.T) {
	large, apart := 0, 0
	for seed := range uint64(8) {
		book, asked := sitPanel(t, 8, 2, 300+seed, 0, sixAlike(2.5)...)
		p, err := read(context.Background(), book, asked, View{})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range p.standing() {
			if s.by.Value > scoring.Perceptibility.Value || s.by.Value < -scoring.Perceptibility.Value {
				large++
				break
			}
		}
		if strings.HasPrefix(p.teamSentence(), "Not one team") {
			apart++
		}
	}
	if large < 4 || apart > 1 {
		t.Errorf("in %d of 8 sessions somebody is far off by chance, and %d of 8 teams are said to be none", large, apart)
	}
}

// Two of opposite biases: the sentence names who answers how against whom and what to
// correct, with the command; the shades are not to blame.
func TestOppositeBiasesAreNoTeam(t *testing.T) {
	book, asked := sitPanel(t, 20, 2, 5, 0, observer.Observer{Noise: 0.5, BiasL: 1.5}, observer.Observer{Noise: 0.5, BiasL: -1.5})
	r := panelOf(t, book, asked)
	if !strings.HasPrefix(r.Lead[0], "Not one team: Person 01 answers ") || !strings.Contains(r.Lead[0], "lighter than Person 02") {
		t.Error(r.Lead[0])
	}
	if !strings.Contains(r.Lead[1], "Person 01 value (too light by") || !strings.Contains(r.Lead[1], "Person 02 value (too dark by") {
		t.Error(r.Lead[1])
	}
	if !strings.HasPrefix(r.Lead[2], "No shade divides the team") {
		t.Error(r.Lead[2])
	}
	if got := reporttest.Cell(t, reporttest.Section(t, r, "next"), 0, "command"); got != report.Text(`shadedrill practise line-up --attribute value --learner "Person 01"`) {
		t.Errorf("advice comes with %q", got)
	}
}

// One against five: that one is named, nobody else.
func TestTheOneWhoStandsApartIsNamed(t *testing.T) {
	people := sixAlike(0.7)
	people[3].BiasH = 2
	book, asked := sitPanel(t, 24, 2, 8, 0, people...)
	r := panelOf(t, book, asked)
	if !strings.HasPrefix(r.Lead[0], "Not one team: Person 04 answers ") || !strings.HasSuffix(r.Lead[0], "yellower than the others.") || strings.Count(r.Lead[0], "answers") != 1 {
		t.Error(r.Lead[0])
	}
}

// A shade that half of the team takes for lighter and half for darker is named, and
// only that one.
func TestAShadeThatDividesIsNamed(t *testing.T) {
	p := &panel{hasColours: true}
	for j := range 6 {
		p.people = append(p.people, scoring.Learner{Name: fmt.Sprintf("P%d", j)})
	}
	for i := range 20 {
		target := colour.LCh{L: 60 + float64(i), C: 16, H: 86}.Lab()
		in := item{name: fmt.Sprintf("%03d", i), target: target}
		for j := range 6 {
			var answers []answer
			for k := range 2 {
				// Scatter of a known kind: ±0.5 along each axis, balanced over items and repeats.
				sign := func(n int) float64 { return float64(1-2*((i*7+j*3+k*n)%2)) / 2 }
				d := colour.Difference{L: sign(1), C: sign(3), H: sign(5)}
				if i == 7 {
					d.L += 2 * float64(1-2*(j%2))
				}
				answers = append(answers, answer{mark: scoring.Mark{HasColour: true, Difference: d}, lab: colour.Lab{L: target.L + d.L, A: target.A, B: target.B}})
			}
			in.answers = append(in.answers, answers)
		}
		p.items = append(p.items, in)
	}
	found, known := p.dividing()
	if !known || len(found) != 1 || !found["007"] {
		t.Errorf("found %v (%v)", found, known)
	}
	if said := p.shadesSentence(); !strings.HasPrefix(said, "Look together at L67 C16 h86: ") {
		t.Error(said)
	}
}

// Shown once nobody's own scatter is known, and no shade is accused.
func TestShownOnceNoShadeIsAccused(t *testing.T) {
	book, asked := sitPanel(t, 12, 1, 5, 0, sixAlike(1)...)
	r := panelOf(t, book, asked)
	if !strings.HasPrefix(r.Lead[2], "Each shade was shown once") {
		t.Error(r.Lead[2])
	}
	if n, _ := divides(t, r); n > 0 {
		t.Errorf("%d shades are accused", n)
	}
}

// Exercises whose answers are words: who judges worse than the others is named.
func TestVerdictOverJudgements(t *testing.T) {
	book, asked := sitPanelOf(t, reporttest.Sheet(t, "natural"), exercises.Lighting, 40, 2, 9, 0, observer.Observer{Noise: 0.2}, observer.Observer{Noise: 0.2}, observer.Observer{Noise: 0.2}, observer.Observer{Noise: 6})
	r := panelOf(t, book, asked)
	if !strings.HasPrefix(r.Lead[0], "Not one team: ") || !strings.Contains(r.Lead[0], "Person 04 has ") {
		t.Error(r.Lead[0])
	}
	if !strings.HasPrefix(r.Lead[1], "To practise with feedback: Person 04") {
		t.Error(r.Lead[1])
	}
}

// One alone is told so.
func TestOneAloneIsNoTeam(t *testing.T) {
	book, asked := sitPanel(t, 6, 2, 5, 0, observer.Observer{Noise: 1})
	r, err := Report(context.Background(), book, asked, View{})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(r.Lead[0], "One person alone is no team") {
		t.Error(r.Lead[0])
	}
}

// A second round in which everybody has lost most of their bias: the team moved
// together and towards the targets. Set beside itself nothing moved.
func TestASecondRound(t *testing.T) {
	ctx := context.Background()
	var first, second []observer.Observer
	for i := range 6 {
		b := 1.5 * float64(1-2*(i%2))
		first, second = append(first, observer.Observer{Noise: 0.6, BiasL: b, BiasC: -b}), append(second, observer.Observer{Noise: 0.6, BiasL: b / 4})
	}
	one, askedOne := sitPanel(t, 20, 2, 5, 0, first...)
	two, askedTwo := sitPanel(t, 20, 2, 6, 0, second...)
	earlier, err := read(ctx, one, askedOne, View{})
	if err != nil {
		t.Fatal(err)
	}
	earlier.asked.Name = "Spring team"
	later, err := read(ctx, two, askedTwo, View{})
	if err != nil {
		t.Fatal(err)
	}
	if _, said := later.roundSection(earlier); !strings.HasPrefix(said, "Against Spring team, 6 people in both: they moved together by ") || !strings.Contains(said, "; towards the targets by ") {
		t.Error(said)
	}
	if _, said := earlier.roundSection(later); !strings.Contains(said, "they moved apart by ") || !strings.Contains(said, "away from the targets") {
		t.Error(said)
	}
	r, err := Report(ctx, one, askedOne, View{Before: &askedOne})
	if err != nil {
		t.Fatal(err)
	}
	if said := r.Lead[3]; !strings.Contains(said, "no change of how far apart they are beyond chance") || !strings.Contains(said, "no change against the targets beyond chance") {
		t.Error(said)
	}
}
