package transfer

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"shadedrill/scoring/record"
)

// Target is what an import needs of a book: everything in one transaction.
type Target interface {
	Merge(context.Context, func(record.Book) error) error
}

// Imported says what an import did.
type Imported struct {
	Rows     int // read
	Added    int // attempts that were new
	Known    int // attempts that the book had already
	Learners int // people that were new
	Classes  []ImportedClass
	// Roles lists people whose role was changed, with what it is now; RolesKept
	// those for whom the file has another one that is not later.
	Roles, RolesKept []string
	// Named lists people of a class who are called otherwise in the file.
	Named []Named
	// Renamed lists people whose name belonged to somebody else in this book,
	// with the name they got.
	Renamed []string
}

// Named is one person under two names.
type Named struct{ Here, There string }

// mostFaults is how many bad lines are listed one by one.
const mostFaults = 20

// Faults is a file with bad lines. Nothing of it was taken in.
type Faults struct {
	Lines []string // "line 7: why", the first of them
	More  int      // how many further

	outcome, hint string // what did not happen, what would mend it; empty for an import
}

// Outcome says what did not happen.
func (f *Faults) Outcome() string { return cmp.Or(f.outcome, "nothing was imported") }

func (f *Faults) Error() string {
	n := len(f.Lines) + f.More
	lines := "lines"
	if n == 1 {
		lines = "line"
	}
	text := fmt.Sprintf("%d bad %s, %s:\n  %s", n, lines, f.Outcome(), strings.Join(f.Lines, "\n  "))
	if f.More > 0 {
		text += fmt.Sprintf("\n  and %d more", f.More)
	}
	return text
}

// Hint says what to do.
func (f *Faults) Hint() string {
	return cmp.Or(f.hint, "mend or remove these lines, or export the file again")
}

func (f *Faults) add(line int, err error) {
	if len(f.Lines) < mostFaults {
		f.Lines = append(f.Lines, fmt.Sprintf("line %d: %v", line, err))
	} else {
		f.More++
	}
}

// errFaulty rolls the transaction back; the faults are told instead of it.
var errFaulty = errors.New("the file has bad lines")

// Import merges the attempts and classes of a file into a book, in one transaction. The same
// file twice adds nothing. progress, if not nil, is called with the number of
// rows read so far.
func Import(ctx context.Context, book Target, from io.Reader, format Format, progress func(rows int)) (Imported, error) {
	if format != CSV && format != JSONLines {
		return Imported{}, &Problem{fmt.Sprintf("files of the format %q cannot be imported", format), "use csv or jsonl"}
	}
	var done Imported
	var faults Faults
	err := book.Merge(ctx, func(into record.Book) error {
		done, faults = Imported{}, Faults{} // a transaction may be tried again
		m := newMerging(into, &done)
		for p, err := range read(from, format) {
			if err != nil {
				return err
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			switch {
			case p.of != nil && p.bad == nil:
				p.bad = m.record(ctx, p.line, p.of)
			case p.of == nil:
				done.Rows++
				if p.bad == nil {
					p.bad = m.row(ctx, p.row)
				}
			}
			var broken *bookError
			if errors.As(p.bad, &broken) {
				return broken.err
			}
			if p.bad != nil {
				faults.add(p.line, p.bad)
				m.salvage(ctx, p)
			}
			if progress != nil {
				progress(done.Rows)
			}
		}
		if len(faults.Lines) == 0 {
			m.endClasses(&faults)
		}
		if len(faults.Lines) > 0 {
			return errFaulty
		}
		return m.end(ctx)
	})
	if errors.Is(err, errFaulty) {
		return Imported{}, &faults
	}
	if err != nil {
		return Imported{}, err
	}
	return done, nil
}
