package files

import (
	"path/filepath"
	"slices"
	"strings"

	"shadedrill/cmd/shadedrill/told"
	"shadedrill/scoring/report"
	"shadedrill/scoring/transfer"
)

// ReportFormat is the format that a report is written in: the one that was said, else the
// one of the file's ending, else text. What does not fit together is refused.
func (t Target) ReportFormat(said string) (report.Format, error) {
	name := string(report.FormatText)
	if said != "" {
		name = said
	}
	f, err := report.ParseFormat(name)
	if err != nil {
		return "", &told.Usage{Err: err}
	}
	ending := Ending(t.Path)
	byEnding, known := reportEndings[ending]
	hint := "the formats are text (.txt), csv (.csv), json (.json) and html (.html), which a browser prints or saves as PDF"
	switch {
	case said == "" && known:
		f = byEnding
	case said == "" && ending != "", foreign[ending]:
		return "", told.Misused(hint, "a report cannot be written as .%s", ending)
	case known && byEnding != f:
		return "", told.Misused("leave --format out, or give the file the ending of the format", "--format %s does not fit the ending .%s", f, ending)
	}
	return f, nil
}

// Ending is that of a file's name, in small letters and without its dot.
func Ending(path string) string { return strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".") }

var reportEndings = map[string]report.Format{"txt": report.FormatText, "text": report.FormatText, "csv": report.FormatCSV,
	"json": report.FormatJSON, "html": report.FormatHTML, "htm": report.FormatHTML}

// foreign are endings that would promise what no format of ours keeps, even where --format says
// which one is meant.
var foreign = map[string]bool{"pdf": true, "xlsx": true, "xls": true, "ods": true, "doc": true, "docx": true, "odt": true, "rtf": true,
	"db": true, "sqlite": true, "zip": true, "gz": true, "png": true, "jpg": true, "jpeg": true, "svg": true}

// FormatNames are they as a user writes them.
func FormatNames(formats []transfer.Format) []string {
	var names []string
	for _, f := range formats {
		names = append(names, string(f))
	}
	return names
}

// ReadFormat is the format asked for, or that of the file's ending.
func ReadFormat(name, file string, formats ...transfer.Format) (transfer.Format, error) {
	ending := Ending(file)
	for _, f := range formats {
		if string(f) == name || name == "" && string(f) == ending {
			return f, nil
		}
	}
	if name == "" {
		return formats[0], nil
	}
	return "", told.Misused("the formats are "+strings.Join(FormatNames(formats), ", "), "answers cannot be moved as %q", name)
}

// ExportFormat is the format of an export. The file and its ending are looked at before
// any work is done.
func (t Target) ExportFormat(name string, formats ...transfer.Format) (transfer.Format, error) {
	f, err := ReadFormat(name, t.Path, formats...)
	if err != nil || t.Path == "" {
		return f, err
	}
	if _, _, err := t.Place(); err != nil {
		return "", err
	}
	of := map[string][]transfer.Format{"csv": {transfer.CSV}, "jsonl": {transfer.JSONLines, transfer.XAPI}, "ndjson": {transfer.JSONLines, transfer.XAPI}, "json": {transfer.XAPI}}
	fits, known := of[Ending(t.Path)]
	switch {
	case known && !slices.Contains(fits, f):
		return "", told.Misused("leave --format out, or give the file the ending of the format: csv (.csv), jsonl (.jsonl), xapi (.json or .jsonl)", "--format %s does not fit the ending .%s", f, Ending(t.Path))
	case !known && (foreign[Ending(t.Path)] || name == "" && Ending(t.Path) != ""):
		return "", told.Misused("the formats are "+strings.Join(FormatNames(formats), ", ")+"; spreadsheets open csv", "answers cannot be written as .%s", Ending(t.Path))
	}
	return f, nil
}
