package record

import (
	"cmp"
	"encoding/binary"
	"maps"
	"math"
	"slices"
	"time"

	"shadedrill/colour"
	"shadedrill/exercises"
	"shadedrill/scoring"
)

// The canonical form of a sitting and of an answer, as they are hashed. It is
// fixed for ever: books hold the hashes.
//
//   - A record is the sequence of its fields, in the order of their numbers. A field is
//     its number, the length of its content in bytes, both as unsigned varints (base
//     128, least significant group first), then the content.
//   - A field that is zero or empty is left out, so that a field which a later program
//     adds changes nothing about what was written before. Its number is new; no number
//     is ever used again for something else.
//   - An integer and a duration (in nanoseconds) are a zigzag varint; a seed and a time
//     (milliseconds since 1970 UTC) are 8 bytes, a floating-point number the 8 bytes of
//     IEEE 754, all big-endian; −0 is 0. true is one byte 1. A text is its UTF-8 bytes.
//   - A colour is its three bytes, black as well. What may be absent is a field that is
//     there or not.
//   - A list of records is a field for each, all with the number of the list; an empty
//     record among them is written. Options stand in the order of their names' bytes.
type encoding []byte

// put writes a field, an empty one too.
func (e *encoding) put(number uint64, content []byte) {
	*e = binary.AppendUvarint(*e, number)
	*e = binary.AppendUvarint(*e, uint64(len(content)))
	*e = append(*e, content...)
}

func (e *encoding) text(number uint64, s string) {
	if s != "" {
		*e = binary.AppendUvarint(*e, number)
		*e = binary.AppendUvarint(*e, uint64(len(s)))
		*e = append(*e, s...)
	}
}

func (e *encoding) integer(number uint64, v int64) {
	if v != 0 {
		var b [binary.MaxVarintLen64]byte
		e.put(number, binary.AppendVarint(b[:0], v))
	}
}

func (e *encoding) seed(number, v uint64) {
	if v != 0 {
		var b [8]byte
		e.put(number, binary.BigEndian.AppendUint64(b[:0], v))
	}
}

func (e *encoding) real(number uint64, v float64) {
	if v != 0 {
		e.seed(number, math.Float64bits(v))
	}
}

func (e *encoding) time(number uint64, t time.Time) {
	if !t.IsZero() {
		var b [8]byte
		e.put(number, binary.BigEndian.AppendUint64(b[:0], uint64(t.UnixMilli())))
	}
}

func (e *encoding) flag(number uint64, v bool) {
	if v {
		e.put(number, []byte{1})
	}
}

func (e *encoding) colour(number uint64, c colour.SRGB) { e.put(number, []byte{c.R, c.G, c.B}) }

// record writes a record within a record, left out when it is empty.
func (e *encoding) record(number uint64, content encoding) {
	if len(content) > 0 {
		e.put(number, content)
	}
}

// encodeSitting is all that StartSitting stores. A sitting's end has a link of its
// own.
func encodeSitting(s scoring.Sitting) (e encoding) {
	e.text(1, string(s.ID))
	e.text(2, string(cmp.Or(s.BegunAs, s.Learner)))
	e.time(3, s.Started)
	e.text(4, s.Within)
	e.record(5, encodeSetup(s.Setup))
	e.record(6, encodeDisplay(s.Display))
	e.record(7, encodeOrigin(s.Origin))
	return e
}

