package record

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"fmt"
	"net/mail"
	"strings"
	"time"

	"golang.org/x/text/unicode/norm"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
)

// Deed is something that was done to a person of the book; no name stands in it.
type Deed struct {
	At      time.Time
	What    DeedKind
	Learner scoring.LearnerID
	// Into is whom a person was joined with.
	Into              scoring.LearnerID
	Sittings, Answers int // that it was about
	// Wiped says that the book's file holds no trace any more of what was taken out,
	// see [Store.Wipe].
	Wiped bool
}

// DeedKind says what was done. The texts stand in books.
type DeedKind string

const (
	DeedRenamed       DeedKind = "renamed"
	DeedPseudonymised DeedKind = "pseudonymised"
	DeedJoined        DeedKind = "joined"
	DeedErased        DeedKind = "erased"
	// DeedNumbered is a name that reads like another one's and got a number behind it
	// when the book was brought to a form in which such names are one.
	DeedNumbered DeedKind = "numbered"
)

// Leaves reports whether the deed took something out of the book that must leave no
// trace in its file.
func (k DeedKind) Leaves() bool { return k == DeedErased || k == DeedPseudonymised }

// Clash reports whether two people cannot be in one book: they have one number, or
// one name and not two numbers that tell them apart.
func Clash(a, b scoring.Learner) bool {
	if a.Number != "" && b.Number != "" {
		return sameNumber(a.Number, b.Number)
	}
	return NameKey(a.Name) == NameKey(b.Name)
}

func sameNumber(a, b string) bool { return strings.EqualFold(a, b) }

// ClashError is the error for a person who cannot be in the book beside another.
func ClashError(l, other scoring.Learner) error {
	if l.Number != "" && sameNumber(l.Number, other.Number) {
		return fault.Wrap(fmt.Errorf("the number %s is that of %s: %w", l.Number, other.Name, ErrTaken), "numbers tell people apart: no two people have the same")
	}
	return nameTaken(l.Name)
}

// nameTaken is the error for a second person of one name.
func nameTaken(name string) error {
	return fault.Wrap(fmt.Errorf("the name %q is taken: %w", name, ErrTaken),
		"add something that tells the two people apart, or give each a number of their own (shadedrill people rename NAME --number NUMBER)")
}

// ambiguous is the error for a name that several people have.
func ambiguous(name string, people []scoring.Learner) error {
	var numbers []string
	for _, p := range people {
		numbers = append(numbers, p.Number)
	}
	return fault.Wrap(fmt.Errorf("%d people are called %q: %w", len(people), name, ErrAmbiguous),
		"say the number instead of the name: "+strings.Join(numbers, ", "))
}

// Pick finds whom a name means among those who have it and the one who has it as
// their number: a name that one person has is that person's, whatever number
// somebody else has.
func Pick(name string, named []scoring.Learner, numbered *scoring.Learner) (scoring.Learner, error) {
	switch {
	case len(named) == 1:
		return named[0], nil
	case len(named) > 1:
		return scoring.Learner{}, ambiguous(name, named)
	case numbered != nil:
		return *numbered, nil
	}
	return scoring.Learner{}, fmt.Errorf("learner %q: %w", name, ErrNotFound)
}

// longestNumber is how many characters a number may have; house choice.
const longestNumber = 32

// CheckNumber brings a person's own number into the form in which a book keeps it;
// none is empty.
func CheckNumber(number string) (string, error) {
	number = strings.TrimSpace(norm.NFKC.String(number))
	fits := func(r rune) bool {
		return r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || strings.ContainsRune("-./_", r)
	}
	if len(number) > longestNumber || strings.ContainsFunc(number, func(r rune) bool { return !fits(r) }) ||
		number != "" && !strings.ContainsFunc(number, func(r rune) bool { return fits(r) && !strings.ContainsRune("-./_", r) }) {
		return "", fault.New("the number is none that a person can have", fmt.Sprintf("a number has up to %d letters, digits, and - . / _ between them", longestNumber))
	}
	return number, nil
}

// longestAddress in bytes: RFC 5321, section 4.5.3.1.3, less the angle brackets.
const longestAddress = 254

// CheckEmail brings an address into the form in which a book keeps it; none is empty.
func CheckEmail(address string) (string, error) {
	if address = strings.TrimSpace(address); address == "" {
		return "", nil
	}
	const advice = "such as ada@example.org"
	if len(address) > longestAddress {
		return "", fault.New("the e-mail address is too long", advice)
	}
	if a, err := mail.ParseAddress(address); err != nil || a.Address != address || clean(address) != address {
		return "", fault.New("this is no e-mail address", advice)
	}
	return address, nil
}

// Erased is the error for a person who was erased.
func Erased(id scoring.LearnerID) error { return fmt.Errorf("learner %s: %w", id, ErrErased) }

// sameLearner is the error for a person who is to be joined with themselves.
func sameLearner(name string) error {
	return fault.New(fmt.Sprintf("%s and %s are one person already", name, name), "name two people of the book")
}

// Joined is what a person becomes with whom another is joined: what they have stays,
// what they lack comes from the other; of two roles the higher one.
func Joined(into, from scoring.Learner) (scoring.Learner, error) {
	switch {
	case into.ID == from.ID:
		return into, sameLearner(into.Name)
	case into.Simulated != from.Simulated:
		return into, fault.New("a simulated person and a real one are not one person", "name two people of a kind")
	}
	if from.Role.Above(into.Role) {
		into.Role = from.Role
	}
	if from.RoleAt.After(into.RoleAt) {
		into.RoleAt = from.RoleAt
	}
	if from.At.Before(into.At) {
		into.At = from.At
	}
	if into.Number == "" && !into.Pseudonym {
		into.Number = from.Number
	}
	if into.Email == "" && !into.Pseudonym {
		into.Email = from.Email
	}
	return into, nil
}

// Label is a name for something that is always the same and that nobody can guess
// back without the secret: HMAC-SHA256 (RFC 2104), 60 bits of it.
func Label(secret []byte, kind, id string) string {
	h := hmac.New(sha256.New, secret)
	h.Write([]byte(kind + "\x00" + id))
	const alphabet = "abcdefghjkmnpqrstvwxyz0123456789" // none that are taken for each other: no i, l, o, u
	return base32.NewEncoding(alphabet).WithPadding(base32.NoPadding).EncodeToString(h.Sum(nil))[:12]
}

// Changed is a person with the name, number and address of another value of theirs,
// in the form in which a book keeps them. What else they are stays.
func Changed(old, to scoring.Learner) (scoring.Learner, error) {
	l := old
	l.Name, l.Number, l.Email, l.Pseudonym = to.Name, to.Number, to.Email, to.Pseudonym
	return CheckLearner(l)
}

// ChangeKind is what a change of a person is written down as; empty for one that
// leaves the name.
func ChangeKind(old, to scoring.Learner) DeedKind {
	switch {
	case to.Pseudonym && !old.Pseudonym:
		return DeedPseudonymised
	case to.Name != old.Name:
		return DeedRenamed
	}
	return ""
}

// Numbered is a name with a number behind it, cut so that it is not too long.
func Numbered(name string, n int) string {
	suffix := fmt.Sprintf(" (%d)", n)
	short := []rune(name)
	return string(short[:min(len(short), LongestName-len(suffix))]) + suffix
}
