package webtest

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/coder/websocket"
)

// Client is a page that is connected.
type Client struct {
	conn *websocket.Conn
	lazy bool
	way  time.Duration

	mu      sync.Mutex
	change  *sync.Cond
	picture Picture
	frames  int
	bytes   int
	last    int // bytes of the last picture
	err     error
}

// Options are what a test chooses for its page.
type Options struct {
	W, H   int // 80 × 24 when zero
	Header http.Header
	Client *http.Client // the usual one when nil
	// Lazy leaves pictures unacknowledged until Drawn is called.
	Lazy bool
	// Way is by how much pings and pictures are answered late, as over a long line.
	Way time.Duration
}

// Dial opens a page on the socket at a ws address and begins to read.
func Dial(ctx context.Context, address string, o Options) (*Client, error) {
	if o.W == 0 {
		o.W, o.H = 80, 24
	}
	conn, _, err := websocket.Dial(ctx, address, &websocket.DialOptions{HTTPHeader: o.Header, HTTPClient: o.Client})
	if err != nil {
		return nil, err
	}
	conn.SetReadLimit(1 << 20)
	c := &Client{conn: conn, lazy: o.Lazy, way: o.Way}
	c.change = sync.NewCond(&c.mu)
	if err := c.Send(Hello(o.W, o.H)); err != nil {
		return nil, err
	}
	if err := c.Send(append([]byte{8}, usualDisplay...)); err != nil {
		return nil, err
	}
	go c.read()
	return c, nil
}

// usualDisplay is what a page says of an ordinary screen.
const usualDisplay = `{"gamut":"srgb","range":"standard","read_back":"exact","pixel_ratio":1,"cell_width":10,"cell_height":20}`

func (c *Client) read() {
	var message bytes.Buffer // of all, one after the other
	for {
		message.Reset()
		_, r, err := c.conn.Reader(context.Background())
		if err == nil {
			_, err = message.ReadFrom(r)
		}
		b := message.Bytes()
		if err == nil && (len(b) < 6 || b[0] != 1) {
			err = errWrong
		}
		if err == nil && b[1] == 2 {
			pong := append([]byte{6}, b[2:6]...)
			if c.way == 0 {
				err = c.Send(pong)
			} else {
				time.AfterFunc(c.way, func() { c.Send(pong) })
			}
		} else if err == nil {
			c.mu.Lock()
			err = c.picture.Read(b[2:])
			c.frames++
			c.bytes += len(b)
			c.last = len(b)
			number := c.picture.Number
			c.change.Broadcast()
			c.mu.Unlock()
			switch {
			case err != nil || c.lazy:
			case c.way == 0:
				err = c.Send(Drawn(number))
			default:
				time.AfterFunc(c.way, func() { c.Send(Drawn(number)) })
			}
		}
		if err != nil {
			c.mu.Lock()
			c.err = err
			c.change.Broadcast()
			c.mu.Unlock()
			c.conn.CloseNow()
			return
		}
	}
}

// Send sends a message as it is.
func (c *Client) Send(b []byte) error {
	late := time.AfterFunc(10*time.Second, func() { c.conn.CloseNow() })
	defer late.Stop()
	return c.conn.Write(context.Background(), websocket.MessageBinary, b)
}

// The messages of a page, in the order of their kinds.

func Hello(w, h int) []byte {
	return binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16([]byte{1, 1}, uint16(w)), uint16(h))
}

func KeyOn(picture uint32, name string) []byte {
	return append(append(binary.BigEndian.AppendUint32([]byte{2}, picture), 0), name...)
}

func MouseOn(picture uint32, buttons byte, x, y int) []byte {
	b := append(binary.BigEndian.AppendUint32([]byte{3}, picture), buttons)
	return binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(b, uint16(x)), uint16(y))
}

func Size(w, h int) []byte {
	return binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16([]byte{4}, uint16(w)), uint16(h))
}

func Drawn(picture uint32) []byte { return binary.BigEndian.AppendUint32([]byte{5}, picture) }

// Press presses keys on the picture that stands there.
func (c *Client) Press(names ...string) error {
	for _, name := range names {
		if err := c.Send(KeyOn(c.Number(), name)); err != nil {
			return err
		}
	}
	return nil
}

// Number is that of the picture.
func (c *Client) Number() uint32 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.picture.Number
}

// Until waits for a picture of which a condition holds. The condition must not keep
// the picture.
func (c *Client) Until(within time.Duration, holds func(*Picture) bool) error {
	late := time.AfterFunc(within, func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.change.Broadcast()
	})
	defer late.Stop()
	end := time.Now().Add(within)
	c.mu.Lock()
	defer c.mu.Unlock()
	for {
		if c.picture.Number > 0 && holds(&c.picture) {
			return nil
		}
		if c.err != nil {
			return c.err
		}
		if !time.Now().Before(end) {
			return fmt.Errorf("after %v the page shows:\n%s", within, c.picture.Text())
		}
		c.change.Wait()
	}
}

// Traffic is the number of pictures read, their bytes, and those of the last.
func (c *Client) Traffic() (pictures, bytes, last int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.frames, c.bytes, c.last
}

// Closed waits until the socket is closed and returns why.
func (c *Client) Closed(within time.Duration) error {
	c.Until(within, func(*Picture) bool { return false })
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.err
}

// Cut ends the connection without a word, as a network does.
func (c *Client) Cut() { c.conn.CloseNow() }
