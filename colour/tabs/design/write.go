package design

import (
	"fmt"
	"io"

	"shadedrill/colour/tabs"
)

// WriteCSV writes a library in the form that tabs.ReadCSV reads. Six decimals
// bring back the very bytes.
func WriteCSV(w io.Writer, l *tabs.Library, comment string) error {
	if _, err := fmt.Fprintf(w, "# %s\nname,L,a,b,group\n", comment); err != nil {
		return err
	}
	for _, g := range l.Groups() {
		for _, t := range g.Tabs {
			if _, err := fmt.Fprintf(w, "%s,%.6f,%.6f,%.6f,%s\n", t.Name, t.Lab.L, t.Lab.A, t.Lab.B, g.Name); err != nil {
				return err
			}
		}
	}
	return nil
}
