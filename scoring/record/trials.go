package record

import (
	"context"
	"fmt"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// verifyTrials asks the trials of a set's sitting again, from its setup and from what
// the set keeps, and names what was answered and never asked. A sitting of which that
// cannot be known is let through: one by rules of another version, one whose setup asks
// nothing, which is no set's, and a form's part whose form the book does not have,
// which a certificate says.
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
