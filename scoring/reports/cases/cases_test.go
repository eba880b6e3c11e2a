package cases_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"shadedrill/colour"
	"shadedrill/colour/fault"
	"shadedrill/exercises/observer"
	"shadedrill/scoring"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/cases"
)

const good = cases.Header + "\ncrown-1,76.1,1.2,18.4,74.0,1.9,20.2\n"

func TestReadTakesWhatProgramsSave(t *testing.T) {
	want := cases.Case{ID: "crown-1", Prescribed: colour.Lab{L: 76.1, A: 1.2, B: 18.4}, Delivered: colour.Lab{L: 74, A: 1.9, B: 20.2}}
	for name, text := range map[string]string{
		"plain":           good,
		"byte-order mark": "\xef\xbb\xbf" + good,
		"Windows":         strings.ReplaceAll(good, "\n", "\r\n"),
		"no last newline": strings.TrimSuffix(good, "\n"),
		"blank lines":     "\n\n" + strings.ReplaceAll(good, "\n", "\n\n"),
		"spaces":          strings.ReplaceAll(good, ",", " , "),
		"quotes":          `"` + strings.ReplaceAll(cases.Header, ",", `","`) + "\"\n\"crown-1\",76.1,1.2,18.4,74.0,1.9,20.2\n",
		"other order":     "delivered_b,delivered_a,delivered_L,prescribed_b,prescribed_a,prescribed_L,id\n20.2,1.9,74,18.4,1.2,76.1,crown-1\n",
		"further columns": "date," + cases.Header + ",note\n2024-05-01,crown-1,76.1,1.2,18.4,74.0,1.9,20.2,\"a, b\"\n",
	} {
		list, unused, err := cases.Read(strings.NewReader(text))
		if err != nil || len(list) != 1 || list[0] != want {
			t.Errorf("%s: read %v, %v", name, list, err)
		}
		if name == "further columns" && fmt.Sprint(unused) != "[date note]" {
			t.Errorf("unused columns are %v", unused)
		}
	}
}

