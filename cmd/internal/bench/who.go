package bench

import (
	"net/http"
	"net/url"
	"strings"
	"unicode/utf8"

	"pouchward/exports"
)

// The browser remembers who is at the bench and which bench it is.
const (
	whoCookie   = "pouchward_who"
	benchCookie = "pouchward_bench"
)

// mostWho bounds initials, and mostBench the name of a bench, in bytes.
const (
	mostWho   = 16
	mostBench = 40
)

func cleanWho(text string) string { return cut(text, mostWho) }

// cut is a text without what steers and without its tail past so many bytes.
func cut(text string, most int) string {
	text = strings.TrimSpace(exports.Clean(strings.ToValidUTF8(text, "\uFFFD")))
	for len(text) > most {
		_, n := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-n]
	}
	return text
}

func cookieText(r *http.Request, name string) string {
	c, err := r.Cookie(name)
	if err != nil {
		return ""
	}
	text, err := url.QueryUnescape(c.Value)
	if err != nil {
		return ""
	}
	return cut(text, mostBench)
}

// remember has the browser keep a text for a year; blank forgets it.
func remember(w http.ResponseWriter, name, text string) {
	c := &http.Cookie{Name: name, Value: url.QueryEscape(text), Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode, MaxAge: 365 * 24 * 3600}
	if text == "" {
		c.MaxAge = -1
	}
	http.SetCookie(w, c)
}

// setWho remembers who is at which bench, and goes back to the screen.
func (s *Server) setWho(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		s.fail(w, r, formError(err))
		return
	}
	if r.PostForm.Has("who") {
		remember(w, whoCookie, cleanWho(r.PostForm.Get("who")))
	}
	if r.PostForm.Has("bench") {
		remember(w, benchCookie, cut(r.PostForm.Get("bench"), mostBench))
	}
	http.Redirect(w, r, backTo(r.PostForm.Get("back")), http.StatusSeeOther)
}

// readForm reads a posted form. A name that is asked for because nobody is remembered is
// remembered from then on.
func (s *Server) readForm(w http.ResponseWriter, r *http.Request) (url.Values, error) {
	v, err := readForm(r)
	if err == nil {
		s.rememberWho(w, r)
	}
	return v, err
}

// rememberWho remembers a name that a form was asked for.
func (s *Server) rememberWho(w http.ResponseWriter, r *http.Request) {
	if who := cleanWho(r.PostForm.Get("who")); who != "" && cookieText(r, whoCookie) == "" && s.Who == "" {
		remember(w, whoCookie, who)
	}
}

// errWho asks for a name.
var errWho = &statusError{http.StatusUnprocessableEntity, "Not recorded yet: who does it? Fill in the initials; they are asked once and remembered at this bench."}

// needWho refuses an entry that no person would answer for.
func (s *Server) needWho(r *http.Request) error {
	if s.who(r) == "" {
		return errWho
	}
	return nil
}

// backTo is a path of this server, whatever a form names.
func backTo(path string) string {
	u, err := url.Parse(path)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n") {
		return "/"
	}
	if u.Fragment != "" {
		return u.RequestURI() + "#" + u.EscapedFragment()
	}
	return u.RequestURI()
}
