package record

import (
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
)

// Link is one link of a sitting's chain: the first 16 bytes of SHA-256 over a
// label, the link before it, and what it adds in its canonical form (encode.go).
// Half of the hash is enough: what it finds are accidents and careless changes. Whoever
// holds a book can compute a chain anew, whatever its length.
type Link [16]byte

// The labels keep the three kinds of link apart.
const (
	labelStart  = "shadedrill sitting\x00"
	labelAnswer = "shadedrill answer\x00"
	labelEnd    = "shadedrill end\x00"
)

func link(label string, before []byte, content []byte) (l Link) {
	h := sha256.New()
	h.Write([]byte(label))
	h.Write(before)
	h.Write(content)
	var sum [sha256.Size]byte
	copy(l[:], h.Sum(sum[:0]))
	return l
}

// StartLink is the first link: all that a sitting is started with.
func StartLink(s scoring.Sitting) Link { return link(labelStart, nil, encodeSitting(s)) }

// Next is the link of an answer that follows.
func (l Link) Next(a scoring.Attempt) Link { return link(labelAnswer, l[:], encodeAttempt(a)) }

// EndLink closes a chain.
func (l Link) EndLink(ended time.Time, left bool) Link {
	content := binary.BigEndian.AppendUint64(nil, uint64(ended.UnixMilli()))
	if left {
		content = append(content, 1)
	}
	return link(labelEnd, l[:], content)
}

// Chain is what a book wrote down about a sitting as it grew.
type Chain struct {
	Sitting scoring.SittingID
	Start   Link
	Answers []Linked // by ordinal, as they are in the book now
	Count   int      // how many answers the book has taken
	Head    Link     // of the last answer, or Start
	End     Link     // means something only with Closed
	Closed  bool
	// Begun is when the chain was begun over a sitting that was there already, and
	// Why for what reason; zero where it grew with the sitting.
	Begun time.Time
	Why   string
	// Lost says that the sitting was saved out of a damaged book without all of its
	// answers.
	Lost bool
}

// Linked is an answer's link; the zero link is none.
type Linked struct {
	Ordinal int
	Link    Link
}

// The reasons for which a chain is begun over what is there already.
const (
	WhyOlderForm = "the book was brought to a form that has chains"
	WhySalvaged  = "saved out of a damaged book"
)

// ChainOf is the chain that a sitting with these answers has when nothing was
// changed. The answers are in the order of their ordinals.
func ChainOf(s scoring.Sitting, answers []scoring.Attempt) Chain {
	c := Chain{Sitting: s.ID, Start: StartLink(s), Count: len(answers)}
	c.Head = c.Start
	for _, a := range answers {
		c.Head = c.Head.Next(a)
		c.Answers = append(c.Answers, Linked{a.Trial.Ordinal, c.Head})
	}
	if !s.Ended.IsZero() {
		c.End, c.Closed = c.Head.EndLink(s.Ended, s.Left), true
	}
	return c
}

// VerifyChain holds a sitting and its answers against what the book wrote down as
// they came in, and names what does not agree: nothing when the chain holds. The
// sitting is whole, with its earlier outcomes.
func VerifyChain(s scoring.Sitting, answers []scoring.Attempt, c Chain) (broken []string) {
	say := func(format string, args ...any) { broken = append(broken, fmt.Sprintf(format, args...)) }
	if c.Lost {
		say("not all of its answers could be saved out of a damaged book")
	}
	if c.Start == (Link{}) {
		say("it has no chain")
		return broken
	}
	if StartLink(s) != c.Start {
		say("its setup, person, time or origin is not what it was begun with")
	}
	before := c.Start
	for i, a := range answers {
		n := a.Trial.Ordinal
		stored := Link{}
		if i < len(c.Answers) && c.Answers[i].Ordinal == n {
			stored = c.Answers[i].Link
		}
		switch {
		case stored == Link{}:
			say("answer %d was added without the program", n+1)
		case before.Next(a) != stored:
			say("answer %d is not as it was given, or one was taken out or put in before it", n+1)
		}
		before = stored
	}
	if n := c.Count - len(answers); n > 0 {
		say("%s missing", scoring.Count(n, "answer is", "answers are"))
	} else if n < 0 {
		say("%s more than were given", scoring.Count(-n, "answer", "answers"))
	} else if before != c.Head && len(broken) == 0 {
		say("the last answer is not the last that was given")
	}
	switch {
	case c.Closed != !s.Ended.IsZero():
		say("whether it has ended was changed")
	case c.Closed && c.Head.EndLink(s.Ended, s.Left) != c.End:
		say("its end was changed")
	}
	return broken
}

// Chained is what verifying chains reads of a book.
type Chained interface {
	Sittings(context.Context, Filter) ([]scoring.Sitting, error)
	Sitting(context.Context, scoring.SittingID) (scoring.Sitting, error)
	Attempts(context.Context, Filter) iter.Seq2[scoring.Attempt, error]
	Chains(context.Context, Filter) iter.Seq2[Chain, error]
	Asked
}

// Broken says of sittings what does not hold about their chains.
type Broken map[scoring.SittingID][]string

// Words names a sitting and what is wrong with it, in one line.
func (b Broken) Words(id scoring.SittingID) string {
	return fmt.Sprintf("sitting %s: %s", id, strings.Join(b[id], "; "))
}

// Err is nil when every chain holds, otherwise an error that names the first
// sitting that does not.
func (b Broken) Err() error {
	if len(b) == 0 {
		return nil
	}
	ids := make([]scoring.SittingID, 0, len(b))
	for id := range b {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	what := b.Words(ids[0])
	if n := len(ids) - 1; n > 0 {
		what += fmt.Sprintf(" (and %s)", scoring.Count(n, "further sitting", "further sittings"))
	}
	return fault.New("answers are not as they were given: "+what, `see "shadedrill book check"; "shadedrill book salvage" saves what still holds`)
}
