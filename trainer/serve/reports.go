package serve

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/learners"
	"shadedrill/scoring/reports/tests"
	"shadedrill/scoring/transfer"
)

// A report is the same here as the program writes with -o, but for what its reader can do
// next: whoever sits at a browser has ways to other pages, and no command line.

// formatOf takes the format off the end of a report's name.
func formatOf(path string) (name string, f report.Format, err error) {
	name, ending, _ := strings.Cut(path, ".")
	if ending == "txt" {
		ending = string(report.FormatText)
	}
	if f, err = report.ParseFormat(ending); err != nil {
		return "", "", errForbidden
	}
	return name, f, nil
}

// classReports are what can be read of a class, and as what of the table.
var classReports = map[string]action{"review": readResults, "effect": readResults, "assignments": readResults, "grades": readResults, "gradebook": readResults,
	"tests": readResults, "session": readSession, "roster": readClass}

// byDisplay are the reports that can leave out what was done on a display that failed its
// check or has none, as --display checked does.
var byDisplay = map[string]bool{"review": true, "session": true, "grades": true, "gradebook": true, "progress": true}

// checked reports whether only what was done on displays that passed their check is asked
// for.
func (v *visit) checked(report string) (bool, error) {
	switch word := v.r.URL.Query().Get("display"); {
	case word == "" || word == "all":
		return false, nil
	case word != "checked":
		return false, fault.New("Which displays count is not said so.", "display=all, or display=checked")
	case !byDisplay[report]:
		return false, fault.New("This report tells of everything, whatever the display.", "the review, a session, grades and progress can leave displays out")
	}
	return true, nil
}

// classReport is the review of a class, its grades, its list.
func (s *Server) classReport(v *visit) error {
	name, f, err := formatOf(v.r.PathValue("report"))
	if err != nil {
		return err
	}
	do, ok := classReports[name]
	if !ok {
		return errForbidden
	}
	class, roster, err := v.classFor(do)
	if err != nil {
		return err
	}
	checked, err := v.checked(name)
	if err != nil {
		return err
	}
	var r report.Report
	back := report.Link{Words: "back to " + class.Name, To: classPath(class)}
	switch name {
	case "session":
		if r, err = v.sessionReport(class, roster, checked); err != nil {
			return err
		}
	case "tests":
		people := slices.DeleteFunc(slices.Clone(roster), func(l scoring.Learner) bool { return l.Role == scoring.RoleInstructor })
		forms, err := s.Book.Forms(v.ctx)
		if err != nil {
			return err
		}
		forms = slices.DeleteFunc(forms, func(f record.Form) bool { return f.Class != class.ID })
		if r, err = tests.List(v.ctx, s.Book, people, forms); err != nil {
			return err
		}
	case "effect":
		if r, err = v.effectReport(class); err != nil {
			return err
		}
	case "review":
		asked, err := classes.ScopeOf(v.ctx, s.Book, class)
		if err != nil {
			return err
		}
		asked.Checked = checked
		if r, err = classes.Report(v.ctx, s.Book, asked, record.Filter{}, "flag", false); err != nil {
			return err
		}
	case "assignments":
		if r, err = classes.Assignments(v.ctx, s.Book, class, s.Clock()); err != nil {
			return err
		}
	case "grades":
		if r, err = classes.Grades(v.ctx, s.Book, class, number(v.r.URL.Query().Get("assignment")), s.Clock(), checked); err != nil {
			return err
		}
	case "gradebook":
		if r, err = classes.WideGrades(v.ctx, s.Book, class, classes.UsualPoints, s.Clock(), checked); err != nil {
			return err
		}
	case "roster":
		if r, err = classes.Roster(v.ctx, s.Book, class); err != nil {
			return err
		}
	}
	return v.write(r, f, name, back)
}

// effectReport says whether the training worked, beside another class of the visitor's
// if they name one.
func (v *visit) effectReport(class scoring.Class) (report.Report, error) {
	var none report.Report
	asked, err := classes.ScopeOf(v.ctx, v.s.Book, class)
	if err != nil {
		return none, err
	}
	var against *classes.Scope
	if id := scoring.ClassID(v.r.URL.Query().Get("against")); id != "" && id != class.ID {
		_, run, err := v.classes()
		if err != nil {
			return none, err
		}
		i := slices.IndexFunc(run, func(c scoring.Class) bool { return c.ID == id })
		if i < 0 {
			return none, errForbidden
		}
		other, err := classes.ScopeOf(v.ctx, v.s.Book, run[i])
		if err != nil {
			return none, err
		}
		against = &other
	}
	return classes.Effect(v.ctx, v.s.Book, asked, against, record.Filter{})
}

