package scoring

import (
	"iter"
	"slices"

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
	m.together(rules, &a, &mark)
	return mark
}

// All marks the next attempts, all of one exercise. Attempt and mark are to be read only,
// and the mark only until the next comes.
//
// Where a shade is taken, the targets of many are looked at before the first is marked:
// what a sheet remembers of them lies far apart in memory, and to wait for many places
// of it at once takes little longer than for one.
func (m *Marking) All(attempts []Attempt, sheet *tabs.Sheet) iter.Seq2[*Attempt, *Mark] {
	return func(yield func(*Attempt, *Mark) bool) {
		var sights [32]tabs.Sight
		var mark Mark
		for some := range slices.Chunk(attempts, len(sights)) {
			rules := RulesOf(some[0].Trial.Kind)
			shade := rules.Shade && sheet != nil
			if shade {
				for i := range some {
					sights[i] = sheet.See(some[i].Trial.Target)
				}
			}
			for i := range some {
				a := &some[i]
				if shade {
					mark = markShade(&a.Trial, &a.Answer, sheet, &sights[i])
				} else {
					mark = rules.Mark(a.Trial, a.Answer, sheet)
				}
				m.together(rules, a, &mark)
				if !yield(a, &mark) {
					return
				}
			}
		}
	}
}

// together adds to a mark what only several answers of its scene show.
func (m *Marking) together(rules *Rules, a *Attempt, mark *Mark) {
	if rules.Scene == nil {
		return
	}
	if n := len(m.scene); n > 0 {
		if last := &m.scene[n-1]; last.Sitting != a.Sitting || last.Trial.Kind != a.Trial.Kind || last.Trial.Scene != a.Trial.Scene {
			m.scene = m.scene[:0]
		}
	}
	m.scene = append(m.scene, *a)
	mark.Checks = append(mark.Checks, rules.Scene(m.scene)...)
}