func TestReadNamesTheFault(t *testing.T) {
	row := func(cells string) string { return good + cells + "\n" }
	for _, c := range []struct{ name, text, says, hints string }{
		{"empty", "", "the table is empty", "id,prescribed_L"},
		{"blank", "\n \n", "the table is empty", "id,prescribed_L"},
		{"header only", cases.Header + "\n", "no case below the header", "crown-1"},
		{"no header", "crown-1,76.1,1.2,18.4,74.0,1.9,20.2\n", "line 1: this row does not name the columns", "id,prescribed_L"},
		{"missing column", "id,prescribed_L,prescribed_a,prescribed_b,delivered_L,delivered_a\n", "line 1: the column delivered_b is missing", "id,prescribed_L"},
		{"column twice", cases.Header + ",id\n", "line 1: the column id stands there twice", "id,prescribed_L"},
		{"semicolons", strings.ReplaceAll(good, ",", ";"), "line 1: the columns are not separated by commas", "commas between"},
		{"word for a number", row("x,76,1,18,abc,1,20"), `line 3: delivered_L is "abc", which is not a number`, "0 to 100"},
		{"nothing for a number", row("x,76,1,18,,1,20"), "line 3: delivered_L is missing", "0 to 100"},
		{"NaN", row("x,76,1,NaN,70,1,20"), `line 3: prescribed_b is "NaN", which is not a finite number`, "0 to 100"},
		{"infinite", row("x,76,1,18,70,-Inf,20"), `line 3: delivered_a is "-Inf", which is not a finite number`, "0 to 100"},
		{"too large for a float", row("x,76,1,18,70,1,1e999"), `line 3: delivered_b is "1e999", outside`, "-160"},
		{"too light", row("x,101,1,18,70,1,20"), "line 3: prescribed_L is 101, outside 0..100", "0 to 100"},
		{"negative lightness", row("x,-1,1,18,70,1,20"), "line 3: prescribed_L is -1, outside 0..100", "0 to 100"},
		{"out of range", row("x,76,1,18,70,1,200"), "line 3: delivered_b is 200, outside -160..160", "-160"},
		{"decimal commas", row("x,76,1,1,2,18,4,70,1,20"), "line 3: 10 values where the header has 7 columns", "decimal points"},
		{"quoted decimal comma", row(`x,"76,1",1,18,70,1,20`), `line 3: prescribed_L is "76,1": a comma stands`, "decimal points"},
		{"too few values", row("x,76,1"), "line 3: 3 values where the header has 7 columns", "as many values"},
		{"id twice", row("crown-1,76,1,18,70,1,20"), `line 3: the id "crown-1" was used in line 2`, "its own"},
		{"no id", row(" ,76,1,18,70,1,20"), "line 3: the id is empty", "its own"},
		{"escape in id", row("\x1b[31mx,76,1,18,70,1,20"), "line 3: the id holds a character that cannot be printed", "letters"},
		{"long id", row(strings.Repeat("x", 101) + ",76,1,18,70,1,20"), "line 3: the id has 101 characters", "shorten"},
		{"open quote", row(`"x,76,1,18,70,1,20`), "line 3: not a row of comma-separated values", "quotes"},
		{"UTF-16", "\xff\xfei\x00d\x00", "the text is UTF-16", "UTF-8"},
		{"Latin-1", row("\xe9,76,1,18,70,1,20"), "line 3: not UTF-8", "UTF-8"},
		{"binary", "\x7fELF\x00\x01", "line 1 holds a zero byte", "UTF-8"},
		{"lone carriage returns", strings.ReplaceAll(good, "\n", "\r"), "line 1 holds a lone carriage return", "line ends"},
		{"endless line", strings.Repeat("x", 1<<20), "line 1 is longer than 64 KiB", "names the columns"},
	} {
		list, _, err := cases.Read(strings.NewReader(c.text))
		var f *fault.List
		if !errors.As(err, &f) {
			t.Errorf("%s: read %v, error %v", c.name, list, err)
			continue
		}
		if !strings.Contains(err.Error(), c.says) || !strings.Contains(f.Hint(), c.hints) {
			t.Errorf("%s: says %q, hint %q; want %q, %q", c.name, err, f.Hint(), c.says, c.hints)
		}
		if strings.ContainsAny(strings.Join(f.All(), ""), "\x1b\n\r") {
			t.Errorf("%s: the message carries control characters: %q", c.name, f.All())
		}
	}
}

func TestReadListsEveryFaultUpToALimit(t *testing.T) {
	text := good
	for i := range 30 {
		text += fmt.Sprintf("x%d,76,1,18,70,1,oops\n", i)
	}
	_, _, err := cases.Read(strings.NewReader(text))
	var f *fault.List
	if !errors.As(err, &f) || len(f.Lines) != 20 || f.More != 10 || !strings.Contains(f.All()[20], "10 more") {
		t.Errorf("faults are %v", err)
	}
}

// A reader that fails is not a fault of the table.
func TestReadPassesOnErrorsOfTheReader(t *testing.T) {
	_, _, err := cases.Read(io.MultiReader(strings.NewReader(good), broken{}))
	if !errors.Is(err, io.ErrClosedPipe) {
		t.Errorf("error is %v", err)
	}
}

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, io.ErrClosedPipe }

func TestALineOfAGigabyteIsRefusedWithoutBeingHeld(t *testing.T) {
	r := &endless{left: 1 << 30}
	_, _, err := cases.Read(io.MultiReader(strings.NewReader(good), r))
	if err == nil || !strings.Contains(err.Error(), "line 3 is longer than 64 KiB") {
		t.Fatalf("error is %v", err)
	}
	if read := 1<<30 - r.left; read > 1<<20 {
		t.Errorf("%d bytes were read before refusing", read)
	}
}

type endless struct{ left int }

func (e *endless) Read(p []byte) (int, error) {
	if e.left == 0 {
		return 0, io.EOF
	}
	n := min(len(p), e.left)
	for i := range p[:n] {
		p[i] = '7'
	}
	e.left -= n
	return n, nil
}

