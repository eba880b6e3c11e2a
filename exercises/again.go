package exercises

import "slices"

// MostAgain is how many trials of earlier drills a drill may ask once more.
const MostAgain = 40

// againRun asks trials of earlier drills once more, byte for byte, in the order given.
type againRun struct {
	trials []Trial
	given  int
}

func newAgainRun(kind Kind, s Setup) (Run, error) {
	switch {
	case kind.Traits().AnswerDriven || kind.Traits().ByHand:
		return nil, unusable("leave the list of trials out", "%s has no trials that could be asked once more", kind.Title())
	case s.Repeats > 0 || s.Adaptive:
		return nil, unusable("leave the list of trials out", "trials that are asked once more are neither shared nor chosen by earlier errors")
	case len(s.Again) > MostAgain:
		return nil, unusable("leave some out", "%d trials to be asked once more are more than %d", len(s.Again), MostAgain)
	}
	r := &againRun{}
	scene, last := -1, -1
	parts := map[string]bool{} // of the scene
	for i, t := range s.Again {
		if t.Kind != s.Kind || t.Version != kind.Version() {
			return nil, unusable("leave the list of trials out", "a trial to be asked once more is of another exercise or of older rules")
		}
		// Scenes are numbered anew: two drills both had a first one.
		if i == 0 || t.Scene != last || t.Part == "" || parts[t.Part] {
			scene++
			clear(parts)
		}
		last, parts[t.Part] = t.Scene, true
		t.Ordinal, t.Scene, t.Item, t.Chance = i, scene, "", 0
		t.Patches = slices.Clone(t.Patches)
		r.trials = append(r.trials, t)
	}
	return r, nil
}

func (r *againRun) Planned() int { return len(r.trials) }

func (r *againRun) Next() (Trial, bool) {
	if r.given >= len(r.trials) {
		return Trial{}, false
	}
	return r.trials[r.given], true
}

func (r *againRun) Take(Trial, Answer) { r.given++ }
