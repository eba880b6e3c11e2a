package serve

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"runtime"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"

	"shadedrill/colour/fault"
)

// passphrases are kept as argon2id (RFC 9106) with 19 MiB, two passes and one lane,
// written in the usual form "$argon2id$v=19$m=19456,t=2,p=1$salt$hash", so that the
// figures can grow and old hashes still be read. The figures are the least that the
// OWASP Password Storage Cheat Sheet names for argon2id (from memory).
const (
	memoryKiB = 19 * 1024
	passes    = 2
	lanes     = 1
	saltSize  = 16
	hashSize  = 32
)

// A passphrase has this many characters. The upper end keeps somebody from making the
// server hash a book.
const (
	shortest = 10
	longest  = 128
)

// passphrases hashes and compares, few at a time: a class that signs in at once would
// otherwise take the memory and the processor from the drills.
type passphrases struct {
	slots  chan struct{}
	memory uint32 // KiB that a new hash takes
	dummy  string
}

// atOnce is how many hashes are computed at the same time: half of the processors, so
// that a key of a drill never waits until a hash is done.
func atOnce() int { return max(1, runtime.GOMAXPROCS(0)/2) }

// newPassphrases makes the one that a server has; a hash takes so many KiB.
func newPassphrases(memory uint32) (*passphrases, error) {
	p := &passphrases{slots: make(chan struct{}, atOnce()), memory: memory}
	var err error
	p.dummy, err = p.hash(context.Background(), rand.Text())
	return p, err
}

// fits says what is wrong with a passphrase that somebody has chosen; nil if nothing.
func fits(passphrase string) error {
	switch n := utf8.RuneCountInString(passphrase); {
	case !utf8.ValidString(passphrase):
		return fault.New("That is no text.", "type it again")
	case n < shortest:
		return fault.New(fmt.Sprintf("A passphrase has at least %d characters.", shortest), "three or four words that have nothing to do with you are good and easy to remember")
	case n > longest:
		return fault.New(fmt.Sprintf("A passphrase has at most %d characters.", longest), "choose a shorter one")
	}
	return nil
}

// hash is what is kept of a passphrase.
func (p *passphrases) hash(ctx context.Context, passphrase string) (string, error) {
	salt := make([]byte, saltSize)
	rand.Read(salt) // never fails
	sum, err := p.compute(ctx, passphrase, salt, p.memory, passes, lanes, hashSize)
	if err != nil {
		return "", err
	}
	b := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, p.memory, passes, lanes, b.EncodeToString(salt), b.EncodeToString(sum)), nil
}

// compute waits for its turn; ctx ends the wait.
func (p *passphrases) compute(ctx context.Context, passphrase string, salt []byte, memory, time uint32, threads uint8, size uint32) ([]byte, error) {
	select {
	case p.slots <- struct{}{}:
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
	defer func() { <-p.slots }()
	// The same letters can be typed in two forms; keyboards differ in which.
	return argon2.IDKey(norm.NFC.AppendString(nil, passphrase), salt, time, memory, threads, size), nil
}

var errHash = errors.New("a stored hash cannot be read")

// matches compares a passphrase with what is kept. For a name that does not exist
// hash is "": the answer is no, and takes as long.
func (p *passphrases) matches(ctx context.Context, hash, passphrase string) (bool, error) {
	known := hash != ""
	if !known {
		hash = p.dummy
	}
	if len(passphrase) > 4*longest {
		passphrase, known = "", false
	}
	var version int
	var memory, time uint32
	var threads uint8
	parts := strings.Split(hash, "$")
	if len(parts) != 6 || parts[1] != "argon2id" {
		return false, errHash
	}
	_, err1 := fmt.Sscanf(parts[2], "v=%d", &version)
	_, err2 := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &memory, &time, &threads)
	salt, err3 := base64.RawStdEncoding.DecodeString(parts[4])
	want, err4 := base64.RawStdEncoding.DecodeString(parts[5])
	if errors.Join(err1, err2, err3, err4) != nil || version != argon2.Version || time < 1 || time > 100 || threads < 1 || memory > 1<<20 || len(want) < 16 || len(want) > 64 {
		return false, errHash
	}
	got, err := p.compute(ctx, passphrase, salt, memory, time, threads, uint32(len(want)))
	if err != nil {
		return false, err
	}
	return subtle.ConstantTimeCompare(got, want) == 1 && known, nil
}
