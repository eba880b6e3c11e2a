package report

import (
	"errors"
	"fmt"
	"html/template"
	"regexp"
	"slices"
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

// The rows of a long table are written in parts, which stand in their order, none missing
// and none twice.
func TestRowsOfALongTable(t *testing.T) {
	table := Table{Columns: []Column{{Title: "row"}}}
	var want []string
	for i := range 3*rowsTogether + 1 {
		want = append(want, fmt.Sprintf("row-%d.", i))
		table.Rows = append(table.Rows, []Cell{Text(want[i])})
	}
	var page strings.Builder
	if err := Write(&page, Report{Title: "long", Sections: []Section{{Key: "long", Table: &table}}}, FormatHTML, Layout{}); err != nil {
		t.Fatal(err)
	}
	if got := regexp.MustCompile(`row-\d+\.`).FindAllString(page.String(), -1); !slices.Equal(got, want) {
		t.Errorf("%d rows, not %d in their order", len(got), len(want))
	}
}
