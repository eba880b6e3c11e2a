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
