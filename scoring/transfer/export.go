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
	"strings"

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
	XAPI      Format = "xapi"  // learning records, see [ExportStatements]; written only
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
	sum := newTotals(out)
	var err error
	switch format {
	case CSV:
		err = exportCSV(ctx, book, one, sum)
	case JSONLines:
		err = exportJSONLines(ctx, book, one, sum)
	case XAPI:
		return ExportStatements(ctx, book, f, to, Statements{})
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
		for given, err := range bySitting(ctx, book, filters) {
			if err != nil {
				yield(whole{}, err)
				return
			}
			sitting, err := book.Sitting(ctx, given.asked[0].Sitting)
			if err != nil {
				yield(whole{}, err)
				return
			}
			first := whole{sitting: travelling(sitting, byID[sitting.Learner])}
			if id := sitting.Setup.SheetID; id != "" && sheets[id] == nil {
				if sheets[id], err = book.Sheet(ctx, id); err != nil {
					yield(whole{}, err)
					return
				}
				first.sheet = sheets[id]
			}
			chain := travelChain(sitting, given.all)
			first.sitting.Chain = chainOf(chain)
			place := 0 // in the whole sitting
			for i, a := range given.asked {
				w := whole{attempt: a, name: byID[a.Learner].Name, in: sitting}
				if i == 0 {
					w.sitting, w.sheet = first.sitting, first.sheet
				}
				w.link = &linked{}
				for passed := false; place < len(chain.Answers); place++ {
					if l := chain.Answers[place]; l.Ordinal == a.Trial.Ordinal {
						if passed {
							w.link.before = &chain.Answers[place-1].Link
						}
						w.link.link = l.Link
						place++
						break
					}
					passed = true
				}
				w.mark = scoring.MarkOf(a, sheets[sitting.Setup.SheetID])
				if !yield(w, nil) {
					return
				}
			}
		}
	}
}

// answered are the answers of one sitting: those that were asked for, and all.
type answered struct{ asked, all []scoring.Attempt }

// bySitting yields the attempts that each filter lets through, a sitting at a time.
func bySitting(ctx context.Context, book Source, filters []record.Filter) iter.Seq2[answered, error] {
	return func(yield func(answered, error) bool) {
		for _, f := range filters {
			var asked []scoring.Attempt
			send := func() bool {
				if len(asked) == 0 {
					return true
				}
				all := asked
				if narrows(f) {
					all = nil
					for a, err := range book.Attempts(ctx, record.Filter{Sitting: asked[0].Sitting}) {
						if err != nil {
							yield(answered{}, err)
							return false
						}
						all = append(all, a)
					}
				}
				ok := yield(answered{asked, all}, nil)
				asked = asked[:0]
				return ok
			}
			for a, err := range book.Attempts(ctx, f) {
				if err != nil {
					yield(answered{}, err)
					return
				}
				if len(asked) > 0 && asked[0].Sitting != a.Sitting && !send() {
					return
				}
				asked = append(asked, a)
			}
			if !send() {
				return
			}
		}
	}
}

// narrows reports whether a filter may take some answers of a sitting and not others.
func narrows(f record.Filter) bool { return f.Kind != "" || !f.From.IsZero() || !f.To.IsZero() }

func travelling(s scoring.Sitting, l scoring.Learner) *sittingData {
	d := &sittingData{Learner: l.Name, Role: l.Role, Entered: l.At, Simulated: l.Simulated || s.Origin.Simulated,
		Started: s.Started, Ended: s.Ended, Left: s.Left, Within: s.Within, Setup: s.Setup, Display: s.Display, Book: s.Origin.Book}
	d.Number, d.Email, d.Pseudonym, d.BegunAs = l.Number, l.Email, l.Pseudonym, s.BegunAs
	if !l.RoleAt.Equal(l.At) {
		d.RoleAt = l.RoleAt
	}
	return d
}

func exportCSV(ctx context.Context, book Source, filters []record.Filter, to *totals) error {
	if err := writeRows(ctx, book, filters, csvRows(to, columns), to); err != nil {
		return err
	}
	return to.end(CSV)
}

func exportJSONLines(ctx context.Context, book Source, filters []record.Filter, to *totals) error {
	lines := bufio.NewWriterSize(to, 1<<16)
	if err := writeRows(ctx, book, filters, jsonRows(lines, columns), to); err != nil {
		return err
	}
	if err := lines.Flush(); err != nil {
		return err
	}
	return to.end(JSONLines)
}

func writeRows(ctx context.Context, book Source, filters []record.Filter, write func([]value) error, count *totals) error {
	for _, f := range filters {
		count.narrowed = count.narrowed || narrows(f)
	}
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
		count.answers++
		if row.sitting != nil {
			count.sittings++
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
			switch {
			case v.number:
				line[i] = v.text
			case v.data: // a semicolon may part cells; in JSON it stands within strings alone
				line[i] = strings.ReplaceAll(v.text, ";", `\u003b`)
			default:
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
