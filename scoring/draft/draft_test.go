package draft

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// With a name or without: nothing is in its place before it is whole, nothing is
// replaced that should not be, and nobody else can read it.
func TestAFileIsThereWholeOrNotAtAll(t *testing.T) {
	for kind, begin := range map[string]func(string) (*File, error){"as the system can": New, "named": Named} {
		folder := t.TempDir()
		to := filepath.Join(folder, "report.csv")
		write := func(text string, replace bool) error {
			f, err := begin(to)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Discard()
			if _, err := f.WriteString(text); err != nil {
				t.Fatal(err)
			}
			return f.Put(replace)
		}
		is := func(want string) {
			t.Helper()
			if got, err := os.ReadFile(to); err != nil || string(got) != want {
				t.Errorf("%s: the file holds %q, %v; want %q", kind, got, err, want)
			}
		}
		f, err := begin(to)
		if err != nil {
			t.Fatal(err)
		}
		f.WriteString("half")
		if _, err := os.Stat(to); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: half a file is in its place", kind)
		}
		f.Discard()
		if err := write("first", false); err != nil {
			t.Fatal(err)
		}
		is("first")
		if err := write("second", false); !errors.Is(err, fs.ErrExist) {
			t.Errorf("%s: what is there is replaced unasked: %v", kind, err)
		}
		is("first")
		if err := write("third", true); err != nil {
			t.Error(kind, err)
		}
		is("third")
		if info, err := os.Stat(to); err != nil || info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: mode %v, %v", kind, info.Mode(), err)
		}
		if left, err := os.ReadDir(folder); err != nil || len(left) != 1 {
			t.Errorf("%s: left behind: %v", kind, left)
		}
	}
}
