package main

import (
	"io"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// Of the copies of a book the last stay; nothing else in the folder is taken away.
func TestOnlyOldCopiesOfTheBookGo(t *testing.T) {
	folder := t.TempDir()
	names := []string{"school-20300101-000000.db", "school-20300102-000000.db", "school-20300103-000000.db", "school-20300104-000000.db",
		"school-20309999-000000.db", "school.db", "school-notes-20300101.db", "other-20300101-000000.db", "school-20300101-000000.db-wal", "school-20300101-000000.txt"}
	for _, name := range names {
		if err := os.WriteFile(filepath.Join(folder, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	a := &app{env: env{stderr: io.Discard}}
	a.dropOld(folder, backupPrefix("/somewhere/school.db"), 2)
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	var left []string
	for _, e := range entries {
		left = append(left, e.Name())
	}
	want := slices.Sorted(slices.Values(names[2:]))
	if !slices.Equal(left, want) {
		t.Errorf("left are %v, want %v", left, want)
	}
}
