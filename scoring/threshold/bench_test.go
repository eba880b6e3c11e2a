package threshold

import (
	"math/rand/v2"
	"testing"

	"shadedrill/exercises/adaptive"
)

// answersOf are those of an observer with a threshold near 1 and 15 % false alarms.
func answersOf(n int, rng *rand.Rand) []Answer {
	var list []Answer
	for i := range n {
		x := 0.0
		if i%5 > 0 {
			x = 0.25 + 2*rng.Float64()
		}
		p := 0.15 + 0.83*min(1, x*x/2.2)
		list = append(list, Answer{Level: x, Yes: rng.Float64() < p})
	}
	return list
}

// BenchmarkMeasure is a direction of a sitting, without and with the bootstrap.
func BenchmarkMeasure(b *testing.B) {
	answers := answersOf(112, rand.New(rand.NewPCG(1, 1)))
	for name, o := range map[string]Options{
		"plain":     {Task: adaptive.YesNo, Brief: true, PlainOnly: true},
		"brief":     {Task: adaptive.YesNo, Brief: true},
		"full":      {Task: adaptive.YesNo},
		"bootstrap": {Task: adaptive.YesNo, Draws: 400, Chance: rand.New(rand.NewPCG(2, 2))},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Measure(answers, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
