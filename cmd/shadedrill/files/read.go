package files

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/record"
)

// Open returns a file, or standard input for "-".
func Open(path string, stdin io.Reader) (io.ReadCloser, error) {
	if path == "-" {
		return &bounded{io.NopCloser(stdin), "standard input", mostRead}, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, told.Fail(`give the path of a file, or "-" for standard input`, "cannot read %q: %w", path, told.Reason(err))
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		f.Close()
		return nil, told.Fail(`give the path of a file, or "-" for standard input`, "cannot read %q: it is a folder", path)
	} else if err == nil && !info.Mode().IsRegular() {
		return &bounded{f, path, mostRead}, nil
	}
	return f, nil
}

// mostRead is how much is read of what has no length of its own, in bytes: seven times what a
// book of a million answers exports.
const mostRead = 4 << 30

// bounded ends what may never end by itself.
type bounded struct {
	io.ReadCloser
	name string
	left int64
}

func (b *bounded) Read(p []byte) (int, error) {
	if b.left <= 0 {
		return 0, told.Fail("give a file", "%s goes on for more than %d GiB", b.name, mostRead>>30)
	}
	n, err := b.ReadCloser.Read(p[:min(int64(len(p)), b.left)])
	b.left -= int64(n)
	return n, err
}

// In are the files that were named, and of a folder those in it that may be exports, by
// their endings. Links in a folder are not followed: they may go round in a circle.
func In(paths []string) ([]string, error) {
	var list []string
	for _, path := range paths {
		info, err := os.Stat(path)
		if path == "-" || err != nil || !info.IsDir() {
			list = append(list, path) // what cannot be read is said when it is its turn
			continue
		}
		before := len(list)
		err = filepath.WalkDir(path, func(file string, entry fs.DirEntry, err error) error {
			if err == nil && entry.Type().IsRegular() && !strings.HasPrefix(entry.Name(), ".") && (Ending(file) == "csv" || Ending(file) == "jsonl") {
				list = append(list, file)
			}
			return err
		})
		if err != nil {
			return nil, told.Fail("name the files themselves", "cannot read the folder %q: %w", path, told.Reason(err))
		}
		if len(list) == before {
			return nil, told.Fail("name the files themselves", "no file in the folder %q ends in .csv or .jsonl", path)
		}
	}
	return list, nil
}

// PageName is a file name of letters and digits that no other page of the folder has.
func PageName(name string, used map[string]bool) string {
	plain := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' {
			return r
		}
		return '_'
	}, name)
	for n := 1; ; n++ {
		name := plain
		if n > 1 {
			name = fmt.Sprintf("%s-%d", plain, n)
		}
		if key := record.NameKey(name); !used[key] {
			used[key] = true
			return name
		}
	}
}

// LooksLikeOne says of what was given in the place of a name that it is a file of text: it
// is there, and ends as one does.
func LooksLikeOne(name string) bool {
	switch Ending(name) {
	case "csv", "txt", "tsv", "jsonl":
		info, err := os.Stat(name)
		return err == nil && info.Mode().IsRegular()
	}
	return false
}
