package scoring

import (
	"shadedrill/colour/tabs"
)

// SceneMarker adds what can be marked only from several answers of one scene. It
// gets the scene's attempts so far, the newest last, and is asked after each.
type SceneMarker func(scene []Attempt) []Check

// Marking marks the attempts of one sitting in their order. Unlike [MarkOf] it
// knows the earlier answers of a scene, so that the mark of its last one can tell
// how they go together. The zero value is ready.
type Marking struct{ scene []Attempt }

// Mark marks the next attempt.
func (m *Marking) Mark(a Attempt, sheet *tabs.Sheet) Mark {
	rules := RulesOf(a.Trial.Kind)
	mark := rules.Mark(a.Trial, a.Answer, sheet)
	if rules.Scene == nil {
		return mark
	}
	if n := len(m.scene); n > 0 {
		if last := m.scene[n-1]; last.Sitting != a.Sitting || last.Trial.Kind != a.Trial.Kind || last.Trial.Scene != a.Trial.Scene {
			m.scene = m.scene[:0]
		}
	}
	m.scene = append(m.scene, a)
	mark.Checks = append(mark.Checks, rules.Scene(m.scene)...)
	return mark
}
