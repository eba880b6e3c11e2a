package sqlite

import (
	"os"
	"path/filepath"
)

// makePrivate makes a new empty file that only its owner can read, whatever the
// umask; what SQLite makes beside it has the same rights.
func makePrivate(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	err = f.Chmod(0o600)
	if closing := f.Close(); err == nil {
		err = closing
	}
	return err
}

func inFolders(path string, folders []string) []string {
	var list []string
	for _, f := range folders {
		list = append(list, filepath.Join(f, filepath.Base(path)))
	}
	return list
}
