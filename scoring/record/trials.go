package record

import (
	"bytes"
	"context"
	"fmt"

	"shadedrill/exercises"
	"shadedrill/scoring"
)

// uncompared says of a set's sitting why its trials cannot be asked again and held
// against its answers; empty where they can.
func uncompared(ctx context.Context, book Asked, s scoring.Sitting) (why string, err error) {
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
// cannot be known is let through, which reports say: see [Verifier.Uncompared]. So is one whose
// setup asks nothing, which is no set's.
func (v *Verifier) verifyTrials(ctx context.Context, book Asked, s scoring.Sitting, answers []scoring.Attempt) (broken []string, err error) {
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
	asked, known := v.asked(setup, answers)
	if !known {
		return nil, nil
	}
	others, first := 0, 0
	for i, a := range answers {
		if i >= len(asked) || !bytes.Equal(asked[i], encodeTrial(a.Trial)) {
			if others++; others == 1 {
				first = a.Trial.Ordinal + 1
			}
		}
	}
	if others > 0 {
		broken = append(broken, fmt.Sprintf("%s that the set does not ask (the first is number %d)",
			scoring.Count(others, "answer is to a question", "answers are to questions"), first))
	}
	return broken, nil
}

// asked are the trials of a setup in their canonical form; false where it asks nothing.
// Only where the next trial depends on the answers are they drawn with these; otherwise
// they are the same for everybody, and drawn once.
func (v *Verifier) asked(setup exercises.Setup, answers []scoring.Attempt) (trials [][]byte, known bool) {
	shared := !exercises.TraitsOf(setup.Kind).AnswerDriven && !setup.Adaptive
	key := ""
	if shared {
		key = string(encodeSetup(setup))
		v.mu.Lock()
		trials, known = v.trials[key]
		v.mu.Unlock()
		if known {
			return trials, true
		}
	}
	run, err := exercises.NewRun(setup)
	if err != nil {
		return nil, false
	}
	for i := range run.Planned() {
		t, more := run.Next()
		if !more || !shared && i >= len(answers) {
			break
		}
		trials = append(trials, encodeTrial(t))
		if shared {
			run.Take(t, exercises.Answer{})
		} else {
			run.Take(answers[i].Trial, answers[i].Answer)
		}
	}
	if shared {
		v.mu.Lock()
		defer v.mu.Unlock()
		if len(v.trials) < mostRemembered {
			v.trials[key] = trials
		}
	}
	return trials, true
}
