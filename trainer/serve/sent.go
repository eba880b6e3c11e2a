package serve

import (
	"errors"
	"fmt"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"path"
	"strings"
)

// sent is a form as somebody has filled it in, and why it was refused; or it was asked
// about, and they said no. The page that it stands on is shown again with it: what was
// typed is still there, a refusal beside it. Passphrases are not sent back.
//
// A template asks for its own form with To, and reads the rest from what it gets.
type sent struct {
	form   string // the last part of where it was sent, or what it decides
	values url.Values
	why    *problem
	field  string // the one that is wrong, where it is one
	told   bool
	back   bool // the page comes back with it
}

// sentWith is the form of a request that was refused.
func sentWith(r *http.Request, err error) *sent {
	f := &sent{form: path.Base(r.URL.Path), values: maps.Clone(r.PostForm), why: said(err), back: true}
	if what := f.values.Get("what"); what != "" && f.values.Get("back") == "" { // several of a page are sent to one address
		f.form = what
	}
	f.values.Del("passphrase")
	f.values.Del("old")
	if at, ok := errors.AsType[wrongField](err); ok {
		f.field = at.field
	}
	return f
}

// To is what was sent with this form; with another one, or with none, it is empty.
func (f *sent) To(form string) *sent {
	if f.form == form {
		return f
	}
	return &sent{}
}

// Here reports whether it is this form that comes back.
func (f *sent) Here() bool { return f.back }

// Why is the refusal, to be told beside the form.
func (f *sent) Why() *problem {
	f.told = true
	return f.why
}

// Or is what was typed into a field; usual where the form was not sent.
func (f *sent) Or(field, usual string) string {
	if !f.back {
		return usual
	}
	return f.values.Get(field)
}

// Is marks the choice of a list that was taken.
func (f *sent) Is(field string, choice any) template.HTMLAttr {
	if !f.back || f.values.Get(field) != fmt.Sprint(choice) {
		return ""
	}
	return "selected"
}

// At marks the field that is wrong, and lets typing go on there. Where it is no single
// field, the refusal itself is what is to be read first: At "" marks that.
func (f *sent) At(field string) template.HTMLAttr {
	switch {
	case f.why == nil || f.field != field:
		return ""
	case field == "":
		return "autofocus"
	}
	return `autofocus aria-invalid="true"`
}

// wrongField says which field of a form an error is about.
type wrongField struct {
	error
	field string
}

func (w wrongField) Unwrap() error { return w.error }

// wrongAt says which field of a form is wrong.
func wrongAt(field string, err error) error {
	if err == nil {
		return nil
	}
	return wrongField{err, field}
}

// errDeclined is the answer "no" to what was asked.
var errDeclined = errors.New("declined")

// confirmed reports whether somebody has said yes; where not, it asks. The answer no is
// an error that onPage knows.
func (v *visit) confirmed(ask string) (bool, error) {
	switch v.r.PostFormValue("confirm") {
	case "yes":
		return true, nil
	case "no":
		return false, errDeclined
	}
	kept := map[string]string{} // the form's fields, to be sent again with the answer
	for name, values := range v.r.PostForm {
		if name != "confirm" && len(values) > 0 {
			kept[name] = values[0]
		}
	}
	return false, v.show("confirm", map[string]any{"Title": "Really?", "Ask": ask, "Kept": kept})
}

// onPage answers a form that stands on a page. Where it is refused, or somebody thinks
// better of it, the page comes back with it.
func (s *Server) onPage(page, do func(*visit) error) func(*visit) error {
	return func(v *visit) error {
		err := do(v)
		if errors.Is(err, errDeclined) {
			v.sent = sentWith(v.r, nil)
			return page(v)
		}
		status, why := v.refusal(err)
		if why == nil {
			return err
		}
		v.sent, v.status = sentWith(v.r, err), status
		if page(v) != nil {
			return err // the page is no more; what was wrong is told without it
		}
		s.counts.refused.Add(1)
		return nil
	}
}

// standsOn leads from the address of a form to the page that it stands on: a page that
// was refused bears the form's address, and may be asked for again by it.
func standsOn(page string) func(*visit) error {
	return func(v *visit) error {
		at := page
		for _, part := range []string{"class", "person"} {
			at = strings.ReplaceAll(at, "{"+part+"}", url.PathEscape(v.r.PathValue(part)))
		}
		return v.to(at)
	}
}
