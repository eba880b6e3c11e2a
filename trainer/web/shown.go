package web

import (
	"bytes"
	"encoding/json"
	"io"
)

// Shown is what a browser says of the display it draws on, in words that do not
// depend on the browser. It is what the page could ask; a night tint, an ambient
// adaptation, a remote desktop and a screen without a profile it cannot see, and
// the display check asks the person.
type Shown struct {
	// Gamut is the widest that the screen is said to cover: "srgb", "p3",
	// "rec2020", or "less".
	Gamut string `json:"gamut"`
	// Range is "standard" or "high".
	Range string `json:"range"`
	// ReadBack tells whether a drawing surface gave back the bytes that were drawn:
	// "exact", "differs", "unreadable". Some browsers add noise to what is read.
	ReadBack string `json:"read_back"`
	// Forced says that the system forces its colours on pages, Darkened that the
	// browser darkens pages by itself, Inverted that colours are inverted, Filtered
	// that a filter lies on the page.
	Forced   bool `json:"forced,omitempty"`
	Darkened bool `json:"darkened,omitempty"`
	Inverted bool `json:"inverted,omitempty"`
	Filtered bool `json:"filtered,omitempty"`
	// PixelRatio is device pixels a CSS pixel, page zoom included; Zoomed says that
	// the page is enlarged by a pinch, so that its pixels are interpolated.
	PixelRatio float64 `json:"pixel_ratio"`
	Zoomed     bool    `json:"zoomed,omitempty"`
	// CellWidth and CellHeight are those of a character cell in device pixels.
	CellWidth  int `json:"cell_width"`
	CellHeight int `json:"cell_height"`
	// Touch says that the first pointer is a finger.
	Touch bool `json:"touch,omitempty"`
}

func readShown(b []byte) (*Shown, error) {
	var s Shown
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&s); err != nil {
		return nil, errMalformed
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errMalformed
	}
	one := func(word string, of ...string) bool {
		for _, o := range of {
			if word == o {
				return true
			}
		}
		return false
	}
	if !one(s.Gamut, "less", "srgb", "p3", "rec2020") || !one(s.Range, "standard", "high") ||
		!one(s.ReadBack, "exact", "differs", "unreadable") || !(s.PixelRatio > 0 && s.PixelRatio < 100) ||
		s.CellWidth < 1 || s.CellWidth > 1000 || s.CellHeight < 1 || s.CellHeight > 1000 {
		return nil, errMalformed
	}
	return &s, nil
}
