package transfer

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"shadedrill/colour/fault"
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
	// Unclosed says that the file is of an earlier version, whose exports do not say
	// whether they are whole; Partial what is wrong with one that is not whole and was taken
	// all the same.
	Unclosed bool
	Partial  string
	Short    int // sittings of which not all answers are in the file: they stay open for the others
	// Own counts answers that were left out, to drills begun in this book and not
	// ended: these go on nowhere else.
	Own     int
	Sets    []UnknownSet
	Classes []ImportedClass
	// Roles lists people whose role was changed, with what it is now; RolesKept
	// those for whom the file has another one that is not later.
	Roles, RolesKept []string
	// RolesNot lists people for whom the file has a role that may do more than here,
	// and that was not taken.
	RolesNot []string
	// Erased counts people of the file who were erased here, and Left their answers,
	// which stay outside.
	Erased, Left int
	// NumbersNot lists people whose number is another one's here: theirs was left out.
	NumbersNot []string
	// Alike lists new people whose name looks like another one's.
	Alike []Named
	// Named lists people of a class who are called otherwise in the file.
	Named []Named
	// Renamed lists people whose name belonged to somebody else in this book,
	// with the name they got.
	Renamed []string
}

// Named is one person under two names, or two people whose names look alike.
type Named struct{ Here, There string }

// Rules say how a file is taken in.
type Rules struct {
	At time.Time // of the import, which sittings that come in keep as theirs
	// Roles takes a role from the file that may do more than the person may here.
	Roles bool
	// Partial takes what is there of a file that was cut off.
	Partial  bool
	Progress func(rows int) // if not nil, is told the number of rows read so far
}

// errFaulty rolls the transaction back; the faults are told instead of it.
var errFaulty = errors.New("the file has bad lines")

// mostBad is how many bad lines are read before the rest is not looked at any more: a stream
// of something else altogether need not end.
const mostBad = 10_000

// Import merges the attempts and classes of a file into a book, in one transaction. The same
// file twice adds nothing.
func Import(ctx context.Context, book Target, from io.Reader, format Format, rules Rules) (Imported, error) {
	if format != CSV && format != JSONLines {
		return Imported{}, fault.New(fmt.Sprintf("files of the format %q cannot be imported", format), "use csv or jsonl")
	}
	var done Imported
	var faults fault.List
	err := book.Merge(ctx, func(into record.Book) error {
		done, faults = Imported{}, fault.List{Outcome: "nothing was imported", Mend: "mend or remove these lines, or export the file again"} // a transaction may be tried again
		m := newMerging(into, &done, rules)
		w := &wholeness{rules: rules, done: &done, m: m}
		for p, err := range read(from, format) {
			if err != nil {
				return err
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			if w.line(&p) {
				continue
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
				faults.Add(fmt.Errorf("line %d: %w", p.line, p.bad))
				m.salvage(ctx, p)
				if faults.More > mostBad {
					return errFaulty
				}
			}
			if rules.Progress != nil {
				rules.Progress(done.Rows)
			}
		}
		w.end(&faults)
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
