package transfer_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/google/go-cmp/cmp"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/transfer"
)

func TestRosterIsRead(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		want []transfer.Entry
	}{
		"names":         {"name\nAda Finch\nBen Moor\n", []transfer.Entry{{Name: "Ada Finch"}, {Name: "Ben Moor"}}},
		"roles":         {"name,role\nAda Finch,instructor\nBen Moor,\nCy Vale, Lead \n", []transfer.Entry{{Name: "Ada Finch", Role: "instructor"}, {Name: "Ben Moor"}, {Name: "Cy Vale", Role: "lead"}}},
		"other columns": {"No,ROLE,Name\n1,lead,\"Finch, Ada\"\n", []transfer.Entry{{Name: "Ada Finch", Role: "lead"}}},
		"from Windows":  {"\ufeffname\r\nAda Finch\r\n\r\nBen Moor", []transfer.Entry{{Name: "Ada Finch"}, {Name: "Ben Moor"}}},
		"hostile names": {"name\n\x1b[31mAda\u202e Finch\x07\n'=1+1\n", []transfer.Entry{{Name: "Ada Finch"}, {Name: "=1+1"}}},
	} {
		r, err := transfer.ReadRoster(strings.NewReader(c.text), transfer.RosterColumns{})
		got := r.Entries
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if d := cmp.Diff(c.want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", name, d)
		}
	}
}

func TestEveryBadLineOfARosterIsNamed(t *testing.T) {
	_, err := transfer.ReadRoster(strings.NewReader("name,role\nAda Finch,queen\nBen Moor,lead\n---,lead\nCy \"Vale,lead\nben moor,\nDee\n\xff,lead\n"+
		strings.Repeat("x", 61)+",lead\n"+"Eve,lead,x\n"), transfer.RosterColumns{})
	var faults *fault.List
	if !errors.As(err, &faults) {
		t.Fatal(err)
	}
	want := []string{
		`line 2: unknown role "queen"`,
		`line 4: the name has no letters or digits`,
		`line 5: not a row of values parted by commas (bare " in non-quoted-field)`,
		`line 6: ben moor stands in line 3 already`,
		`line 9: the name is longer than 60 characters`,
		`line 10: 3 values where the header has 2 columns`,
	}
	if d := cmp.Diff(want, faults.Lines); d != "" {
		t.Error(d)
	}
	if faults.Outcome != "nobody was enrolled" {
		t.Errorf("outcome %q", faults.Outcome)
	}
}

func TestWhatIsNoRosterIsRefused(t *testing.T) {
	for text, says := range map[string]string{
		"":                                    "the roster is empty",
		"\n\n":                                "the roster is empty",
		"name,role\n":                         "the roster names nobody",
		"Ada Finch\nBen Moor\n":               "names no column of names",
		"name,Name\nAda,Ada\n":                "stands there twice",
		"\xff\xfen\x00a":                      "UTF-16",
		"na\x00me\n":                          "zero byte",
		"\"name\nAda\n":                       "line 1: not a row",
		"name\n" + strings.Repeat("x", 1<<17): "longer than 16 KiB",
	} {
		_, err := transfer.ReadRoster(strings.NewReader(text), transfer.RosterColumns{})
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%.20q: error %v, want %q", text, err, says)
		}
		var hinted interface{ Hint() string }
		if !errors.As(err, &hinted) || hinted.Hint() == "" {
			t.Errorf("%.20q: no hint", text)
		}
	}
}

func TestEnrolTakesWhoIsThereAndMakesWhoIsNot(t *testing.T) {
	ctx := context.Background()
	noon := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	book := record.NewMemory()
	ada, _ := book.AddLearner(ctx, scoring.Learner{Name: "Ada Finch", Role: scoring.RoleLead, At: noon})
	class, _ := book.AddClass(ctx, scoring.Class{Name: "Spring", At: noon})
	entries := []transfer.Entry{{Name: "ada FINCH"}, {Name: "Ben Moor", Role: scoring.RoleInstructor}}
	for i, want := range []transfer.Enrolled{{New: []string{"Ben Moor"}, Added: 2}, {There: 2}, {There: 2, Roles: []string{"Ada Finch"}}} {
		if i == 2 {
			entries[0].Role = scoring.RoleLearner
		}
		err := book.Merge(ctx, func(m record.Book) error {
			got, err := transfer.Enrol(ctx, m, class.ID, entries, noon)
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("time %d (-want +got):\n%s", i+1, d)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	list, _ := book.Roster(ctx, class.ID)
	if len(list) != 2 || list[0].ID != ada.ID || list[0].Role != scoring.RoleLearner || list[1].Role != scoring.RoleInstructor {
		t.Errorf("roster %+v", list)
	}
}

// FuzzReadRoster: whatever comes in, names that come out are fit for any
// screen, each stands there once, and a refusal has a hint.
func FuzzReadRoster(f *testing.F) {
	for _, text := range []string{"name\nAda\n", "name,role\nAda Finch,lead\n\"Moor, Ben\",\n", "\ufeffrole,name\r\n,x\r\n", "name\n\x1b[2J\u202e\n", "name\n'=A1\n", "name\n\"a\n"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := transfer.ReadRoster(strings.NewReader(text), transfer.RosterColumns{})
		entries := r.Entries
		if err != nil {
			var hinted interface{ Hint() string }
			if !errors.As(err, &hinted) || hinted.Hint() == "" || len(entries) > 0 {
				t.Errorf("%v: no hint, or entries with an error", err)
			}
			return
		}
		seen := map[string]string{}
		for _, e := range entries {
			if clean, err := record.CleanName(e.Name); err != nil || clean != e.Name {
				t.Errorf("name %q is not clean: %q, %v", e.Name, clean, err)
			}
			if other, twice := seen[record.NameKey(e.Name)]; strings.ContainsFunc(e.Name, unicode.IsControl) || twice && (other == "" || e.Number == "" || other == e.Number) {
				t.Errorf("name %q holds a control character or stands there twice", e.Name)
			}
			seen[record.NameKey(e.Name)] = e.Number
			if _, err := record.CheckRole(e.Role); err != nil {
				t.Error(err)
			}
		}
		if len(entries) == 0 {
			t.Error("neither entries nor an error")
		}
	})
}
