package scoring

import (
	"fmt"
	"math/rand/v2"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
)

// Gradable says whether a drill can be held against a pass mark: it lets a
// simulated person do some of it and looks at what comes out. A setup that no
// exercise takes is an error too.
func Gradable(setup exercises.Setup, rule PassRule) error {
	kind, err := exercises.ByID(setup.Kind)
	if err != nil {
		return err
	}
	if kind.Traits().AnswerDriven && rule == PassShare {
		return fmt.Errorf("%s makes its trials harder for whoever answers well, so that all get about the same share right", kind.Title())
	}
	run, err := exercises.NewRun(setup)
	if err != nil {
		return err
	}
	const enough = 12 // trials, more than any scene has
	rng := rand.New(rand.NewPCG(setup.Seed, 1))
	for range enough {
		trial, ok := run.Next()
		if !ok {
			break
		}
		answer := kind.Simulate(trial, setup, observer.Observer{Noise: 1, SeenAt: 1}, rng)
		m := MarkOf(Attempt{Trial: trial, Answer: answer}, setup.Sheet)
		_, right := m.Right()
		if rule == PassNone || rule == PassMedian && m.HasColour || rule == PassShare && right {
			return nil
		}
		run.Take(trial, answer)
	}
	if rule == PassMedian {
		return fmt.Errorf("answers to %s are no colours and have no ΔE00", kind.Title())
	}
	return fmt.Errorf("answers to %s are not right or wrong", kind.Title())
}
