package panels

import (
	"fmt"
	"strings"
	"testing"

	"shadedrill/exercises/observer"
	"shadedrill/scoring/report"
	"shadedrill/scoring/report/reporttest"
	"shadedrill/scoring/reports/history"
)

// Sentence, advice and table say the same of everybody's bias, from two shades upwards: who
// is told to correct one has it in the table, who has none to correct is called slight
// at most, and of too few shades none of the three says anything.
func TestBiasHasOneTruth(t *testing.T) {
	corrected, slight, untold := 0, 0, 0
	for _, shades := range []int{2, 3, 4, 6, 12} {
		for seed := range uint64(12) {
			book, asked := sitPanel(t, shades, 1+int(seed%2), 900+seed, 0, observer.Observer{Noise: 0.5, BiasC: -0.6}, observer.Observer{Noise: 0.3}, observer.Observer{Noise: 1.5})
			r := panelOf(t, book, asked)
			said, words, next := r.Lead[1], reporttest.Section(t, r, "bias"), reporttest.Section(t, r, "next")
			for row := range words.Rows {
				who := fmt.Sprintf("Person %02d", row+1)
				word := string(reporttest.Cell(t, words, row, "bias").(report.Text))
				advice := string(reporttest.Cell(t, next, row, "next").(report.Text))
				tell := fmt.Sprintf("%d shades, seed %d, %s: %q, %q, %q", shades, seed, who, said, word, advice)
				named := strings.HasPrefix(said, "To correct: ") && strings.Contains(strings.Split(said, "; of ")[0], who)
				strong := false
				for _, w := range strings.Split(word, ", ") {
					strong = strong || strings.HasPrefix(w, "too ") && w != history.UntoldBias
				}
				switch {
				case word == history.UntoldBias:
					untold++
					if named || advice != tooFewShades || strings.Contains(said, "nobody") {
						t.Error(tell)
					}
				case strong:
					corrected++
					if !named || !strings.HasPrefix(advice, "answers are ") {
						t.Error(tell)
					}
				default:
					if strings.HasPrefix(word, "slightly ") {
						slight++
					}
					if named || strings.HasPrefix(advice, "answers are ") {
						t.Error(tell)
					}
				}
			}
		}
	}
	if corrected < 10 || slight < 3 || untold < 30 {
		t.Errorf("%d to correct, %d slight, %d untold: not all were tried", corrected, slight, untold)
	}
}

// Four answers a person are too few to find nobody biased, and six wide ones say what they
// could have missed.
func TestNobodyIsFoundUnbiasedByTooFew(t *testing.T) {
	book, asked := sitPanel(t, 4, 1, 5, 0, observer.Observer{Noise: 1}, observer.Observer{Noise: 1})
	if said := panelOf(t, book, asked).Lead[1]; !strings.HasPrefix(said, "Who has a bias against the targets cannot be said yet") {
		t.Error(said)
	}
	missed := 0
	for seed := range uint64(8) {
		book, asked = sitPanel(t, 6, 1, 1+seed, 0, observer.Observer{Noise: 1.5}, observer.Observer{Noise: 1.5})
		said := panelOf(t, book, asked).Lead[1]
		if strings.Contains(said, "nobody has a bias") {
			t.Errorf("seed %d: six shades of scattered answers: %s", seed, said)
		}
		if strings.Contains(said, "could have been missed") {
			missed++
		}
	}
	if missed == 0 {
		t.Error("no session said what it could have missed")
	}
}
