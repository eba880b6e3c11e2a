package serve

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"html/template"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"time"

	"shadedrill/colour/fault"
	"shadedrill/scoring"
	"shadedrill/scoring/record"
	"shadedrill/trainer/draw"
)

//go:embed pages.html style.css
var files embed.FS

// The templates are read when a page is first shown, so that no other command waits for
// them; so with what looks for commands in a hint.
var pages = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Funcs(template.FuncMap{
		"day":    func(t time.Time) string { return t.Local().Format("2 January 2006") },
		"minute": minute,
	}).ParseFS(files, "pages.html"))
})

func minute(t time.Time) string { return scoring.Zoned(t, "2 January 2006, 15:04") }

// visit is a request of somebody who is signed in.
type visit struct {
	s   *Server
	w   http.ResponseWriter
	r   *http.Request
	ctx context.Context
	who scoring.Learner
	in  record.SignedIn
	// Of a form that was refused, for the page that it stands on.
	sent   *sent
	status int
}

// signedIn answers those who are signed in, and tells what goes wrong. Who may not see
// something is told that it is not there.
func (s *Server) signedIn(do func(*visit) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		who, in, err := s.whoIs(r)
		if errors.Is(err, errNobody) {
			if r.Method == http.MethodGet {
				http.Redirect(w, r, "/", http.StatusSeeOther)
			} else {
				s.refuse(w, http.StatusUnauthorized, "Nobody is signed in here.", "sign in in another window, then load this page again: what you have typed is sent once more")
			}
			return
		}
		v := &visit{s: s, w: w, r: r, ctx: r.Context(), who: who, in: in, sent: &sent{}, status: http.StatusOK}
		if err == nil {
			err = do(v)
		}
		if err == nil {
			return
		}
		switch status, why := v.refusal(err); {
		case why != nil:
			s.refuseIn(w, r, status, why)
		case errors.Is(err, errForbidden), errors.Is(err, record.ErrNotFound):
			s.refuse(w, http.StatusNotFound, "This is not here, or not yours to see.", "go back to the start; somebody may just have moved it or taken it away")
		case r.Context().Err() != nil:
		default:
			s.Log.Error("failed", "in", r.Pattern, "error", err.Error())
			s.refuse(w, http.StatusInternalServerError, "The book cannot be read or written just now.", "try again; if it stays so, tell whoever runs this server")
		}
	}
}

var errForbidden = errors.New("not allowed")

// refusal is how an error is told that whoever asks can do something about; nil for what
// is none, is not theirs, or is broken here.
func (v *visit) refusal(err error) (status int, why *problem) {
	var own *fault.Error
	var list *fault.List
	switch {
	case errors.Is(err, errForbidden), errors.Is(err, record.ErrNotFound):
		return 0, nil
	case errors.Is(err, errTooOften):
		return http.StatusTooManyRequests, said(err)
	case errors.As(err, &own), errors.As(err, &list), errors.Is(err, record.ErrTaken), errors.Is(err, errFull):
		return http.StatusUnprocessableEntity, said(err)
	}
	return 0, nil
}

// may asks the table.
func (v *visit) may(do action, on thing) error {
	if !allowed(v.who, do, on) {
		return errForbidden
	}
	return nil
}

// to sends the browser to a page of this server.
func (v *visit) to(path string) error {
	http.Redirect(v.w, v.r, path, http.StatusSeeOther)
	return nil
}

func (v *visit) show(page string, data map[string]any) error {
	data["Who"], data["Sent"], data["Group"] = v.who, v.sent, v.group()
	v.s.show(v.w, v.status, page, data)
	return nil
}

// group is what the visitor runs: a class, or a team where they are a lead.
func (v *visit) group() string {
	if v.who.Role == scoring.RoleLead {
		return "team"
	}
	return "class"
}