// takeOut writes every answer that is kept of a person and the worth of each. What would
// tell others of the class what they will be asked is left out with the name.
func (v *visit) takeOut(format transfer.Format) error {
	who, err := v.personFor(takeOut)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := transfer.ExportPseudonyms(v.ctx, v.s.Book, record.Filter{Learner: who.ID}, &b, format); err != nil {
		return err
	}
	if err := v.note(v.s.Book, "answers taken out", "", who.ID); err != nil {
		return err
	}
	secured(v.w)
	v.w.Header().Set("Content-Type", "application/octet-stream")
	v.w.Header().Set("Content-Disposition", "attachment; filename=answers."+string(format))
	_, _ = b.WriteTo(v.w) // the reader may be gone
	return nil
}

// personReport is what one person may read of another, or of themselves.
func (s *Server) personReport(v *visit) error {
	switch v.r.PathValue("report") {
	case "answers.csv":
		return v.takeOut(transfer.CSV)
	case "answers.jsonl":
		return v.takeOut(transfer.JSONLines)
	}
	name, f, err := formatOf(v.r.PathValue("report"))
	if err != nil {
		return err
	}
	who, err := v.personFor(readAnswers)
	if err != nil {
		return err
	}
	back, err := v.backFrom(who)
	if err != nil {
		return err
	}
	checked, err := v.checked(name)
	if err != nil {
		return err
	}
	switch name {
	case "progress":
		r, err := learners.Progress(v.ctx, s.Book, who, record.Filter{}, s.Clock(), checked)
		if err != nil {
			return err
		}
		return v.write(r, f, name, back)
	case "certificate":
		taken, err := record.Taken(v.ctx, s.Book, who.ID, scoring.TestSet)
		if err != nil {
			return err
		}
		for _, ref := range taken {
			if ref.String() == v.r.URL.Query().Get("of") {
				r, err := tests.Certificate(v.ctx, s.Book, who, ref.String())
				if err != nil {
					return err
				}
				return v.write(r, f, name, back)
			}
		}
	}
	return errForbidden
}

// paperWidth is what -o lays text out for.
const paperWidth = 100

// backFrom is the way from what is told of a person to where the visitor came from: their
// own start, or the person's page in a class that the visitor runs.
func (v *visit) backFrom(who scoring.Learner) (report.Link, error) {
	start := report.Link{Words: "back to the start", To: "/"}
	if who.ID == v.who.ID {
		return start, nil
	}
	_, run, err := v.classes()
	if err != nil {
		return start, err
	}
	for _, c := range run {
		roster, err := v.s.Book.Roster(v.ctx, c.ID)
		if err != nil {
			return start, err
		}
		if slices.ContainsFunc(roster, func(l scoring.Learner) bool { return l.ID == who.ID }) {
			return report.Link{Words: "back to " + who.Name, To: fmt.Sprintf("%s/people/%s", classPath(c), who.ID)}, nil
		}
	}
	return start, nil
}

// write shows a report, or gives it as a file.
func (v *visit) write(r report.Report, f report.Format, name string, back report.Link) error {
	var b bytes.Buffer
	l := report.Layout{Width: paperWidth, NoCommands: true, Back: back}
	for _, as := range []struct{ words, ending string }{{"CSV", "csv"}, {"JSON", "json"}, {"text", "txt"}} {
		to := name + "." + as.ending
		if v.r.URL.RawQuery != "" {
			to += "?" + v.r.URL.RawQuery
		}
		l.As = append(l.As, report.Link{Words: as.words, To: to})
	}
	file := name
	if query := v.r.URL.Query(); byDisplay[name] {
		if l.Choice.Words = "only what was done on displays that passed their check"; query.Get("display") == "checked" {
			file += "-checked"
			l.Choice.Words = "everything, whatever the display"
			query.Del("display")
		} else {
			query.Set("display", "checked")
		}
		l.Choice.To = (&url.URL{Path: name + ".html", RawQuery: query.Encode()}).String()
	}
	if err := report.Write(&b, r, f, l); err != nil {
		return err
	}
	secured(v.w)
	h := v.w.Header()
	types := map[report.Format]string{report.FormatHTML: "text/html", report.FormatText: "text/plain", report.FormatCSV: "text/csv", report.FormatJSON: "application/json"}
	h.Set("Content-Type", types[f]+"; charset=utf-8")
	if f == report.FormatHTML {
		// The file brings its own style with it, so that it is one file; it has no script
		// and may do nothing else.
		h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'; form-action 'none'")
	}
	if f == report.FormatCSV || f == report.FormatJSON {
		h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%s.%s", file, f))
	}
	v.w.WriteHeader(http.StatusOK)
	_, err := b.WriteTo(v.w)
	if err != nil {
		return nil // the reader is gone
	}
	return nil
}
