//go:build ignore

// Command generate computes the built-in libraries anew and writes them beside
// itself; run it with go generate in this folder.
package main

import (
	"bytes"
	"fmt"
	"os"

	"shadedrill/colour/tabs"
	"shadedrill/colour/tabs/design"
)

func main() {
	if err := run(); err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
}

func run() error {
	for _, made := range []struct {
		file    string
		compute func() (*tabs.Library, error)
	}{{"natural.csv", design.Natural}, {"starter.csv", design.Starter}} {
		l, err := made.compute()
		if err != nil {
			return err
		}
		var text bytes.Buffer
		if err := design.WriteCSV(&text, l, "computed by go generate; do not edit"); err != nil {
			return err
		}
		if err := os.WriteFile(made.file, text.Bytes(), 0o644); err != nil {
			return err
		}
		sheet := tabs.NewSheet(l, nil)
		tabsOnly, between := sheet.Coverage(tabs.Teeth.Grid(0.6))
		_, farthest := sheet.Farthest(tabs.Teeth, 0.002)
		fmt.Printf("%s: %d tabs in %d groups; tabs alone mean %.2f max %.2f; with in-betweens mean %.2f, 95 of 100 within %.2f, the farthest of all %.3f\n",
			made.file, l.Len(), len(l.Groups()), tabsOnly.Mean, tabsOnly.Max, between.Mean, between.P95, farthest)
	}
	return nil
}
