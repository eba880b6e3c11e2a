package record

import (
	"context"
	"fmt"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// Uncompared says of a set's sitting why its trials cannot be asked again and held
// against its answers; empty where they can.
func Uncompared(ctx context.Context, book Asked, s scoring.Sitting) (why string, err error) {
	kind, err := exercises.ByID(s.Setup.Kind)
	if err != nil {
		return "this version does not know its exercise", nil
	}
	if kind.Version() != s.Setup.Version {
		return "the rules of its exercise have changed since", nil
	}
	if s.Set().Print != "" {
		if _, _, kept, err := FormOf(ctx, book, s); err != nil || !kept {
			return "its form is not in this book", err
		}
	}
	return "", nil
}

// verifyTrials asks the trials of a set's sitting again, from its setup and from what
// the set keeps, and names what was answered and never asked. A sitting of which that
// cannot be known is let through, which reports say: see [Uncompared]. So is one whose
// setup asks nothing, which is no set's.
func verifyTrials(ctx context.Context, book Asked, s scoring.Sitting, answers []scoring.Attempt) (broken []string, err error) {
	if s.Set().Kind == "" || len(answers) == 0 {
		return nil, nil
	}
	kind, err := exercises.ByID(s.Setup.Kind)
	if err != nil || kind.Version() != s.Setup.Version {
		return nil, nil
	}
	setup, err := SetupOf(ctx, book, s)
	if err != nil {
		return nil, err
	}
	run, err := exercises.NewRun(setup)
	if err != nil {
		return nil, nil
	}
	others, first := 0, 0
	for _, a := range answers {
		trial, more := run.Next()
		if !more || !sameTrial(trial, a.Trial) {
			if others++; others == 1 {
				first = a.Trial.Ordinal + 1
			}
		}
		run.Take(a.Trial, a.Answer)
	}
	if others > 0 {
		broken = append(broken, fmt.Sprintf("%s that the set does not ask (the first is number %d)",
			scoring.Count(others, "answer is to a question", "answers are to questions"), first))
	}
	return broken, nil
}
