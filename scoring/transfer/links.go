package transfer

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
)

// The chain of a sitting travels with it: the first and the last link beside the sitting, and
// in each row the link of its answer. It is the chain that the sitting has in the book in
// which it was taken. How it came into the book from which it is exported is no part of it, so
// that it is the same from wherever it comes.

// chainData is what travels beside a sitting.
type chainData struct {
	Answers int    `json:"answers"` // of the sitting, whether or not they are in the file
	Start   string `json:"start"`
	Head    string `json:"head"`
	End     string `json:"end,omitempty"`
}

// travelChain is the chain of a sitting as it travels.
func travelChain(s scoring.Sitting, answers []scoring.Attempt) record.Chain {
	s.Origin = scoring.Origin{Road: scoring.RoadHere, Book: s.Origin.Book, Simulated: s.Origin.Simulated}
	return record.ChainOf(s, answers)
}

func chainOf(c record.Chain) *chainData {
	d := &chainData{Answers: c.Count, Start: linkText(c.Start), Head: linkText(c.Head)}
	if c.Closed {
		d.End = linkText(c.End)
	}
	return d
}

func linkText(l record.Link) string { return hex.EncodeToString(l[:]) }

// linked is what a row says of its answer's link. before is set in a row that does not follow
// the one that it followed when it was given, since those between were not asked for.
type linked struct {
	link   record.Link
	before *record.Link
}

func (l *linked) text() string {
	if l.before != nil {
		return linkText(*l.before) + ":" + linkText(l.link)
	}
	return linkText(l.link)
}

func parseLinked(text string) (*linked, error) {
	if text == "" {
		return nil, nil
	}
	l := &linked{}
	before, link, two := strings.Cut(text, ":")
	if !two {
		link = before
	} else {
		l.before = new(record.Link)
		if err := parseLink(before, l.before); err != nil {
			return nil, err
		}
	}
	return l, parseLink(link, &l.link)
}

func parseLink(text string, to *record.Link) error {
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != len(to) {
		return errors.New("link is no hash")
	}
	copy(to[:], b)
	return nil
}

// following is a sitting of the file whose chain is followed as its rows come.
type following struct {
	told    *chainData
	sitting scoring.Sitting // with its end
	next    record.Link
	last    int // ordinal
	given   int
	gap     bool // answers were left out on purpose, or are missing and that is allowed
	broken  bool // said already
}

// follow takes up the chain of a sitting. With an error it is not followed further.
func follow(s scoring.Sitting, told *chainData) (*following, error) {
	f := &following{told: told, sitting: s, last: -1}
	c := travelChain(s, nil)
	f.next = c.Start
	if linkText(c.Start) != told.Start {
		f.broken = true
		return f, errors.New("sitting_data is not as it was exported: setup, person, time or origin was changed")
	}
	return f, nil
}

// answer follows an answer. partial allows that some before it are missing.
func (f *following) answer(a scoring.Attempt, l *linked, partial bool) error {
	f.given++
	if f.broken {
		return nil // which was said
	}
	before, n := f.next, a.Trial.Ordinal
	if l == nil {
		return errors.New("it has no link: it was added to the file")
	}
	skipped := n > f.last+1
	f.last, f.next = n, l.link
	switch {
	case l.before != nil:
		f.gap = true
		before = *l.before
	case before.Next(a) != l.link && skipped && partial:
		f.gap = true // whether it is as it was given cannot be told
		return nil
	}
	if before.Next(a) == l.link {
		return nil
	}
	return fmt.Errorf("answer %d of its sitting is not as it was given, or one was taken out or put in before it", n+1)
}

// end says what is wrong with a sitting whose rows are over.
func (f *following) end() error {
	if f.broken || f.gap {
		return nil
	}
	say := func(format string, args ...any) error {
		return fmt.Errorf("sitting %s: %s", f.sitting.ID, fmt.Sprintf(format, args...))
	}
	switch n := f.told.Answers - f.given; {
	case n > 0:
		return say("%s missing", scoring.Count(n, "answer is", "answers are"))
	case n < 0:
		return say("%s more than were given", scoring.Count(-n, "answer", "answers"))
	case linkText(f.next) != f.told.Head:
		return say("its last answer is not the last that was given")
	}
	end := ""
	if !f.sitting.Ended.IsZero() {
		end = linkText(f.next.EndLink(f.sitting.Ended, f.sitting.Left))
	}
	if end != f.told.End {
		return say("its end was changed")
	}
	return nil
}

// whole reports whether the file holds all answers of the sitting.
func (f *following) whole() bool { return f.given >= f.told.Answers }
