package scoring

import (
	"testing"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/exercises/observer"
)

// answered plays a scene of thirds with the given colours as answers and returns
// the checks of its last mark.
func answered(t *testing.T, truth, said [3]colour.Lab) map[string]Check {
	t.Helper()
	parts := []string{exercises.Cervical, exercises.Middle, exercises.Incisal}
	var patches []exercises.Patch
	for i, p := range parts {
		shown, _ := truth[i].SRGB()
		patches = append(patches, exercises.Patch{Role: p, Colour: shown})
	}
	var m Marking
	var mark Mark
	for i, p := range parts {
		given, _ := said[i].SRGB()
		mark = m.Mark(Attempt{Sitting: "one",
			Trial:  exercises.Trial{Kind: exercises.Thirds, Ordinal: i, Part: p, Target: patches[i].Colour, Patches: patches},
			Answer: exercises.Answer{Colour: &given}}, nil)
		if i < 2 && len(mark.Checks) > 0 {
			t.Errorf("%s is marked before the tooth is answered: %+v", p, mark.Checks)
		}
	}
	checks := map[string]Check{}
	for _, c := range mark.Checks {
		checks[c.Name] = c
	}
	return checks
}

func TestGradient(t *testing.T) {
	body := colour.Lab{L: 76, A: 1, B: 19}
	up := func(l, c float64) colour.Lab { return observer.Shift(body, l, c, 0) }
	usual := [3]colour.Lab{up(-2.5, 2.5), body, up(0, -2.5)}
	for _, x := range []struct {
		name          string
		truth, said   [3]colour.Lab
		value, chroma string // right, wrong, or not asked
	}{
		{"as it is", usual, usual, "right", "right"},
		{"a little less", usual, [3]colour.Lab{up(-1.2, 1.2), body, up(0, -1.2)}, "right", "right"},
		{"level", usual, [3]colour.Lab{body, body, body}, "wrong", "wrong"},
		{"upside down", usual, [3]colour.Lab{up(2, -2), body, up(0, 2)}, "wrong", "wrong"},
		{"value the other way", usual, [3]colour.Lab{up(2, 2), body, up(0, -2)}, "wrong", "right"},
		{"an even tooth", [3]colour.Lab{up(0.3, 0.2), body, up(-0.2, 0.1)}, usual, "", ""},
		{"level where little runs", [3]colour.Lab{up(-1.4, 0), body, body}, [3]colour.Lab{body, body, body}, "right", ""},
	} {
		checks := answered(t, x.truth, x.said)
		for name, want := range map[string]string{"gradient of value": x.value, "gradient of chroma": x.chroma} {
			c, asked := checks[name]
			got := ""
			if asked {
				got = map[bool]string{true: "right", false: "wrong"}[c.Right]
			}
			if got != want {
				t.Errorf("%s: %s is %q instead of %q: %s", x.name, name, got, want, c.Why)
			}
		}
	}
}

// Each third is marked as a shade, and a new scene begins afresh.
func TestThirdsAreMarkedByTheSheet(t *testing.T) {
	sheet := sheetOf(t, "natural")
	shown := sheet.Shown(30)
	trial := exercises.Trial{Kind: exercises.Thirds, Part: exercises.Incisal, Target: shown, Patches: []exercises.Patch{
		{Role: "cervical", Colour: shown}, {Role: "middle", Colour: shown}, {Role: "incisal", Colour: shown}}}
	var m Marking
	mark := m.Mark(Attempt{Trial: trial, Answer: exercises.TakeTab(sheet, 30, -1)}, sheet)
	if !mark.HasSheet || mark.Points() != 10 || mark.Difference.E != 0 || len(mark.Checks) != 0 {
		t.Errorf("%+v", mark)
	}
}
