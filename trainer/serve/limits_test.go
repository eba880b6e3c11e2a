package serve

import (
	"fmt"
	"net/netip"
	"testing"
	"time"
)

// Whoever has a whole network of addresses of the sixth version has the tries of one;
// another network has its own, and so has each address of the fourth.
func TestANetworkHasTheTriesOfOneAddress(t *testing.T) {
	now := time.Date(2030, 3, 1, 12, 0, 0, 0, time.UTC)
	var l limits
	l.init(func() time.Time { return now })
	try := func(address string) bool { return l.address(netip.MustParseAddr(address)) }
	for n := range triesAtOnce {
		if !try(fmt.Sprintf("2001:db8::%x", n+1)) {
			t.Fatalf("try %d is refused", n+1)
		}
	}
	for address, want := range map[string]bool{"2001:db8::ffff": false, "2001:db8::1:2:3:4": false, "2001:db8:0:1::1": true, "203.0.113.1": true} {
		if got := try(address); got != want {
			t.Errorf("a further try from %s: %v", address, got)
		}
	}
	for range triesAtOnce - 1 {
		try("203.0.113.1")
	}
	if try("203.0.113.1") || !try("203.0.113.2") {
		t.Error("addresses of the fourth version share their tries")
	}
	now = now.Add(time.Second)
	for n := range triesASecond {
		if !try("2001:db8::1") {
			t.Errorf("a second later try %d is refused", n+1)
		}
	}
	if try("2001:db8::1") {
		t.Error("a second gives more tries than it should")
	}
}
