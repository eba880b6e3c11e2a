package transfer

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"
	"time"

	"shadedrill/exercises"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/record/recordtest"
	"shadedrill/scoring/reports/tests"
)

// A form travels with its class, is taken elsewhere, and its answers come back under
// its fingerprint, without its seed; what was changed on the way has no level.
func TestAFormTravelsAndIsHeldAgainst(t *testing.T) {
	ctx := context.Background()
	school, home := record.NewMemory(), record.NewMemory()
	class := recordtest.Class(t, school, "Monday", recordtest.Person(t, school, "Ada Finch"))
	form := recordtest.Form(t, "spring", 1, 6, recordtest.Sheet(t), exercises.ValueFirst)
	form.Class = class.ID
	other := recordtest.Form(t, "autumn", 2, 6, recordtest.Sheet(t), exercises.ValueFirst)
	other.Class = recordtest.Class(t, school, "Tuesday").ID
	for _, f := range []record.Form{form, other} {
		if _, err := record.LayDown(ctx, school, f); err != nil {
			t.Fatal(err)
		}
	}
	file := exportClass(t, school, "Monday", false)
	if strings.Contains(file, "autumn") {
		t.Error("another class's form goes with this one")
	}
	seed := fmt.Sprint(form.Parts[0].Seed)
	if changed := strings.Replace(file, seed, fmt.Sprint(form.Parts[0].Seed+2), 1); changed == file {
		t.Error("the form does not travel")
	} else if _, err := Import(ctx, record.NewMemory(), strings.NewReader(changed), JSONLines, Rules{At: noon}); err == nil || !strings.Contains(err.Error(), "fingerprint") {
		t.Errorf("another seed is taken: %v", err)
	}
	// A form of the same name is there already; both stay, and it is told.
	if _, err := record.LayDown(ctx, home, recordtest.Form(t, "spring", 9, 4, recordtest.Sheet(t), exercises.ValueFirst)); err != nil {
		t.Fatal(err)
	}
	if done := take(t, home, file); done.Classes[0].NewForms != 1 || len(done.Classes[0].SameName) != 1 {
		t.Errorf("%+v", done.Classes[0])
	}
	if done := take(t, home, file); done.Classes[0].Changed() {
		t.Errorf("the second time changed %+v", done.Classes[0])
	}

	ada, err := home.LearnerByName(ctx, "Ada Finch")
	if err != nil {
		t.Fatal(err)
	}
	now := noon
	clock := func() time.Time { now = now.Add(time.Second); return now }
	set := form.Set()
	drill, err := record.Take(ctx, home, set, ada, scoring.DisplayCheck{}, clock)
	if err != nil {
		t.Fatal(err)
	}
	kind, _ := exercises.ByID(exercises.ValueFirst)
	rng := rand.New(rand.NewPCG(1, 1))
	setup := form.Parts[0]
	for trial, more := drill.Trial(); more; trial, more = drill.Trial() {
		if trial.Ordinal == 3 { // nothing comes out before the end
			var mid bytes.Buffer
			if err := Export(ctx, home, record.Filter{}, &mid, JSONLines); err != nil || strings.Contains(mid.String(), "target") {
				t.Errorf("in mid-test the export holds answers (%v)", err)
			}
			if whole := exportClass(t, home, "Monday", true); strings.Contains(whole, "trial_data") {
				t.Error("in mid-test the class's export holds answers")
			}
		}
		if _, _, err := drill.Answer(ctx, kind.Simulate(trial, setup, observer.Observer{}, rng)); err != nil {
			t.Fatal(err)
		}
	}
	if err := drill.End(ctx, false); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Take(ctx, home, set, ada, scoring.DisplayCheck{}, clock); err == nil {
		t.Error("a form is taken twice")
	}
	var answers bytes.Buffer
	if err := Export(ctx, home, record.Filter{}, &answers, JSONLines); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(answers.String(), seed) || !strings.Contains(answers.String(), form.Print()) {
		t.Error("the answers name the seed, or not the form")
	}
	lead := func(file string) string {
		book := record.NewMemory()
		for _, text := range []string{exportClass(t, school, "Monday", false), file} {
			take(t, book, text)
		}
		r, err := tests.Certificate(ctx, book, ada, set.Ref.String())
		if err != nil {
			t.Fatal(err)
		}
		return strings.Join(r.Lead, " ")
	}
	if words := lead(answers.String()); !strings.HasPrefix(words, "Superior: 100 % right.") {
		t.Errorf("an honest taking: %s", words)
	}
	// Six equal grey items under the form's name, right each time.
	// The file is as an earlier version wrote it, whose edits nothing in the file shows.
	edited := regexp.MustCompile(`"d(E00|L|C|H)":[^,]*,`).ReplaceAllString(earlier(answers.String()), "")
	grey := edited
	for _, line := range strings.Split(strings.TrimSpace(edited), "\n") {
		_, rest, _ := strings.Cut(line, `"target_hex":"`)
		grey = strings.ReplaceAll(grey, rest[:7], "#808080")
	}
	if words := lead(grey); !strings.Contains(words, "that the set does not ask") || !strings.Contains(words, "no level") {
		t.Errorf("grey items: %s", words)
	}
	// Another setup under the form's name.
	if words := lead(strings.ReplaceAll(edited, `"gap":0`, `"gap":3`)); !strings.Contains(words, "something else than the form") && !strings.Contains(words, "not in this book") {
		t.Errorf("another setup: %s", words)
	}
}
