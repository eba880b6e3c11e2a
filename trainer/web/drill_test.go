package web_test

import (
	"fmt"
	"testing"
	"time"

	"shadedrill/colour"
	"shadedrill/trainer/web"
	"shadedrill/trainer/web/webtest"
)

// patches are the grounds beside the captions of the field.
func patches(p *webtest.Picture) (left, right colour.SRGB) {
	x, y, _ := p.Find("  target")
	left = p.Cells[y*p.W+x+len("  target")+2].Ground
	x, y, _ = p.Find("  candidate")
	return left, p.Cells[y*p.W+x-1].Ground
}

// A whole drill over a socket: what stood on the page is what is in the book.
func TestDrillOverASocket(t *testing.T) {
	const trials = 50
	s := serve(t, drilling(trials), web.Options{})
	c := s.dial(webtest.Options{W: 120, H: 36})
	until(t, c, "50 trials", "begin")
	s.press(c, "enter")
	var targets, answers []colour.SRGB
	steps, bytesOfSteps, most := 0, 0, 0
	for n := 1; n <= trials; n++ {
		var left, right colour.SRGB
		look := func(step string) {
			t.Helper()
			err := c.Until(late, func(p *webtest.Picture) bool {
				if !p.Shows(fmt.Sprintf("trial %d of %d Step %s of 2", n, trials, step)) {
					return false
				}
				left, right = patches(p)
				return true
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		look("1")
		target := left
		_, before, _ := c.Traffic()
		was := right
		s.press(c, []string{"left", "right"}[n%2])
		if err := c.Until(late, func(p *webtest.Picture) bool { _, r := patches(p); return r != was }); err != nil {
			t.Fatal(err)
		}
		_, after, _ := c.Traffic()
		steps, bytesOfSteps = steps+1, bytesOfSteps+after-before
		most = max(most, after-before)
		s.press(c, "enter")
		look("2")
		if left != target {
			t.Fatalf("trial %d: the target was %v and is %v", n, target, left)
		}
		targets, answers = append(targets, target), append(answers, right)
		s.press(c, "enter")
		until(t, c, fmt.Sprintf("trial %d of %d, answered", n, trials))
		s.press(c, "enter")
	}
	until(t, c, "summary")
	got := attempts(t, s.book)
	if len(got) != trials {
		t.Fatalf("%d answers in the book, want %d", len(got), trials)
	}
	for i, a := range got {
		if a.Trial.Target != targets[i] || *a.Answer.Colour != answers[i] {
			t.Errorf("trial %d: the page showed %v and %v, the book has %v and %v", i+1, targets[i], answers[i], a.Trial.Target, *a.Answer.Colour)
		}
	}
	if mean := bytesOfSteps / steps; mean > 1300 || most > 2000 {
		t.Errorf("a step along the strip: %d bytes in the mean, %d at most", mean, most)
	} else {
		t.Logf("a step along the strip: %d bytes in the mean, %d at most, of %d", mean, most, steps)
	}
	if s := s.screen.Stats(); s.Refused != 0 {
		t.Errorf("refused %d keys of a person who waits for each picture", s.Refused)
	}
}

// What the pings took is taken off the time of an answer, up to a bound.
func TestTheWayIsTakenOff(t *testing.T) {
	for way, off := range map[time.Duration]time.Duration{300 * time.Millisecond: 300 * time.Millisecond, 1500 * time.Millisecond: time.Second} {
		s := serve(t, drilling(4), web.Options{})
		c := s.dial(webtest.Options{Way: way})
		until(t, c, "begin")
		for s.screen.Times().Pings == 0 {
			time.Sleep(time.Millisecond)
		}
		s.ahead.Add(int64(time.Second))
		began := s.now()
		c.Press("enter")
		until(t, c, "Step 1 of 2")
		s.ahead.Add(int64(5 * time.Second))
		s.press(c, "enter")
		until(t, c, "Step 2 of 2")
		s.ahead.Add(int64(5 * time.Second))
		s.press(c, "enter")
		until(t, c, "answered")
		total := attempts(t, s.book)[0].Answer.Total
		if most := s.now().Sub(began) - off; total > most || total < 10*time.Second-time.Second {
			t.Errorf("a way of %v: the answer took %v, which is not within 9 s and %v", way, total, most)
		}
	}
}

// Keys typed at once on one page all arrive, in their order.
func TestNoKeyIsLost(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	s.press(c, "enter")
	until(t, c, "Step 1 of 2")
	for range 300 {
		s.press(c, "left", "right")
	}
	s.press(c, "?")
	until(t, c, "Help")
	if got := s.screen.Stats(); got.Inputs != 602 || got.Refused != 0 {
		t.Errorf("%d of 602 keys arrived, %d were refused", got.Inputs, got.Refused)
	}
}

// Enter, pressed again before the next picture was there, answers nothing.
func TestAKeyForThePictureBeforeAnswersNothing(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	s.press(c, "enter")
	until(t, c, "Step 1 of 2")
	s.ahead.Add(int64(2 * time.Second)) // the picture can have been seen
	on := c.Number()
	for range 8 {
		if err := c.Send(webtest.KeyOn(on, "enter")); err != nil {
			t.Fatal(err)
		}
	}
	until(t, c, "Step 2 of 2")
	if err := c.Until(late, func(p *webtest.Picture) bool { return p.Refused == 7 }); err != nil {
		t.Error(err)
	}
	time.Sleep(20 * time.Millisecond)
	if n := len(attempts(t, s.book)); n != 0 {
		t.Errorf("%d answers to pictures that nobody had seen", n)
	}
}

// The page goes and comes back: the same trial stands there, whole, and what was
// pressed for the old page answers nothing.
func TestComingBack(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	s.press(c, "enter")
	until(t, c, "Step 1 of 2")
	s.press(c, "enter")
	until(t, c, "Step 2 of 2")
	var before, after [2]colour.SRGB
	c.Until(late, func(p *webtest.Picture) bool { before[0], before[1] = patches(p); return true })
	on := c.Number()
	c.Cut()
	for s.screen.Watched() {
		time.Sleep(time.Millisecond)
	}
	c = s.dial(webtest.Options{W: 80, H: 24})
	err := c.Until(late, func(p *webtest.Picture) bool {
		if !p.Shows("trial 1 of 4") || !p.Shows("Step 2 of 2") {
			return false
		}
		after[0], after[1] = patches(p)
		return p.Whole
	})
	if err != nil {
		t.Fatal(err)
	}
	if before != after {
		t.Errorf("before %v, after %v", before, after)
	}
	if err := c.Send(webtest.KeyOn(on, "enter")); err != nil {
		t.Fatal(err)
	}
	if err := c.Until(late, func(p *webtest.Picture) bool { return p.Refused == 1 }); err != nil {
		t.Error(err)
	}
	if n := len(attempts(t, s.book)); n != 0 {
		t.Errorf("a key for the old page gave %d answers", n)
	}
	s.press(c, "enter")
	until(t, c, "trial 1 of 4, answered")
}

// The keys of the foot are named one by one, so that each can be a button.
func TestKeysAreNamed(t *testing.T) {
	s := serve(t, drilling(4), web.Options{})
	c := s.dial(webtest.Options{})
	until(t, c, "begin")
	s.press(c, "enter")
	until(t, c, "Step 1 of 2")
	var keys []webtest.Key
	c.Until(late, func(p *webtest.Picture) bool { keys = p.Keys; return true })
	want := []webtest.Key{{Press: "left", Show: "←", Does: "lighter"}, {Press: "right", Show: "→", Does: "darker"},
		{Press: "home", Show: "Home", Does: "lightest"}, {Press: "end", Show: "End", Does: "darkest"}, {Press: "enter", Show: "↵", Does: "take this value"}}
	if len(keys) < len(want) {
		t.Fatalf("keys %v", keys)
	}
	for i, k := range want {
		if keys[i] != k {
			t.Errorf("key %d is %v, want %v", i, keys[i], k)
		}
	}
	// A click on the picture acts as in a terminal.
	var x, y int
	c.Until(late, func(p *webtest.Picture) bool { x, y, _ = p.Find("↵"); return true })
	click := func() {
		s.ahead.Add(int64(400 * time.Millisecond)) // the picture can have been seen
		on := c.Number()
		c.Send(webtest.MouseOn(on, 1, x, y))
		c.Send(webtest.MouseOn(on, 0, x, y)) // comes when the picture has changed
	}
	click()
	until(t, c, "Step 2 of 2")
	c.Until(late, func(p *webtest.Picture) bool { x, y, _ = p.Find("↵"); return true })
	click()
	until(t, c, "answered")
	if n := s.screen.Stats().Refused; n != 0 {
		t.Errorf("%d inputs were refused", n)
	}
}
