package serve

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"shadedrill/scoring/record"
)

func TestSecrets(t *testing.T) {
	a, b := newSecret(), newSecret()
	id, random, ok := split(a.text)
	if !ok || id != a.id || !opens(random, a.hash) {
		t.Errorf("a secret does not open its own lock: %v", a)
	}
	if opens(random, b.hash) || opens(random, "") || opens("", a.hash) || opens(a.hash, a.hash) {
		t.Error("a secret opens another lock")
	}
	if strings.Contains(a.hash, random) || len(random) < 26 {
		t.Errorf("%q is kept as %q", random, a.hash)
	}
	for _, text := range []string{"", ".", "a.", ".b", "ab", strings.Repeat("a", 60) + "." + strings.Repeat("b", 60)} {
		if _, _, ok := split(text); ok {
			t.Errorf("%q is taken for a secret", text)
		}
	}
}

func TestPassphrases(t *testing.T) {
	ctx := context.Background()
	// The passphrases of a server that nobody asked for cheaper ones.
	s, err := New(ctx, Options{Book: record.NewMemory(), PublicURL: "http://127.0.0.1:8080"})
	if err != nil {
		t.Fatal(err)
	}
	p := s.pass
	hash, err := p.hash(ctx, "grey is not beige é")
	if err != nil {
		t.Fatal(err)
	}
	// The cost is the one that the comment of memoryKiB defends, and of a name that nobody has the same.
	for _, kept := range []string{hash, p.dummy} {
		if !strings.HasPrefix(kept, "$argon2id$v=19$m=19456,t=2,p=1$") {
			t.Errorf("a hash of another cost: %q", kept)
		}
	}
	again, _ := p.hash(ctx, "grey is not beige é")
	if hash == again || strings.Contains(hash, "beige") {
		t.Errorf("hashes %q and %q", hash, again)
	}
	for passphrase, want := range map[string]bool{"grey is not beige é": true, "grey is not beige e\u0301": true, "Grey is not beige é": false, "": false, strings.Repeat("x", 1000): false} {
		if got, err := p.matches(ctx, hash, passphrase); err != nil || got != want {
			t.Errorf("%q: %v, %v", passphrase, got, err)
		}
	}
	for _, broken := range []string{"x", "$argon2i$v=19$m=1,t=1,p=1$AAAA$AAAA", strings.Replace(hash, "t=2", "t=0", 1), strings.Replace(hash, "m=19456", "m=4194304", 1)} {
		if ok, err := p.matches(ctx, broken, "grey is not beige é"); ok || err == nil {
			t.Errorf("%q is taken for a hash", broken)
		}
	}
	// A name that nobody has takes as long as one that somebody has, and no passphrase
	// fits it.
	for _, passphrase := range []string{"", "grey is not beige é"} {
		if ok, err := p.matches(ctx, "", passphrase); ok || err != nil {
			t.Errorf("a name that nobody has: %v, %v", ok, err)
		}
	}
	if fits("too short") == nil || fits(strings.Repeat("x", 129)) == nil || fits("\xff\xff\xff\xff\xff\xff\xff\xff\xff\xff") == nil || fits("grey is not beige") != nil {
		t.Error("what fits")
	}
}

// No more than so many are computed at a time, and who gives up waiting is let go.
func TestPassphrasesTakeTurns(t *testing.T) {
	p, err := newPassphrases(memoryKiB)
	if err != nil {
		t.Fatal(err)
	}
	for range atOnce() {
		p.slots <- struct{}{}
	}
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Millisecond)
	defer cancel()
	if _, err := p.hash(ctx, "grey is not beige"); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("computed out of turn: %v", err)
	}
	for range atOnce() {
		<-p.slots
	}
	var all sync.WaitGroup
	for range 6 {
		all.Go(func() {
			if _, err := p.hash(context.Background(), "grey is not beige"); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
}
