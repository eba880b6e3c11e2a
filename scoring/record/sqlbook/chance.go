package sqlbook

import (
	"crypto/rand"
	"encoding/binary"
)

// random is a number of so many bits that nobody can guess.
func random(bits uint) int64 {
	var b [8]byte
	rand.Read(b[:]) // never fails
	return int64(binary.LittleEndian.Uint64(b[:]) >> (64 - bits))
}
