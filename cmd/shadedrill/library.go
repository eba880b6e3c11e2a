package main

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"shadedrill/colour/tabs"
)

// loadLibrary takes a built-in library's name or the path of a CSV file.
func loadLibrary(from string) (*tabs.Library, error) {
	if slices.Contains(tabs.Builtin(), from) {
		return tabs.Load(from)
	}
	f, err := os.Open(from)
	if err != nil {
		hint := "built in are " + strings.Join(tabs.Builtin(), " and ") + "; anything else is the path of a CSV file with the columns name,L,a,b and, if wanted, group"
		return nil, fail(hint, "cannot read the library %q: %w", from, reason(err))
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, fail("give the CSV file itself", "cannot read the library %q: it is a folder", from)
	}
	l, err := tabs.ReadCSV(f, strings.TrimSuffix(filepath.Base(from), filepath.Ext(from)))
	if err != nil {
		return nil, &within{from, err}
	}
	return l, nil
}

// within names the file that an error is about.
type within struct {
	file string
	err  error
}

func (w *within) Error() string { return w.file + ": " + w.err.Error() }
func (w *within) Unwrap() error { return w.err }

// reason strips what the caller says anyway from an error of the file system.
func reason(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}

// open returns a file, or standard input for "-".
func (a *app) open(path string) (io.ReadCloser, error) {
	if path == "-" {
		return &bounded{io.NopCloser(a.stdin), "standard input", mostRead}, nil
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fail(`give the path of a file, or "-" for standard input`, "cannot read %q: %w", path, reason(err))
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		f.Close()
		return nil, fail(`give the path of a file, or "-" for standard input`, "cannot read %q: it is a folder", path)
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
		return 0, fail("give a file", "%s goes on for more than %d GiB", b.name, mostRead>>30)
	}
	n, err := b.ReadCloser.Read(p[:min(int64(len(p)), b.left)])
	b.left -= int64(n)
	return n, err
}

func (a *app) completeLibrary(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return tabs.Builtin(), cobra.ShellCompDirectiveDefault
}
