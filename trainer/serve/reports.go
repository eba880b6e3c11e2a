package serve

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/scoring/report"
	"shadedrill/scoring/reports/classes"
	"shadedrill/scoring/reports/learners"
	"shadedrill/scoring/reports/tests"
)

// A report is the same bytes here as the program writes with -o.

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

// classReport is the review of a class, its grades, its list.
func (s *Server) classReport(v *visit) error {
	name, f, err := formatOf(v.r.PathValue("report"))
	if err != nil {
		return err
	}
	class, _, err := v.classFor(ReadClass)
	if err != nil {
		return err
	}
	var r report.Report
	switch name {
	case "review":
		asked, err := classes.ScopeOf(v.ctx, s.Book, class)
		if err != nil {
			return err
		}
		if r, err = classes.Report(v.ctx, s.Book, asked, record.Filter{}, "flag", false); err != nil {
			return err
		}
	case "assignments":
		if r, err = classes.Assignments(v.ctx, s.Book, class, s.Clock()); err != nil {
			return err
		}
	case "grades":
		if r, err = classes.Grades(v.ctx, s.Book, class, number(v.r.URL.Query().Get("assignment")), s.Clock()); err != nil {
			return err
		}
	case "roster":
		if r, err = classes.Roster(v.ctx, s.Book, class); err != nil {
			return err
		}
	default:
		return errForbidden
	}
	return v.write(r, f, name)
}

// personReport is what one person may read of another, or of themselves.
func (s *Server) personReport(v *visit) error {
	name, f, err := formatOf(v.r.PathValue("report"))
	if err != nil {
		return err
	}
	who, err := v.personFor(ReadAnswers)
	if err != nil {
		return err
	}
	switch name {
	case "progress":
		r, err := learners.Progress(v.ctx, s.Book, who, record.Filter{})
		if err != nil {
			return err
		}
		return v.write(r, f, name)
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
				return v.write(r, f, name)
			}
		}
	}
	return errForbidden
}

// paperWidth is what -o lays text out for.
const paperWidth = 100

func (v *visit) write(r report.Report, f report.Format, name string) error {
	var b bytes.Buffer
	if err := report.Write(&b, r, f, report.Layout{Width: paperWidth}); err != nil {
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
		h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%s.%s", name, f))
	}
	v.w.WriteHeader(http.StatusOK)
	_, err := b.WriteTo(v.w)
	if err != nil {
		return nil // the reader is gone
	}
	return nil
}