// note writes down what was done.
func (v *visit) note(m record.Book, what string, class scoring.ClassID, about personID) error {
	return m.WriteServed(v.ctx, record.Served{At: v.s.Clock(), By: v.who.ID, What: what, Class: class, About: about})
}

// policy lets a page load its own style and pictures that are in it, and send its own
// forms. There is no script on these pages.
const policy = "default-src 'none'; style-src 'self'; img-src 'self' data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

func secured(w http.ResponseWriter) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cache-Control", "no-store")
}

// show writes a page. A form that was refused is told about beside it, or on top where the
// page has no such form (any more).
func (s *Server) show(w http.ResponseWriter, status int, page string, data map[string]any) {
	form, ok := data["Sent"].(*sent)
	if !ok {
		form = &sent{}
		data["Sent"] = form
	}
	data["Cautions"], data["Refused"] = scoring.Cautions, form.why != nil || data["Error"] != nil
	var b bytes.Buffer
	err := pages().ExecuteTemplate(&b, page, data)
	if err == nil && form.why != nil && !form.told {
		data["Error"] = form.why
		b.Reset()
		err = pages().ExecuteTemplate(&b, page, data)
	}
	if err != nil {
		s.Log.Error("page", "page", page, "error", err.Error())
		http.Error(w, "This page is broken. Tell whoever runs this server.", http.StatusInternalServerError)
		return
	}
	secured(w)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = b.WriteTo(w) // the reader may be gone
}

// problem is an error as a page says it.
type problem struct {
	What []string
	Hint string
}

func said(err error) *problem {
	if err == nil {
		return nil
	}
	hint := forBrowsers(fault.Hint(err))
	if list, ok := errors.AsType[*fault.List](err); ok {
		return &problem{list.All(), hint}
	}
	if fault.Hint(err) != "" || errors.Is(err, record.ErrTaken) || errors.Is(err, errFull) {
		return &problem{[]string{draw.Sentence(err.Error())}, hint}
	}
	return &problem{[]string{"That did not work just now."}, "try again; if it stays so, tell whoever runs this server"}
}

// forBrowsers is a hint for whoever sits at a browser: what can only be typed at a command
// line is left out.
func forBrowsers(hint string) string {
	if strings.HasPrefix(hint, forRunner) {
		return hint
	}
	hint = bracketed().ReplaceAllString(hint, "")
	var kept []string
	for _, part := range strings.Split(hint, "; ") {
		if !typed().MatchString(part) {
			kept = append(kept, part)
		}
	}
	return strings.Join(kept, "; ")
}

// forRunner begins what only whoever runs the server can do, at its command line.
const forRunner = "whoever runs this server "

// typing is a command, or an option of one.
const typing = `\bshadedrill (class|panel|exam|practise|threshold|display|progress|people|compare|export|import|book|serve|simulate|tabs)\b|(^|[^\p{L}\p{N}-])--[a-z]`

var (
	typed     = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(typing) })
	bracketed = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(` ?\([^()]*(` + typing + `)[^()]*\)`) })
)

// refuseIn says why something is not done, with a way back to the class that it was about.
func (s *Server) refuseIn(w http.ResponseWriter, r *http.Request, status int, why *problem) {
	s.counts.refused.Add(1)
	page := map[string]any{"Title": "Not done", "Error": why}
	if class := r.PathValue("class"); class != "" {
		page["Back"] = classPath(scoring.Class{ID: scoring.ClassID(class)})
	}
	s.show(w, status, "refused", page)
}

// refuse says in a page why something is not done.
func (s *Server) refuse(w http.ResponseWriter, status int, what, hint string) {
	s.counts.refused.Add(1)
	s.show(w, status, "refused", map[string]any{"Title": "Not done", "Error": &problem{[]string{what}, hint}})
}

func styleSheet(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("X-Content-Type-Options", "nosniff")
	w.Header().Set("Cache-Control", "no-cache")
	http.ServeFileFS(w, r, files, "style.css")
}
