package serve

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"strings"
)

// A secret is what a cookie or a link carries: an identifier, by which the book finds
// its row, and a random part, of which the book keeps the SHA-256 alone. So who reads
// the book cannot sign in, and the comparison, in constant time, does not depend on
// how a database looks things up.
type secret struct {
	id   string
	text string // id.random, for the person
	hash string // for the book
}

func newSecret() secret {
	id, random := rand.Text(), rand.Text() // 128 bits and more each
	return secret{id: id, text: id + "." + random, hash: hashOf(random)}
}

func hashOf(random string) string {
	sum := sha256.Sum256([]byte(random))
	return hex.EncodeToString(sum[:])
}

// split takes a secret apart; ok is false for what newSecret did not make.
func split(text string) (id, random string, ok bool) {
	if len(text) > 100 {
		return "", "", false
	}
	id, random, ok = strings.Cut(text, ".")
	return id, random, ok && id != "" && random != ""
}

// opens compares the random part of a secret with the hash that is kept.
func opens(random, hash string) bool {
	return hash != "" && subtle.ConstantTimeCompare([]byte(hashOf(random)), []byte(hash)) == 1
}
