package tests

import (
	"context"
	"fmt"
	"slices"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/history"
)

// Book is what a report of proficiency tests reads of the book.
type Book interface {
	history.Book
	Learners(context.Context) ([]scoring.Learner, error)
}

// taken is one person's taking of a form: what of it counts, and what stands against it.
type taken struct {
	ref     scoring.SetRef
	history *history.History // what counts
	form    record.Form      // as the book keeps it
	kept    bool             // the book keeps it
	begun   int              // parts that were begun and have not ended: nothing is told of them
	waiting int              // parts that have ended, of which nothing is told before the others have
	// faults are sentences, each a reason to give no level.
	faults []string
}

// read reads a taking. Sittings that were changed, whose trials are not the form's, or
// that came after one that counts, are named and left out.
func read(ctx context.Context, book Book, who scoring.LearnerID, ref scoring.SetRef) (*taken, error) {
	t := &taken{ref: ref}
	f := record.Filter{Learner: who, Within: ref.String()}
	broken, err := record.VerifyChains(ctx, book, f)
	if err != nil {
		return nil, err
	}
	h, err := history.Read(ctx, book, f)
	if err != nil {
		return nil, err
	}
	sittings, err := book.Sittings(ctx, f)
	if err != nil {
		return nil, err
	}
	for _, s := range sittings {
		if s.Ended.IsZero() {
			t.begun++
		}
	}
	if ref.Print != "" {
		if t.form, t.kept, err = formOf(ctx, book, ref); err != nil {
			return nil, err
		}
		if t.kept {
			others(t.form.Set(), h, sittings, broken)
			if t.waiting, err = waiting(ctx, book, t.form.Set(), who); err != nil {
				return nil, err
			}
		} else {
			t.faults = append(t.faults, fmt.Sprintf("The form with the fingerprint %s is not in this book, so nothing shows that these were its items: import it with its class.", ref.Print))
		}
	}
	t.history = h.Holding(broken)
	t.faults = append(t.faults, history.UnheldWords(broken, "")...)
	return t, nil
}

// waiting counts the parts of a form that somebody has ended while others have not.
func waiting(ctx context.Context, book Book, set scoring.Set, who scoring.LearnerID) (n int, err error) {
	p, err := record.ProgressOf(ctx, book, set, who)
	if err != nil || p.Over() {
		return 0, err
	}
	for _, part := range p.Parts {
		if part.Over() {
			n++
		}
	}
	return n, nil
}

func formOf(ctx context.Context, book Book, ref scoring.SetRef) (record.Form, bool, error) {
	list, err := book.Forms(ctx)
	for _, f := range list {
		if f.Set().Ref == ref {
			return f, true, err
		}
	}
	return record.Form{}, false, err
}

// others adds the sittings that bear the form's name and do not count: those that
// asked something else, and those of a part that was taken already.
func others(set scoring.Set, h *history.History, sittings []scoring.Sitting, broken record.Broken) {
	given := map[scoring.SittingID]int{}
	for _, k := range h.Kinds {
		for _, s := range k.Sittings {
			given[s.ID] += s.Count()
		}
	}
	p := record.NewProgress(set)
	for _, s := range sittings {
		if given[s.ID] == 0 || len(broken[s.ID]) > 0 {
			continue
		}
		if _, asked := set.Part(s.Setup); !asked {
			broken[s.ID] = []string{"it asked something else than the form"}
			continue
		}
		p.Take(set, s, given[s.ID])
		if !slices.ContainsFunc(p.Parts, func(part record.Part) bool { return part.Sitting.ID == s.ID }) {
			broken[s.ID] = []string{"it is a second taking of its part, after one whose end had been seen"}
		}
	}
}

// cuts are the form's own levels, those of the house for an open form.
func (t *taken) cuts() scoring.Cuts {
	if t.kept {
		return t.form.Levels
	}
	return scoring.HouseCuts
}

// partsMissing counts the parts without an answer that counts.
func (t *taken) partsMissing() int {
	if t.kept {
		n := len(t.form.Parts)
		for _, k := range t.history.Kinds {
			n -= len(k.Sittings)
		}
		return max(0, n)
	}
	return t.history.PartsMissing()
}

// incomplete are the reasons for which the taking is no whole test.
func (t *taken) incomplete() []string {
	list := slices.Clone(t.faults)
	if t.begun > 0 {
		list = append(list, fmt.Sprintf("%s begun and %s not ended: nothing of it is told before its end.",
			scoring.Count(t.begun, "part was", "parts were"), scoring.Plural(t.begun, "has", "have")))
	}
	if t.waiting > 0 {
		list = append(list, fmt.Sprintf("%s ended: nothing of it is told before the others have.", scoring.Count(t.waiting, "part has", "parts have")))
	}
	if n := t.partsMissing() - t.begun - t.waiting; n > 0 {
		list = append(list, fmt.Sprintf("%s of the form %s not begun.", scoring.Count(n, "part", "parts"), scoring.Plural(n, "was", "were")))
	}
	if n := t.history.Missing(); n > 0 {
		list = append(list, fmt.Sprintf("Broken off: %d of the items that were begun %s no answer.", n, scoring.Plural(n, "has", "have")))
	}
	return list
}

// level is what the result is called; unknown for a taking that is no whole test. uncertain
// says what its items cannot tell apart.
func (t *taken) level() (share scoring.Estimate, level scoring.Level, uncertain string) {
	share, _, level, uncertain = Outcome(t.history, t.cuts())
	if len(t.incomplete()) > 0 {
		level = scoring.LevelUnknown
	}
	return share, level, uncertain
}

// shareCell is the cell of a share of right answers, in which its level can be seen.
func (t *taken) shareCell(share scoring.Estimate) report.Estimated {
	c := report.Percent(share)
	if share.Defined() {
		c.Decimals = t.cuts().Digits(share.Value)
	}
	return c
}

// Outcome is what the answers to a form come to: the share right, the median ΔE00, the
// level, and what so few items cannot tell apart.
func Outcome(h *history.History, cuts scoring.Cuts) (share, errors scoring.Estimate, level scoring.Level, uncertain string) {
	share = h.Right(h.Kinds)
	level, uncertain = cuts.Classify(share, history.Counted(h.Kinds))
	return share, errorsOf(measured(h)), level, uncertain
}

const openWords = "This is an open form: its items followed from its name, and could have been rehearsed."