// A crown that differs along one attribute alone gets that advice alone, and in
// the direction that undoes the difference.
func TestAdviceNamesWhatDiffersAndUndoesIt(t *testing.T) {
	prescribed := colour.LCh{L: 76, C: 18, H: 88}.Lab()
	for _, c := range []struct {
		dL, dC, dH float64
		want       string
	}{
		{2.5, 0, 0, "value down by 2.5"},
		{-2.5, 0, 0, "value up by 2.5"},
		{0, 2.5, 0, "chroma less by 2.5"},
		{0, -2.5, 0, "chroma more by 2.5"},
		{0, 0, 2.5, "hue redder by 2.5"},
		{0, 0, -2.5, "hue yellower by 2.5"},
		{-3, 0, 2, "value up by 3.0, hue redder by 2.0"},
		{-2.5, 0.5, 0.5, "value up by 2.5"},
		{0.5, 0.2, 0.2, "nothing to change"},
		{1.5, 0, 0, "acceptable; to come closer: value down by 1.5"},
	} {
		v := cases.Judge(cases.Case{ID: "x", Prescribed: prescribed, Delivered: observer.Shift(prescribed, c.dL, c.dC, c.dH)})
		if v.Advice != c.want {
			t.Errorf("parts %.1f %.1f %.1f: advice %q, want %q", c.dL, c.dC, c.dH, v.Advice, c.want)
		}
	}
	blue := colour.LCh{L: 50, C: 30, H: 260}.Lab()
	if v := cases.Judge(cases.Case{Prescribed: blue, Delivered: observer.Shift(blue, 0, 0, 4)}); !strings.Contains(v.Advice, "smaller in hue angle") {
		t.Errorf("the words for tooth hues are used for blue: %q", v.Advice)
	}
}

func TestJudgeAgreesWithItsParts(t *testing.T) {
	v := cases.Judge(cases.Case{Prescribed: colour.Lab{L: 75, A: 2, B: 20}, Delivered: colour.Lab{L: 70, A: 1, B: 18}})
	if got := v.Whiter; math.Abs(got-(13.646-11.677)) > 1e-9 {
		t.Errorf("ΔWI_D = %v, want the difference of 13.646 and 11.677", got)
	}
	d := v.Difference
	if math.Abs(d.E*d.E-(d.L*d.L+d.C*d.C+d.H*d.H+d.Rotation)) > 1e-12 || d.L >= 0 {
		t.Errorf("difference is %+v", d)
	}
	if v.Band != scoring.BandOf(d.E) {
		t.Errorf("band is %v", v.Band)
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{good, strings.ReplaceAll(good, ",", ";"), "\xef\xbb\xbf" + good, good + "x,1,2,3\n", good + "\"", "\xff\xfe", "id\r\n", good + "y,1e400,-0,NaN,0x1p-2,1,1\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		list, _, err := cases.Read(bytes.NewReader(text))
		if err != nil {
			var faults *fault.List
			if !errors.As(err, &faults) || faults.Hint() == "" || len(list) != 0 {
				t.Fatalf("error %v, %d cases", err, len(list))
			}
			for _, line := range faults.All() {
				if strings.ContainsAny(line, "\n\r") || len(line) > 600 {
					t.Fatalf("not one line: %q", line)
				}
			}
			return
		}
		if len(list) == 0 {
			t.Fatal("neither cases nor an error")
		}
		verdicts := make([]cases.Verdict, len(list))
		for i, c := range list {
			verdicts[i] = cases.Judge(c)
			if e := verdicts[i].Difference.E; math.IsNaN(e) || math.IsInf(e, 0) || verdicts[i].Advice == "" {
				t.Fatalf("case %+v gives %+v", c, verdicts[i])
			}
		}
		for _, format := range report.Formats() {
			if err := report.Write(io.Discard, cases.Report(verdicts), format, report.Layout{Width: 80}); err != nil {
				t.Fatal(err)
			}
		}
	})
}
