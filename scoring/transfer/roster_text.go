package transfer

import (
	"bytes"
	"encoding/binary"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"shadedrill/colour/fault"
)

// rosterText brings a file into UTF-8 with line ends of Unix. foreign is the file as it
// came where it was read as Windows-1252, which has no mark: that is a guess.
func rosterText(raw []byte) (text string, foreign []byte, err error) {
	switch {
	case bytes.HasPrefix(raw, []byte{0xff, 0xfe}):
		text, err = wideText(raw[2:], binary.LittleEndian)
	case bytes.HasPrefix(raw, []byte{0xfe, 0xff}):
		text, err = wideText(raw[2:], binary.BigEndian)
	case len(raw) >= 4 && raw[1] == 0 && raw[3] == 0 && raw[0] != 0:
		text, err = wideText(raw, binary.LittleEndian)
	case len(raw) >= 4 && raw[0] == 0 && raw[2] == 0 && raw[1] != 0:
		text, err = wideText(raw, binary.BigEndian)
	default:
		raw = bytes.TrimPrefix(raw, []byte("\ufeff"))
		if bytes.IndexByte(raw, 0) >= 0 {
			return "", nil, fault.New("the file holds zero bytes: this is no text", "save the roster as CSV")
		}
		if text = string(raw); !utf8.Valid(raw) {
			text, foreign = westernText(raw), raw
		}
	}
	text = strings.ReplaceAll(text, "\r\n", "\n")
	return strings.ReplaceAll(text, "\r", "\n"), foreign, err
}

func wideText(raw []byte, order binary.ByteOrder) (string, error) {
	if len(raw)%2 != 0 {
		return "", fault.New("the file is UTF-16 and ends in the middle of a letter", "save it again, as CSV in UTF-8")
	}
	units := make([]uint16, len(raw)/2)
	for i := range units {
		units[i] = order.Uint16(raw[2*i:])
	}
	text := string(utf16.Decode(units))
	if strings.ContainsRune(text, 0) {
		return "", fault.New("the file holds zero bytes: this is no text", "save the roster as CSV in UTF-8")
	}
	return text, nil
}

// westernText reads Windows-1252, which is Latin-1 but for 0x80 to 0x9f (the table of
// the WHATWG Encoding Standard, index windows-1252; from memory). Its five empty places
// become a mark for what cannot be read.
func westernText(raw []byte) string {
	var b strings.Builder
	for _, c := range raw {
		switch {
		case c >= 0x80 && c < 0xa0:
			b.WriteRune(western[c-0x80])
		default:
			b.WriteRune(rune(c))
		}
	}
	return b.String()
}

var western = [32]rune{'€', '�', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '�', 'Ž', '�',
	'�', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '�', 'ž', 'Ÿ'}
