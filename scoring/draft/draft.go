// Package draft writes files that tell of people: whole or not at all, and readable by
// their owner alone. Where the system can (Linux), what is being written has no name
// until it is whole, so that a program which is killed leaves nothing behind. Elsewhere
// its name says whose it is, and the next draft in that folder takes it away.
package draft

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// File is being written.
type File struct {
	*os.File
	to    string
	named string // the draft's own name; empty where it has none
}

// prefix begins the name of a draft; the number of its process follows.
const prefix = ".shadedrill-copy-"

// New begins a file that is to lie at a place.
func New(to string) (*File, error) {
	sweep(filepath.Dir(to))
	if f, err := nameless(filepath.Dir(to)); err == nil {
		return &File{File: f, to: to}, nil
	}
	return Named(to)
}

// Named begins a file that others can write to by its name meanwhile.
func Named(to string) (*File, error) {
	f, err := os.CreateTemp(filepath.Dir(to), fmt.Sprintf("%s%d-*", prefix, os.Getpid())) // mode 0600
	if err != nil {
		return nil, err
	}
	return &File{File: f, to: to, named: f.Name()}, nil
}

// Discard gives the file up; after Put it does nothing.
func (f *File) Discard() {
	f.Close()
	if f.named != "" {
		os.Remove(f.named)
	}
}

// Put gives the file its place, when it is on the disk. Without replace nothing that is
// there is touched, also not what came there meanwhile: fs.ErrExist.
func (f *File) Put(replace bool) error {
	defer f.Discard()
	if err := f.Sync(); err != nil {
		return err
	}
	if f.named == "" {
		err := name(f.File, f.to)
		if err == nil || !replace || !errors.Is(err, fs.ErrExist) {
			return err
		}
		// Only what has a name can take another's place.
		beside := filepath.Join(filepath.Dir(f.to), fmt.Sprintf("%s%d-%d", prefix, os.Getpid(), f.Fd()))
		os.Remove(beside)
		if err := name(f.File, beside); err != nil {
			return err
		}
		f.named = beside
	} else if !replace {
		err := os.Link(f.named, f.to) // unlike renaming, refuses what came there meanwhile
		if err == nil || errors.Is(err, fs.ErrExist) {
			return err
		}
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.named, f.to)
}

// sweep removes the drafts of programs that have ended.
func sweep(folder string) {
	left, _ := filepath.Glob(filepath.Join(folder, prefix+"*"))
	for _, path := range left {
		owner, _, _ := strings.Cut(strings.TrimPrefix(filepath.Base(path), prefix), "-")
		if pid, err := strconv.Atoi(owner); err == nil && !running(pid) {
			os.Remove(path)
		}
	}
}

// running reports whether a process is there. Where that cannot be asked it is.
func running(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return false
	}
	return !errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
}
