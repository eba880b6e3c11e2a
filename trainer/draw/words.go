package draw

import (
	"fmt"
	"strings"
	"time"
	"unicode"
)

// UpperFirst gives a phrase its capital.
func UpperFirst(text string) string {
	for i, r := range text {
		return string(unicode.ToUpper(r)) + text[i+len(string(r)):]
	}
	return ""
}

// LowerFirst takes it away, inside a sentence.
func LowerFirst(text string) string {
	for i, r := range text {
		return string(unicode.ToLower(r)) + text[i+len(string(r)):]
	}
	return ""
}

// Sentence gives a phrase its capital and its full stop.
func Sentence(text string) string {
	text = UpperFirst(text)
	if text != "" && !strings.ContainsAny(text[len(text)-1:], ".?!:") {
		text += "."
	}
	return text
}

// ClockTime writes a duration as a clock does: "3:05", "1:02:07".
func ClockTime(d time.Duration) string {
	s := int(d / time.Second)
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}
