package report

import (
	"errors"
	"html/template"
	"strings"
	"testing"
)

// Sections that are written side by side keep their order; what goes wrong in one is the
// caller's to tell, and does not end the program from beside.
func TestSectionsSideBySide(t *testing.T) {
	list := []Section{{Key: "a"}, {Key: "b"}, {Key: "c"}}
	failed := errors.New("failed")
	write := func(s Section) (template.HTML, error) {
		switch s.Key {
		case "failing":
			return "", failed
		case "broken":
			panic("broken")
		}
		return template.HTML(s.Key), nil
	}
	got, err := sideBySide(list, write)
	if err != nil || len(got) != 3 || strings.Join([]string{string(got[0]), string(got[1]), string(got[2])}, "") != "abc" {
		t.Errorf("%v, %v", got, err)
	}
	if _, err := sideBySide(append(list, Section{Key: "failing"}), write); !errors.Is(err, failed) {
		t.Errorf("the error is %v", err)
	}
	defer func() {
		if p := recover(); p != "broken" {
			t.Errorf("the caller is told %v", p)
		}
	}()
	sideBySide(append(list, Section{Key: "broken"}), write)
	t.Error("nobody is told of a section that broke")
}