func encodeSetup(s exercises.Setup) (e encoding) {
	e.text(1, string(s.Kind))
	e.integer(2, int64(s.Version))
	e.seed(3, s.Seed)
	e.integer(4, int64(s.Count))
	e.text(5, string(s.Targets))
	e.text(6, s.Attribute)
	e.text(7, s.Task)
	for _, name := range slices.Sorted(maps.Keys(s.Options)) {
		var option encoding
		option.text(1, name)
		option.text(2, s.Options[name])
		e.put(8, option)
	}
	e.flag(9, s.Adaptive)
	for _, o := range s.Experience {
		var earlier encoding
		d := o.Difference
		earlier.colour(1, o.Target)
		for i, v := range [...]float64{d.E, d.L, d.C, d.H, d.Rotation} {
			earlier.real(uint64(i)+2, v)
		}
		e.put(10, earlier)
	}
	var v encoding
	v.integer(1, int64(s.Viewing.Limit))
	v.integer(2, int64(s.Viewing.Rest))
	v.integer(3, int64(s.Viewing.Gap))
	v.colour(4, s.Viewing.Surround)
	v.text(5, s.Viewing.Light)
	e.record(11, v)
	e.flag(12, s.Silent)
	e.integer(13, int64(s.Repeats))
	e.seed(14, s.OrderSeed)
	e.text(15, s.SheetID)
	e.text(16, string(s.Stream))
	e.flag(17, s.Once)
	e.integer(18, int64(s.Level))
	e.real(19, s.Spread)
	for _, t := range s.Again {
		e.put(20, encodeTrial(t))
	}
	e.flag(21, s.Planned)
	e.integer(22, int64(s.Minutes))
	e.integer(23, int64(s.Groups))
	e.integer(24, int64(s.Tabs))
	return e
}

func encodeDisplay(d scoring.DisplayCheck) (e encoding) {
	e.time(1, d.At)
	e.integer(2, int64(d.Colours))
	e.text(3, d.SmallStep)
	e.text(4, d.Ramp)
	e.text(5, d.Gamma)
	e.text(6, d.Terminal)
	e.text(7, d.NightTint)
	e.flag(8, d.Acceptable)
	e.integer(9, int64(d.RoundTrip))
	return e
}

func encodeOrigin(o scoring.Origin) (e encoding) {
	e.text(1, string(o.Road))
	e.text(2, o.Book)
	e.time(3, o.At)
	e.flag(4, o.Simulated)
	return e
}

// encodeAttempt leaves out whose answer it is and in which sitting: the link before
// it says that.
func encodeAttempt(a scoring.Attempt) (e encoding) {
	e = make(encoding, 0, 192)
	e.time(1, a.At)
	e.record(2, encodeTrial(a.Trial))
	e.record(3, encodeAnswer(a.Answer))
	return e
}

func encodeTrial(t exercises.Trial) encoding {
	e := make(encoding, 0, 96)
	e.text(1, string(t.Kind))
	e.integer(2, int64(t.Version))
	e.integer(3, int64(t.Ordinal))
	e.integer(4, int64(t.Scene))
	e.text(5, t.Part)
	e.colour(6, t.Target)
	for _, p := range t.Patches {
		var patch encoding
		patch.text(1, p.Role)
		patch.colour(2, p.Colour)
		e.put(7, patch)
	}
	e.text(8, t.Item)
	e.real(9, t.Level)
	e.text(10, t.Key)
	e.real(11, t.Chance)
	return e
}

func encodeAnswer(g exercises.Answer) encoding {
	e := make(encoding, 0, 96)
	if g.Colour != nil {
		e.colour(1, *g.Colour)
	}
	e.text(2, g.Tab)
	e.text(3, g.Neighbour)
	e.text(4, g.Group)
	e.text(5, g.Choice)
	if g.Number != nil {
		e.put(6, binary.BigEndian.AppendUint64(nil, math.Float64bits(*g.Number+0)))
	}
	if d := g.Directions; d != nil {
		e.put(7, integers(d.Value, d.Chroma, d.Hue))
	}
	if len(g.Order) > 0 {
		e.put(8, integers(g.Order...))
	}
	e.integer(9, int64(g.First))
	e.integer(10, int64(g.Total))
	e.integer(11, int64(g.Looks))
	e.flag(12, g.TimedOut)
	return e
}

func integers(list ...int) (b []byte) {
	for _, v := range list {
		b = binary.AppendVarint(b, int64(v))
	}
	return b
}
