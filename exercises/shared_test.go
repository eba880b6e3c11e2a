package exercises

import (
	"math/rand/v2"
	"slices"
	"testing"
)

func TestRoundsKeepAnItemApartFromItself(t *testing.T) {
	for n := 1; n <= 24; n++ {
		for seed := range uint64(200) {
			order := roundsOf(n, 3, rand.New(rand.NewPCG(seed, 1)))
			count := map[int]int{}
			for _, item := range order {
				count[item]++
			}
			if len(count) != n || len(order) != 3*n {
				t.Fatalf("n %d seed %d: %v does not hold every item three times", n, seed, order)
			}
			if n < 3 {
				continue
			}
			// Where two rounds meet, the first few are none of the last few.
			apart := min(3, (n-1)/2)
			for at := n; at < len(order); at += n {
				for _, item := range order[at : at+apart] {
					if slices.Contains(order[at-apart:at], item) {
						t.Fatalf("n %d seed %d: item %d stands on both sides of a seam in %v", n, seed, item, order)
					}
				}
			}
			for i := 1; i < len(order); i++ {
				if order[i] == order[i-1] {
					t.Fatalf("n %d seed %d: item %d follows itself in %v", n, seed, order[i], order)
				}
			}
		}
	}
}

func TestRoundsDifferBetweenPeople(t *testing.T) {
	one := roundsOf(12, 2, rand.New(rand.NewPCG(1, 9)))
	other := roundsOf(12, 2, rand.New(rand.NewPCG(2, 9)))
	if slices.Equal(one, other) {
		t.Error("two order seeds gave one order")
	}
}

// A session that was broken off goes on in the order in which it began, under every
// later program: these are the orders that books hold sittings of.
func TestOrdersStayAsTheyAre(t *testing.T) {
	for _, c := range []struct {
		orderSeed, seed uint64
		want            []string
	}{
		{8, 3, []string{"003", "006", "002", "001", "005", "004", "006", "002", "003", "001", "004", "005"}},
		{3, 8, []string{"004", "005", "001", "006", "003", "002", "001", "005", "004", "006", "002", "003"}},
	} {
		run, err := NewRun(Setup{Kind: TryIn, Count: 6, Seed: c.seed, OrderSeed: c.orderSeed, Repeats: 2})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for trial, ok := run.Next(); ok; trial, ok = run.Next() {
			run.Take(trial, Answer{})
			got = append(got, trial.Item)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("order seed %d, seed %d: %q, want %q", c.orderSeed, c.seed, got, c.want)
		}
	}
}
