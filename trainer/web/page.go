package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"html/template"
	"net/http"
)

//go:embed page.html page.css page.js
var files embed.FS

var pageTemplate = template.Must(template.ParseFS(files, "page.html"))

// Page is what the page of a drill is told.
type Page struct {
	Socket string // address of the socket, a path
	Home   string // where to go when the trainer has ended, a path
	Assets string // where Assets is served, a path that ends with a slash
}

// policy lets the page load its own script and style and open its own socket, and
// nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// Write answers with the page.
func (p Page) Write(w http.ResponseWriter) error {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	return pageTemplate.Execute(w, struct {
		Page
		Script, Style string
	}{p, p.Assets + "page.js?" + hashes["page.js"], p.Assets + "page.css?" + hashes["page.css"]})
}

var hashes = func() map[string]string {
	m := map[string]string{}
	for _, name := range []string{"page.js", "page.css"} {
		b, err := files.ReadFile(name)
		if err != nil {
			panic(err) // embedded: it is there or nothing was built
		}
		sum := sha256.Sum256(b)
		m[name] = hex.EncodeToString(sum[:6])
	}
	return m
}()

// Assets serves the page's script and style, which a browser may keep: their
// addresses change with them.
func Assets() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		hash, ok := hashes[r.URL.Path]
		if !ok {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("X-Content-Type-Options", "nosniff")
		if r.URL.RawQuery == hash {
			w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		}
		http.ServeFileFS(w, r, files, r.URL.Path)
	})
}
