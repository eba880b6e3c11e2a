package report

import (
	"fmt"
	"io"
	"strings"

	"shadedrill/colour/fault"
)

// Format names a writer.
type Format string

// The formats that a report can be written in.
const (
	FormatText Format = "text"
	FormatCSV  Format = "csv"
	FormatJSON Format = "json"
	FormatHTML Format = "html"
)

// Formats lists every format, the one for people first.
func Formats() []Format { return []Format{FormatText, FormatCSV, FormatJSON, FormatHTML} }

// Layout is what a writer may know about the paper.
type Layout struct {
	// Width is how many character cells a line of text may take, at least 40; 0 is
	// not known, and then it is 100.
	Width int
	// NoCommands is for readers who have no command line: what names commands is left out.
	NoCommands bool
	// Back, Choice and As are the ways from a page that a server shows: back to where its
	// reader came from, to the same report of more or fewer answers, and to the same in other
	// formats.
	Back, Choice Link
	As           []Link
}

// Link is a way to another page.
type Link struct{ Words, To string }

// Write writes a report.
func Write(w io.Writer, r Report, f Format, l Layout) error {
	r = r.told(!l.NoCommands)
	switch f {
	case FormatText:
		return writeText(w, r, l)
	case FormatCSV:
		return writeCSV(w, r)
	case FormatJSON:
		return writeJSON(w, r)
	case FormatHTML:
		return writeHTML(w, r, l)
	}
	return unknownFormat(string(f))
}

// ParseFormat reads a format's name.
func ParseFormat(name string) (Format, error) {
	for _, f := range Formats() {
		if string(f) == name {
			return f, nil
		}
	}
	return "", unknownFormat(name)
}

// unknownFormat is the error for a format that no writer bears.
func unknownFormat(name string) error {
	var names []string
	for _, f := range Formats() {
		names = append(names, string(f))
	}
	return fault.New(fmt.Sprintf("no report can be written as %q", name), "the formats are "+strings.Join(names, ", "))
}
