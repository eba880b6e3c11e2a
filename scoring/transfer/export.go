package transfer

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"slices"

	"shadedrill/colour/tabs"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
)

// Format is how rows are written.
type Format string

const (
	CSV       Format = "csv"   // one header line, comma, UTF-8, RFC 4180
	JSONLines Format = "jsonl" // an object a line, the same names
	XAPI      Format = "xapi"  // learning records; written only
)

// Source is what an export reads of a book.
type Source interface {
	Learners(context.Context) ([]scoring.Learner, error)
	Sitting(context.Context, scoring.SittingID) (scoring.Sitting, error)
	Sheet(context.Context, string) (*tabs.Sheet, error)
	Attempts(context.Context, record.Filter) iter.Seq2[scoring.Attempt, error]
}

// Export writes the attempts that the filter lets through, oldest sitting first.
func Export(ctx context.Context, book Source, f record.Filter, to io.Writer, format Format) error {
	out := bufio.NewWriterSize(to, 1<<16)
	one := []record.Filter{f}
	var err error
	switch format {
	case CSV:
		err = exportCSV(ctx, book, one, out)
	case JSONLines:
		err = exportJSONLines(ctx, book, one, out)
	case XAPI:
		err = exportXAPI(ctx, book, one, out)
	default:
		err = fmt.Errorf("no export format %q; there are %s, %s and %s", format, CSV, JSONLines, XAPI)
	}
	if err != nil {
		return err
	}
	return out.Flush()
}

// rows yields the attempts that each filter lets through, one filter after the
// other, with what belongs to them.
func rows(ctx context.Context, book Source, filters []record.Filter) iter.Seq2[whole, error] {
	return func(yield func(whole, error) bool) {
		people, err := book.Learners(ctx)
		if err != nil {
			yield(whole{}, err)
			return
		}
		byID := map[scoring.LearnerID]scoring.Learner{}
		for _, p := range people {
			byID[p.ID] = p
		}
		sheets := map[string]*tabs.Sheet{}
		var sitting scoring.Sitting
		for a, err := range attempts(ctx, book, filters) {
			if err != nil {
				yield(whole{}, err)
				return
			}
			w := whole{attempt: a, name: byID[a.Learner].Name}
			if a.Sitting != sitting.ID {
				if sitting, err = book.Sitting(ctx, a.Sitting); err != nil {
					yield(whole{}, err)
					return
				}
				w.sitting = travelling(sitting, byID[a.Learner])
				if id := sitting.Setup.SheetID; id != "" && sheets[id] == nil {
					if sheets[id], err = book.Sheet(ctx, id); err != nil {
						yield(whole{}, err)
						return
					}
					w.sheet = sheets[id]
				}
			}
			w.within, w.free = sitting.Within, scoring.Free(sitting)
			w.mark = scoring.MarkOf(a, sheets[sitting.Setup.SheetID])
			if !yield(w, nil) {
				return
			}
		}
	}
}

func attempts(ctx context.Context, book Source, filters []record.Filter) iter.Seq2[scoring.Attempt, error] {
	return func(yield func(scoring.Attempt, error) bool) {
		for _, f := range filters {
			for a, err := range book.Attempts(ctx, f) {
				if !yield(a, err) {
					return
				}
			}
		}
	}
}

func travelling(s scoring.Sitting, l scoring.Learner) *sittingData {
	d := &sittingData{Learner: l.Name, Role: l.Role, Entered: l.At, Simulated: l.Simulated || s.Origin.Simulated,
		Started: s.Started, Ended: s.Ended, Left: s.Left, Within: s.Within, Setup: s.Setup, Display: s.Display, Book: s.Origin.Book}
	d.Number, d.Email, d.Pseudonym, d.BegunAs = l.Number, l.Email, l.Pseudonym, s.BegunAs
	if !l.RoleAt.Equal(l.At) {
		d.RoleAt = l.RoleAt
	}
	return d
}

func exportCSV(ctx context.Context, book Source, filters []record.Filter, to io.Writer) error {
	return writeRows(ctx, book, filters, csvRows(to, columns))
}

func exportJSONLines(ctx context.Context, book Source, filters []record.Filter, to *bufio.Writer) error {
	return writeRows(ctx, book, filters, jsonRows(to, columns))
}

func writeRows(ctx context.Context, book Source, filters []record.Filter, write func([]value) error) error {
	for row, err := range rows(ctx, book, filters) {
		if err != nil {
			return err
		}
		fields, err := row.fields()
		if err != nil {
			return err
		}
		if err := write(fields); err != nil {
			return err
		}
	}
	return write(nil)
}

// csvRows writes rows under names, the names before the first; nil ends them.
func csvRows(to io.Writer, names []string) func([]value) error {
	w := csv.NewWriter(to)
	line, begun := slices.Clone(names), false
	return func(fields []value) error {
		if !begun {
			begun = true
			if err := w.Write(names); err != nil {
				return err
			}
		}
		if fields == nil {
			w.Flush()
			return w.Error()
		}
		for i, v := range fields {
			line[i] = v.text
			if !v.number && !v.data {
				line[i] = report.Spreadsheet(v.text)
			}
		}
		return w.Write(line)
	}
}

// jsonRows writes rows as an object a line; nil ends them.
func jsonRows(to *bufio.Writer, names []string) func([]value) error {
	return func(fields []value) error {
		if fields == nil {
			return nil
		}
		for i, v := range fields {
			separator := ","
			if i == 0 {
				separator = "{"
			}
			fmt.Fprintf(to, "%s%q:", separator, names[i])
			switch {
			case v.text == "":
				to.WriteString("null")
			case v.number || v.data:
				to.WriteString(v.text)
			default:
				quoted, err := json.Marshal(v.text)
				if err != nil {
					return err
				}
				to.Write(quoted)
			}
		}
		_, err := to.WriteString("}\n")
		return err
	}
}
